"""`fairlead overall`, on the demo meet."""

import csv
import json
from pathlib import Path
from typing import Final

import pytest

from scoring import PersonId, format_thousandths
from tests.commands.conftest import Run
from web.commands.open import open_days
from web.data import demo_events_folder
from web.demo_event import load_demo
from web.storage.database import open_database
from web.storage.directory import Directory
from web.storage.log import SqlLog
from web.values import Standing

FOLDER: Final = demo_events_folder() / "two-day-meet"
MEET: Final = FOLDER / "meet.yaml"


def _held(file: Path, *posted: str) -> Path:
    """A database in which both days were held, and some of them posted."""
    days = load_demo(FOLDER).days
    open_days(file, days)
    engine = open_database(file)
    log = SqlLog(engine)
    for day in days:
        log.append(day.entries(1_000_000), 0)
    for event in posted:
        Directory(engine).add_posting(
            event=event,
            standing=Standing.PROVISIONAL,
            posted_at=0,
            by=PersonId("head"),
            reason="",
            rulebook_hash="",
            head_seq=10_000,
            head_hash="",
            engine="1",
            content={},
        )
    log.close()
    return file


def _expected() -> list[dict[str, str]]:
    with (FOLDER / "expected" / "overall.csv").open(encoding="utf-8", newline="") as text:
        return list(csv.DictReader(text))


def test_it_adds_up_what_is_posted_and_writes_it(run: Run, tmp_path: Path) -> None:
    database = _held(tmp_path / "meet.db", "knots", "carry")
    done = run("overall", MEET, database, "--out", tmp_path / "new" / "out")
    assert done.code == 0, done.err
    assert "Two days on the mountain" in done.out
    text = (tmp_path / "new" / "out" / "overall.csv").read_text(encoding="utf-8-sig")
    written = list(csv.DictReader(text.splitlines()))
    assert [(row["Place"], row["Team"], row["Total"]) for row in written] == [
        (row["place"], row["team"], row["total"]) for row in _expected()
    ]
    assert (tmp_path / "new" / "out" / "overall.xlsx").is_file()


def test_an_event_of_which_nothing_is_posted_is_still_to_come(run: Run, tmp_path: Path) -> None:
    database = _held(tmp_path / "meet.db", "knots")
    done = run("overall", MEET, database, "--json")
    rows = json.loads(done.out)
    assert [[*row["scores"]] for row in rows] == [["knots"]] * 8
    knots = {row["team"]: row["knots"] for row in _expected()}
    assert {row["team_name"]: format_thousandths(row["total"]) for row in rows} == knots


def test_with_nothing_posted_there_is_nothing_to_add_up(run: Run, tmp_path: Path) -> None:
    done = run("overall", MEET, _held(tmp_path / "meet.db"))
    assert (done.code, done.out) == (3, "")
    assert done.err == (
        "fairlead: Nothing is posted yet of any event of this meet: knots, carry.\n"
    )


def test_an_event_opened_with_another_edition_is_told(run: Run, tmp_path: Path) -> None:
    database = _held(tmp_path / "meet.db", "knots")
    shipped = (FOLDER.parents[1] / "rulebooks" / "knot-rail.yaml").read_text(encoding="utf-8")
    changed = shipped.replace("edition: 1", "edition: 2")
    (tmp_path / "knot-rail.yaml").write_text(changed, encoding="utf-8")
    (tmp_path / "meet.yaml").write_bytes(MEET.read_bytes())
    done = run("overall", tmp_path / "meet.yaml", database)
    assert done.code == 3
    assert done.err == (
        "fairlead: The event 'knots' was opened with another edition of its rulebook than "
        "knot-rail.yaml is now.\n"
    )


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("knot-rail.yaml", "knots-rail.yaml", "There is no rulebook 'knots-rail.yaml'"),
        ("by: places", "by: luck", "by"),
    ],
)
def test_a_meet_file_with_a_problem_names_its_line(
    run: Run, tmp_path: Path, old: str, new: str, says: str
) -> None:
    meet = tmp_path / "meet.yaml"
    meet.write_text(MEET.read_text(encoding="utf-8").replace(old, new), encoding="utf-8")
    done = run("overall", meet, _held(tmp_path / "meet.db"))
    assert done.code == 1
    assert f"{meet}:" in done.err
    assert says in done.err
