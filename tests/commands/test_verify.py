"""`fairlead verify`: a meet's record is whole, or the first broken entry is named."""

import json
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from tests.commands.conftest import Run
from web.storage.database import open_database
from web.storage.log import SqlLog


def tamper(database: Path, *statements: str) -> None:
    """Change the file behind the server's back, triggers taken off."""
    with closing(sqlite3.connect(database, isolation_level=None)) as connection:
        names = connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")
        for (name,) in names.fetchall():
            connection.execute(f"DROP TRIGGER {name}")
        for statement in statements:
            connection.execute(statement)


def head(database: Path) -> tuple[int, str]:
    engine = open_database(database)
    found = SqlLog(engine).head()
    engine.dispose()
    return found


def test_a_whole_record_is_called_whole(run: Run, posted: Path) -> None:
    seq, digest = head(posted)
    done = run("verify", posted)
    assert (done.code, done.err) == (0, "")
    assert done.out == f"{posted}: whole. {seq} entries, head {digest}.\n"


def test_a_program_reads_the_same_as_json(run: Run, posted: Path) -> None:
    seq, digest = head(posted)
    done = run("verify", posted, "--json")
    assert json.loads(done.out) == {"entries": seq, "head": digest, "broken": None}


@pytest.mark.parametrize(
    ("statement", "seq"),
    [
        ("UPDATE entries SET payload = replace(payload, 'good', 'bad!') WHERE seq = 6", 6),
        ("UPDATE entries SET received_at = received_at + 1 WHERE seq = 2", 2),
        ("UPDATE entries SET run = 'cliff.wrens' WHERE seq = 5", 5),
        ("UPDATE entries SET hash = '00' || substr(hash, 3) WHERE seq = 1", 1),
        ("DELETE FROM entries WHERE seq = 3", 3),
        ("DELETE FROM entries WHERE seq > 6", 7),
    ],
)
def test_the_first_entry_that_was_tampered_with_is_named(
    run: Run, posted: Path, statement: str, seq: int
) -> None:
    """The last of these is found by the head that the posting wrote down."""
    tamper(posted, statement)
    done = run("verify", posted)
    assert done.code == 1
    assert done.out.startswith(f"{posted}: broken at entry {seq}: ")
    broken = json.loads(run("verify", posted, "--json").out)["broken"]
    assert broken["seq"] == seq
    assert broken["says"].endswith(".")


def test_a_hash_that_was_made_to_fit_breaks_at_the_next_entry(run: Run, posted: Path) -> None:
    tamper(posted, "UPDATE entries SET hash = '00' || substr(hash, 3) WHERE seq = 4")
    assert run("verify", posted).code == 1


def test_a_file_that_is_no_database_is_left_as_it_is(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "notes.txt"
    path.write_text("No database at all, but long enough to look into. " * 20, encoding="utf-8")
    before = path.read_bytes()
    done = run("verify", path)
    assert done.code == 3
    assert done.err.startswith("fairlead: ")
    assert done.err.count("\n") == 1
    assert path.read_bytes() == before


def test_another_programs_database_is_left_as_it_is(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "other.db"
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("CREATE TABLE entries (seq)")
        connection.commit()
    before = path.read_bytes()
    done = run("verify", path)
    assert done.code == 3
    assert "another program's database" in done.err
    assert path.read_bytes() == before


def test_a_newer_database_is_left_as_it_is(run: Run, posted: Path) -> None:
    tamper(posted, "UPDATE alembic_version SET version_num = '9999'")
    done = run("verify", posted)
    assert done.code == 3
    assert "newer version" in done.err


def test_a_database_that_is_not_there_is_not_made(run: Run, tmp_path: Path) -> None:
    done = run("verify", tmp_path / "nowhere.db")
    assert done.code == 2
    assert list(tmp_path.iterdir()) == []
