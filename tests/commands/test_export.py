"""`fairlead export`: what is posted, as files."""

import csv
import json
from pathlib import Path

from openpyxl import load_workbook

from tests.commands.conftest import Run
from tests.web.meet import Meet, missed


def test_it_writes_the_standings_and_a_workbook_for_each_team(
    run: Run, posted: Path, tmp_path: Path
) -> None:
    out = tmp_path / "new" / "out"
    done = run("export", posted, "--event", "cliff", "--out", out)
    assert done.code == 0
    assert "Larks of cliff" in done.out
    assert "noise" not in done.out
    names = {path.name for path in out.iterdir()}
    assert names == {
        "standings.csv",
        "standings.xlsx",
        "Larks-of-cliff-larks.xlsx",
        "Wrens-of-cliff-wrens.xlsx",
    }
    with (out / "standings.csv").open(encoding="utf-8-sig", newline="") as text:
        rows = list(csv.reader(text))
    assert [row[1] for row in rows[1:]] == ["Larks of cliff", "Wrens of cliff"]
    for path in out.glob("*.xlsx"):
        assert load_workbook(path).sheetnames


def test_it_writes_what_is_posted_and_not_what_came_later(
    run: Run, posted: Path, meet: Meet, tmp_path: Path
) -> None:
    first, second = tmp_path / "first", tmp_path / "second"
    run("export", posted, "--event", "cliff", "--out", first)
    meet.send("north-2", missed("A1", by="north-2"))
    run("export", posted, "--event", "cliff", "--out", second)
    name = "standings.csv"
    assert (first / name).read_bytes() == (second / name).read_bytes()
    meet.publish()
    run("export", posted, "--event", "cliff", "--out", second)
    assert (first / name).read_bytes() != (second / name).read_bytes()


def test_a_program_reads_the_posting_as_json(
    run: Run, posted: Path, meet: Meet, tmp_path: Path
) -> None:
    done = run("export", posted, "--event", "cliff", "--out", tmp_path / "out", "--json")
    posting = meet.directory.latest_posting("cliff")
    assert posting is not None
    assert json.loads(done.out) == {**posting.content, "number": posting.number}


def test_without_a_posting_there_is_nothing_to_write(
    run: Run, database: Path, tmp_path: Path
) -> None:
    out = tmp_path / "out"
    done = run("export", database, "--event", "cliff", "--out", out)
    assert (done.code, done.out) == (3, "")
    assert done.err == "fairlead: Sheets come once standings have been posted.\n"
    assert not out.exists()


def test_an_unknown_event_is_told_with_those_there_are(
    run: Run, posted: Path, tmp_path: Path
) -> None:
    done = run("export", posted, "--event", "moon", "--out", tmp_path / "out")
    assert done.code == 3
    assert done.err == "fairlead: There is no event 'moon'; there are cliff, noise.\n"


def test_which_event_must_be_said_where_there_are_several(
    run: Run, posted: Path, tmp_path: Path
) -> None:
    done = run("export", posted, "--out", tmp_path / "out")
    assert done.code == 3
    assert done.err == "fairlead: Say which event with --event: cliff, noise.\n"


def test_a_file_in_the_way_of_the_folder_is_told(run: Run, posted: Path, tmp_path: Path) -> None:
    (tmp_path / "out").write_text("in the way", encoding="utf-8")
    done = run("export", posted, "--event", "cliff", "--out", tmp_path / "out")
    assert done.code == 2
    done = run("export", posted, "--event", "cliff", "--out", tmp_path / "out" / "deeper")
    assert done.code == 3
    assert done.err.startswith("fairlead: ")
