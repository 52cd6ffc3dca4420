"""`fairlead paper` and `fairlead key`: an event kept wholly on paper, as somebody types it."""

import json
from pathlib import Path

import pytest
from pypdf import PdfReader

from scoring import read_rulebook
from tests.commands.conftest import Run
from tests.exports.test_keying import fill
from tests.house.tree import ROOT
from tests.scoring.keyed import Sheets, keyed_from, put
from tests.scoring.papers import RULEBOOK
from web.demo_event import load_demo_event

SHEAVE = ROOT / "rulebooks" / "sheave-change.yaml"


@pytest.fixture
def camp(tmp_path: Path) -> Path:
    file = tmp_path / "camp.yaml"
    file.write_text(RULEBOOK, encoding="utf-8")
    return file


@pytest.fixture
def demo() -> Sheets:
    """The sheets of the demo event's first three runs."""
    event = load_demo_event(ROOT / "demo_events" / "sheave-change")
    book = read_rulebook(event.event.rulebook)
    teams = {team.id: team for team in event.teams}
    return keyed_from(
        book,
        {
            number: (teams[run.plan.team].name, teams[run.plan.team].division, run.script)
            for number, run in enumerate(event.runs[:3], start=1)
        },
    )


def keyed(run: Run, folder: Path, name: str, sheets: Sheets) -> Path:
    """A workbook as the command hands it out, filled in."""
    assert run("paper", SHEAVE, "--out", folder / "out", "--runs", 3).code == 0
    file = folder / name
    file.write_bytes(fill((folder / "out" / "keying.xlsx").read_bytes(), sheets))
    return file


@pytest.mark.parametrize(("paper", "width"), [("a4", 595), ("letter", 612)])
def test_it_writes_every_sheet(
    run: Run, camp: Path, tmp_path: Path, paper: str, width: int
) -> None:
    out = tmp_path / "new" / "folder"
    done = run("paper", camp, "--out", out, "--paper", paper)
    assert (done.code, done.err) == (0, "")
    files = [
        *("briefing.pdf", "judge-clock.pdf", "judge-mast.pdf", "judge-stove.pdf"),
        *("check-sheet.pdf", "clock-sheet.pdf", "head-sheet.pdf", "keying.xlsx"),
    ]
    assert done.out.split() == [str(out / name) for name in files]
    assert {path.name for path in out.iterdir()} == set(files)
    for path in out.glob("*.pdf"):
        assert round(float(PdfReader(path).pages[0].mediabox.width)) == width


def test_it_says_that_there_is_nothing_to_write(run: Run, tmp_path: Path, camp: Path) -> None:
    text = camp.read_text(encoding="utf-8")
    start, end = text.index("      - reading: mains-read"), text.index("      - {correctable")
    plain = text[:start] + text[end:]
    plain = "\n".join(line for line in plain.splitlines() if "setting:" not in line)
    camp.write_text(plain, encoding="utf-8")
    done = run("paper", camp, "--out", tmp_path / "out")
    assert done.code == 0
    assert done.err == "No check-sheet.pdf: the rulebook has nothing for the crew to write.\n"


def test_two_posts_alike_but_for_capitals_have_a_file_each(
    run: Run, camp: Path, tmp_path: Path
) -> None:
    text = camp.read_text(encoding="utf-8").replace("  clock: {title", "  MAST: {title")
    camp.write_text(text.replace("[clock, stove]", "[MAST, stove]"), encoding="utf-8")
    done = run("paper", camp, "--out", tmp_path / "out")
    names = {path.name.casefold() for path in (tmp_path / "out").iterdir()}
    assert {"judge-mast-1.pdf", "judge-mast-2.pdf"} <= names
    assert len(names) == len(done.out.split())


def test_a_wrong_rulebook_writes_nothing(run: Run, tmp_path: Path) -> None:
    file = tmp_path / "wrong.yaml"
    file.write_text("rulebook: x\n", encoding="utf-8")
    done = run("paper", file, "--out", tmp_path / "out")
    assert done.code == 1
    assert not (tmp_path / "out").exists()


def test_what_two_people_keyed_alike_is_scored(run: Run, tmp_path: Path, demo: Sheets) -> None:
    first = keyed(run, tmp_path, "first.xlsx", demo)
    second = keyed(run, tmp_path, "second.xlsx", demo)
    done = run("key", SHEAVE, first, second)
    assert done.code == 0
    assert "Copper Fox" in done.out
    as_json = json.loads(run("key", SHEAVE, first, second, "--json").out)
    assert as_json["differences"] == []
    assert [row["team_name"] for row in as_json["standings"]] != []
    assert run("key", SHEAVE, first, "--single").out == done.out


def test_what_two_people_keyed_differently_is_listed_and_not_scored(
    run: Run, tmp_path: Path, demo: Sheets
) -> None:
    first = keyed(run, tmp_path, "first.xlsx", demo)
    put(demo, "bench", "shadow-board", 2, "4")
    second = keyed(run, tmp_path, "second.xlsx", demo)
    done = run("key", SHEAVE, first, second)
    assert done.code == 1
    [line] = done.out.splitlines()
    assert line.endswith("shadow-board, Copper Fox: the first says '3', the second '4'.")
    document = json.loads(run("key", SHEAVE, first, second, "--json").out)
    assert document["standings"] == []
    [difference] = document["differences"]
    assert {key: difference[key] for key in ("sheet", "what", "team", "first", "second")} == {
        "sheet": "bench",
        "what": "shadow-board",
        "team": "Copper Fox",
        "first": "3",
        "second": "4",
    }


def test_one_workbook_alone_is_refused(run: Run, tmp_path: Path, demo: Sheets) -> None:
    first = keyed(run, tmp_path, "first.xlsx", demo)
    done = run("key", SHEAVE, first)
    assert done.code == 2
    assert "Key the sheets in twice and give both workbooks" in done.err


def test_the_problems_of_both_workbooks_are_told(run: Run, tmp_path: Path, demo: Sheets) -> None:
    put(demo, "bench", "shadow-board", 2, "some")
    first = keyed(run, tmp_path, "first.xlsx", demo)
    put(demo, "bench", "shadow-board", 2, "few")
    second = keyed(run, tmp_path, "second.xlsx", demo)
    done = run("key", SHEAVE, first, second)
    assert (done.code, done.out) == (1, "")
    one, two = done.err.splitlines()
    assert one.startswith(f"{first}:")
    assert "bench: 'some' is not allowed here" in one
    assert two.startswith(f"{second}:")
    assert "bench: 'few' is not allowed here" in two
