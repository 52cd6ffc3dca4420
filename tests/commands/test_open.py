"""`fairlead open`, on an event of one's own."""

import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner

from web.cli import fairlead
from web.data import demo_events_folder, rulebooks_folder
from web.errors import ConflictError, RefusedError
from web.storage.database import open_database
from web.storage.directory import Directory


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    own = tmp_path / "own"
    own.mkdir()
    shutil.copy(demo_events_folder() / "sheave-change" / "event.yaml", own)
    return own


def _open(database: Path, folder: Path) -> str:
    line = ["open", str(database), str(folder)]
    return CliRunner().invoke(fairlead, line, catch_exceptions=False).output


def test_an_event_is_opened_with_its_teams_people_and_runs(tmp_path: Path, folder: Path) -> None:
    database = tmp_path / "meet.db"
    assert "8 runs" in _open(database, folder)
    directory = Directory(open_database(database))
    assert len(directory.teams()) == len(directory.plans("sheave-change")) == 8
    assert len(directory.links("sheave-change")) == len(directory.people())


def test_a_rulebook_beside_it_goes_before_a_shipped_one(tmp_path: Path, folder: Path) -> None:
    own = (rulebooks_folder() / "sheave-change.yaml").read_bytes() + b"\n# ours\n"
    (folder / "sheave-change.yaml").write_bytes(own)
    _open(tmp_path / "meet.db", folder)
    (event,) = Directory(open_database(tmp_path / "meet.db")).events()
    assert event.rulebook == own


def test_an_event_is_opened_once(tmp_path: Path, folder: Path) -> None:
    _open(tmp_path / "meet.db", folder)
    with pytest.raises(ConflictError, match="There is already"):
        _open(tmp_path / "meet.db", folder)


def test_a_folder_without_an_event_is_refused(tmp_path: Path) -> None:
    with pytest.raises(RefusedError, match=r"event\.yaml"):
        _open(tmp_path / "meet.db", tmp_path)
    assert not (tmp_path / "meet.db").exists()
