"""`fairlead score` as somebody types it."""

import json
import subprocess
import sys
from io import BytesIO
from pathlib import Path

import pytest
from openpyxl import Workbook

from scoring import read_rulebook, score_run_table
from tests.exports.meet import RULEBOOK
from web.services.postings import row

HEADS = ["team", "division", "status", "time", "A2", "hands", "tools", "published total"]
ROWS = [
    ["Anvil", "senior", "", "15:00.5", "1", "2", "", "16:40.5"],
    ["=Beam", "", "", "14:00", "", "", "3", "14:15"],
    ["Crane", "", "did not start", "", "", "", "", ""],
]


@pytest.fixture
def rulebook(tmp_path: Path) -> Path:
    file = tmp_path / "bridge-lift.yaml"
    file.write_bytes(RULEBOOK)
    return file


def as_csv(folder: Path, rows: list[list[str]]) -> Path:
    file = folder / "runs.csv"
    file.write_text("\n".join(",".join(cells) for cells in rows), encoding="utf-8")
    return file


def as_workbook(folder: Path, rows: list[list[str]]) -> Path:
    book = Workbook()
    for number, cells in enumerate(rows, start=1):
        for column, text in enumerate(cells, start=1):
            cell = book.worksheets[0].cell(number, column, text)
            cell.data_type = "s"
    content = BytesIO()
    book.save(content)
    file = folder / "runs.xlsx"
    file.write_bytes(content.getvalue())
    return file


def fairlead(*arguments: str | Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "web", "score", *map(str, arguments)],
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.mark.parametrize("write", [as_csv, as_workbook])
def test_a_table_is_printed_as_standings(tmp_path: Path, rulebook: Path, write: object) -> None:
    assert callable(write)
    done = fairlead(rulebook, write(tmp_path, [HEADS, *ROWS]))
    assert (done.returncode, done.stderr) == (0, "")
    lines = [line.split() for line in done.stdout.splitlines()]
    assert ["1", "=Beam", "1", "14:00.0", "0:15.0", "0:00.0", "14:15.0", "0:00.0", "1"] in lines
    assert any(line[:2] == ["2", "Anvil"] and "16:40.5" in line for line in lines)
    assert ["Crane", "0", "did", "not", "start:", "as", "the", "run", "table", "says"] in lines


def test_the_same_comes_as_json(tmp_path: Path, rulebook: Path) -> None:
    done = fairlead(rulebook, as_csv(tmp_path, [HEADS, *ROWS]), "--json")
    book = read_rulebook(RULEBOOK)
    assert json.loads(done.stdout) == {
        "rulebook": "bridge-lift",
        "edition": 4,
        "hash": book.hash,
        "standings": [
            row(place, book) for place in score_run_table([HEADS, *ROWS], book).standings
        ],
        "flags": [],
    }


def test_a_published_value_that_differs_is_flagged_and_the_command_says_so(
    tmp_path: Path, rulebook: Path
) -> None:
    wrong = [*ROWS[0][:-1], "16:30.5"]
    runs = as_csv(tmp_path, [HEADS, wrong, *ROWS[1:]])
    done = fairlead(rulebook, runs)
    assert done.returncode == 1
    assert done.stderr == (
        f"{runs}: row 2: Anvil: the published total is 16:30.500; the rules give 16:40.500.\n"
    )
    assert "16:40.5" in done.stdout


def test_a_wrong_table_prints_its_problems_and_no_standings(tmp_path: Path, rulebook: Path) -> None:
    runs = as_csv(tmp_path, [["team", "time", "A9"], ["Anvil", "-1:00", "1"]])
    done = fairlead(rulebook, runs)
    assert (done.returncode, done.stdout) == (1, "")
    assert f"{runs}:1:3: Unknown column 'A9'" in done.stderr
    assert f"{runs}:2:2: time: '-1:00' is no duration" in done.stderr
    assert "Traceback" not in done.stderr
