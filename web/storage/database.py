"""Opening the database: one SQLite file, safe against power cuts, brought to our own version."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import URL, Connection, Engine, create_engine, event, inspect
from sqlalchemy.exc import DBAPIError, SQLAlchemyError

from web.errors import BadMessageError, DamagedDatabaseError, NewerDatabaseError, StorageError

MIGRATIONS: Final = Path(__file__).parent / "migrations"
#: Marks a SQLite file as ours, in its header.
APPLICATION_ID: Final = int.from_bytes(b"Flrd")
#: How long a write waits for another process's, in seconds.
_PATIENCE: Final = 10
_DAMAGE: Final = ("malformed", "not a database", "Could not decode")


def open_database(path: Path) -> Engine:
    """The database in this file, made where there is none, with every migration run.

    The file is in WAL mode and a commit is on the disk when it returns (synchronous=FULL).
    Connections may be used from any thread, one at a time. Raises StorageError: the file cannot
    be opened, is damaged, is no database of ours, or was made by a newer version.
    """
    engine = create_engine(
        URL.create("sqlite", database=str(path)),
        connect_args={"timeout": _PATIENCE, "check_same_thread": False},
    )
    event.listen(engine, "connect", _prepare)
    event.listen(engine, "begin", _begin)
    try:
        with storage_errors(f"open {path.name}"), writing(engine) as connection:
            _bring_up_to_date(connection, path)
    except StorageError:
        engine.dispose()
        raise
    return engine


def for_writing(engine: Engine) -> Engine:
    """The same database, with transactions that hold the right to write from their beginning.

    What such a transaction reads stays true until it commits, also with other processes about.
    """
    return engine.execution_options(begin="BEGIN IMMEDIATE")


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """One writing transaction: committed whole at the end, or not at all."""
    with for_writing(engine).begin() as connection:
        yield connection


@contextmanager
def storage_errors(doing: str) -> Iterator[None]:
    """Say what the database refused: `doing` completes "Fairlead could not …"."""
    try:
        yield
    except (SQLAlchemyError, sqlite3.Error) as error:
        why = str(error.orig if isinstance(error, DBAPIError) else error)
        kind = DamagedDatabaseError if any(word in why for word in _DAMAGE) else StorageError
        raise kind(f"Fairlead could not {doing}: {why}. Nothing of it was kept.") from error
    except (UnicodeEncodeError, OverflowError) as error:
        raise BadMessageError(
            f"Fairlead could not {doing}: it holds half a character or a number beyond 64 bits."
        ) from error


def _prepare(connection: Any, _record: object) -> None:
    # The driver would begin transactions at times of its own; `_begin` does it.
    connection.isolation_level = None
    if _is_ours(connection) or not connection.execute("SELECT 1 FROM sqlite_master").fetchone():
        # It is written into the file, so another program's file is left alone.
        connection.execute("PRAGMA journal_mode = WAL")
    for pragma in (
        "synchronous = FULL",
        "foreign_keys = ON",
        # Else REPLACE deletes past the triggers.
        "recursive_triggers = ON",
    ):
        connection.execute(f"PRAGMA {pragma}")


def _is_ours(connection: Any) -> bool:
    (found,) = connection.execute("PRAGMA application_id").fetchone()
    return bool(found == APPLICATION_ID)


def _begin(connection: Connection) -> None:
    connection.exec_driver_sql(connection.get_execution_options().get("begin", "BEGIN"))


def _bring_up_to_date(connection: Connection, path: Path) -> None:
    script = ScriptDirectory(str(MIGRATIONS))
    ours = connection.exec_driver_sql("PRAGMA application_id").scalar_one() == APPLICATION_ID
    if not ours and inspect(connection).get_table_names():
        raise DamagedDatabaseError(
            f"{path.name} is another program's database. Name a file of Fairlead's, or a new one."
        )
    at = set(MigrationContext.configure(connection).get_current_heads())
    if at - {revision.revision for revision in script.walk_revisions()}:
        raise NewerDatabaseError(
            f"{path.name} was made by a newer version of Fairlead. Install that version,"
            " or open another file; this one was left as it is."
        )
    if at == set(script.get_heads()):
        return
    config = Config(attributes={"connection": connection})
    # Config reads % as the beginning of a reference.
    config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
    command.upgrade(config, "head")
    connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")
