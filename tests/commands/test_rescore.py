"""`fairlead rescore`, on the demo day."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from web.cli import fairlead
from web.commands.open import open_days
from web.data import demo_events_folder, rulebooks_folder
from web.demo_event import load_demo_event
from web.storage.database import open_database
from web.storage.log import SqlLog

RULEBOOK = (rulebooks_folder() / "sheave-change.yaml").read_text("utf-8")


@pytest.fixture(scope="module")
def database(tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("rescore") / "demo.db"
    day = load_demo_event(demo_events_folder() / "sheave-change")
    open_days(file, [day])
    log = SqlLog(open_database(file))
    log.append(day.entries(1_000_000), 0)
    log.close()
    return file


def _rescored(database: Path, rulebook: str) -> dict[str, object]:
    file = database.parent / "new.yaml"
    file.write_text(rulebook, "utf-8")
    line = ["rescore", str(database), "--rulebook", str(file), "--json"]
    result = CliRunner().invoke(fairlead, line, catch_exceptions=False)
    said: dict[str, object] = json.loads(result.output)
    return said


def _places(rows: object) -> dict[str, tuple[int | None, int | None]]:
    assert isinstance(rows, list)
    return {row["team"]: (row["place_before"], row["place"]) for row in rows}


def test_under_its_own_rulebook_nothing_moves(database: Path) -> None:
    said = _rescored(database, RULEBOOK)
    assert said["changes"] == []
    assert all(then == now for then, now in _places(said["teams"]).values())


def test_dearer_steps_cost_the_crew_with_many_of_them_its_place(database: Path) -> None:
    dearer = RULEBOOK.replace("done wrongly, seconds: 10}", "done wrongly, seconds: 60}")
    dearer = dearer.replace("edition: 1", "edition: 2")
    said = _rescored(database, dearer)
    assert said["changes"] != []
    assert any(then != now for then, now in _places(said["teams"]).values())
