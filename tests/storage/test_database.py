import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.runtime.migration import MigrationContext
from sqlalchemy import Engine

from tests.house.tree import ROOT
from tests.storage.entries import marks
from web.errors import DamagedDatabaseError, NewerDatabaseError, StorageError
from web.storage.database import MIGRATIONS, open_database
from web.storage.log import SqlLog
from web.storage.tables import Base


def _pragma(engine: Engine, name: str) -> object:
    with engine.connect() as connection:
        return connection.exec_driver_sql(f"PRAGMA {name}").scalar_one()


@pytest.mark.parametrize(
    ("pragma", "value"),
    [("journal_mode", "wal"), ("synchronous", 2), ("foreign_keys", 1), ("busy_timeout", 10_000)],
)
def test_every_connection_is_durable_and_patient(
    engine: Engine, pragma: str, value: object
) -> None:
    with engine.connect():
        assert _pragma(engine, pragma) == value


def test_the_migrations_make_the_tables(engine: Engine) -> None:
    with engine.connect() as connection:
        context = MigrationContext.configure(connection)
        assert compare_metadata(context, Base.metadata) == []


def test_every_table_is_strict(engine: Engine) -> None:
    with engine.connect() as connection:
        tables = connection.exec_driver_sql("PRAGMA table_list").mappings().all()
    ours = {table["name"]: table["strict"] for table in tables if table["type"] == "table"}
    assert {name for name in ours if name in Base.metadata.tables} == set(Base.metadata.tables)
    assert all(ours[name] for name in Base.metadata.tables)


def test_every_column_says_what_it_is() -> None:
    lines = (MIGRATIONS.parent / "tables.py").read_text(encoding="utf-8").splitlines()
    columns = [place for place, line in enumerate(lines) if ": Mapped[" in line]
    assert len(columns) == sum(len(table.columns) for table in Base.metadata.tables.values())
    assert [lines[place] for place in columns if not lines[place - 1].startswith("    #: ")] == []


def test_a_run_is_read_by_its_index(engine: Engine) -> None:
    query = "SELECT seq FROM entries WHERE run = 'a' AND seq > 5 ORDER BY seq"
    with engine.connect() as connection:
        plan = connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {query}").mappings().all()
    (step,) = [row["detail"] for row in plan]
    assert step == ("SEARCH entries USING COVERING INDEX ix_entries_run (run=? AND rowid>?)")


def test_what_was_kept_is_there_when_it_is_opened_again(path: Path) -> None:
    for number in (1, 2, 3):
        engine = open_database(path)
        log = SqlLog(engine)
        log.append(marks(number, number), 100)
        log.close()
        engine.dispose()
    with closing(sqlite3.connect(path)) as connection:
        assert connection.execute("SELECT count(*) FROM entries").fetchone() == (3,)


def test_a_newer_database_is_refused_and_left_as_it_was(engine: Engine, path: Path) -> None:
    with engine.begin() as connection:
        connection.exec_driver_sql("UPDATE alembic_version SET version_num = '9999'")
    with pytest.raises(NewerDatabaseError, match="made by a newer version of Fairlead"):
        open_database(path)
    with engine.connect() as connection:
        kept = connection.exec_driver_sql("SELECT version_num FROM alembic_version").scalar_one()
    assert kept == "9999"


def test_another_programs_database_is_refused_and_left_as_it_was(path: Path) -> None:
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("CREATE TABLE recipes (name)")
    with pytest.raises(DamagedDatabaseError, match="is another program's database"):
        open_database(path)
    with closing(sqlite3.connect(path)) as connection:
        tables = connection.execute("SELECT name FROM sqlite_master").fetchall()
    assert tables == [("recipes",)]


def test_a_file_that_is_no_database_is_refused_and_left_as_it_was(path: Path) -> None:
    path.write_bytes(b"Minutes of the judges' meeting. " * 100)
    with pytest.raises(DamagedDatabaseError, match="file is not a database"):
        open_database(path)
    assert path.read_bytes() == b"Minutes of the judges' meeting. " * 100


def test_a_file_cut_in_half_is_refused(path: Path) -> None:
    engine = open_database(path)
    log = SqlLog(engine)
    log.append(marks(1, 500), 100)
    log.close()
    engine.dispose()
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    with pytest.raises(DamagedDatabaseError, match="malformed"):
        open_database(path)


def test_a_place_where_nothing_can_be_kept_is_refused(tmp_path: Path) -> None:
    with pytest.raises(StorageError, match="unable to open database file"):
        open_database(tmp_path / "no such folder" / "meet.sqlite3")


def test_a_migration_that_fails_leaves_nothing(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def failing(*_: object) -> None:
        raise sqlite3.OperationalError("database or disk is full")

    with monkeypatch.context() as patched:
        patched.setattr("alembic.operations.Operations.execute", failing)
        with pytest.raises(StorageError, match="disk is full"):
            open_database(path)
    with closing(sqlite3.connect(path)) as connection:
        assert connection.execute("SELECT name FROM sqlite_master").fetchall() == []
    open_database(path).dispose()


OPENING = """
import sys
from pathlib import Path
from web.storage.database import open_database
from web.storage.directory import Directory

sys.stdin.readline()
print(Directory(open_database(Path(sys.argv[1]))).secret().hex())
"""


def test_several_processes_may_open_a_new_database_at_once(path: Path) -> None:
    opening = [
        subprocess.Popen(
            [sys.executable, "-c", OPENING, str(path)],
            cwd=ROOT,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        for _ in range(4)
    ]
    for process in opening:
        assert process.stdin
        process.stdin.write("go\n")
        process.stdin.flush()
    said = [process.communicate() for process in opening]
    assert [errors for _, errors in said] == [""] * 4
    assert len({secret for secret, _ in said}) == 1
