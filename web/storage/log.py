"""The record in the database: append-only, chained, durable when `append` returns."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import closing
from itertools import starmap
from typing import Final

from gevent.monkey import get_original
from sqlalchemy import Connection, Engine, insert, select
from sqlalchemy.dialects import sqlite
from sqlalchemy.exc import IntegrityError

from scoring import Entry, EntryId, RunId
from web.storage.chain import START, Draft, Row, draft, extend, first_break, stored
from web.storage.database import for_writing, storage_errors
from web.storage.tables import EntryRow
from web.values import Clash, Stored

_COLUMNS: Final = tuple(getattr(EntryRow, name) for name in Row._fields)
# Words the driver takes as they are: a commit is short, and composing them is a third of it.
_INSERT: Final = str(insert(EntryRow).compile(dialect=sqlite.dialect(paramstyle="qmark")))
_HEAD: Final = f"SELECT seq, hash FROM {EntryRow.__tablename__} ORDER BY seq DESC LIMIT 1"  # noqa: S608 - our own name
#: SQLite takes so many values in one statement, and a few more.
_MOST_IDS: Final = 30_000


class SqlLog:
    """The append-only record of every run, kept by a database that `open_database` opened.

    It writes over one connection of its own, so that a native thread can write while the others
    read. Threads and greenlets may share it.
    """

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        self._writing: Connection | None = None
        # A native lock also under gevent: who writes runs in a native thread.
        self._turn = get_original("threading", "Lock")()

    def append(self, entries: Sequence[Entry], received_at: int) -> list[Stored | Clash]:
        """Add entries to the end of the record in one transaction; an answer for each, in order.

        An entry that is there already is answered with its first number and `repeat`; a different
        one under the same id with `Clash`, and is not written. Entries are such as `scoring.decode`
        makes: others could not be read back. Raises BadMessageError for text that is no
        Unicode, StorageError when the database refuses: then none of them is written.
        """
        return self.write([draft(entry, received_at) for entry in entries])

    def write(self, drafts: Sequence[Draft]) -> list[Stored | Clash]:
        """Add drafts to the end of the record in one transaction, as `append` does."""
        with self._turn, storage_errors("write to the record"):
            connection = self._connection()
            try:
                try:
                    return _written(connection, drafts, dict)
                except IntegrityError:
                    # Some are there already: which, is only then worth looking up.
                    return _written(connection, drafts, lambda: _known(connection, drafts))
            except BaseException:
                # What state a failure left it in is not known.
                self._drop()
                raise

    def since(self, seq: int = 0, run: RunId | None = None) -> list[Stored]:
        """What follows entry `seq`, in order; of one run where one is named."""
        query = select(*_COLUMNS).where(EntryRow.seq > seq).order_by(EntryRow.seq)
        if run is not None:
            query = query.where(EntryRow.run == run)
        with storage_errors("read the record"), self._engine.connect() as connection:
            return [stored(Row(*row)) for row in connection.execute(query)]

    def head(self) -> tuple[int, str]:
        """The number of the last entry and the chain's hash there; 0 and 64 zeros when empty."""
        with storage_errors("read the record"), self._engine.connect() as connection:
            return _head(connection)

    def verify(self, written_down: Iterable[tuple[int, str]] = ()) -> tuple[int, str] | None:
        """The first entry at which the chain is broken, and a sentence on how; else None.

        It finds what was altered, taken out, put in or moved. It cannot see that entries are
        missing at the end, nor that the whole was written anew from some entry on, unless it is
        handed a head (number and hash) that was written down elsewhere: every posting has one.
        """
        query = select(*_COLUMNS).order_by(EntryRow.seq).execution_options(yield_per=1000)
        with storage_errors("read the record"), self._engine.connect() as connection:
            return first_break(starmap(Row, connection.execute(query)), written_down)

    def close(self) -> None:
        """Give the connection back; the record may still be read and, opening one, written."""
        with self._turn:
            self._drop()

    def _connection(self) -> Connection:
        if self._writing is None:
            self._writing = for_writing(self._engine).connect()
        return self._writing

    def _drop(self) -> None:
        if self._writing is not None:
            with closing(self._writing) as connection:
                self._writing = None
                connection.invalidate()


def _written(
    connection: Connection, drafts: Sequence[Draft], known: Callable[[], Mapping[EntryId, Row]]
) -> list[Stored | Clash]:
    """Add those drafts that are not `known`, in one transaction; IntegrityError if one is there."""
    with connection.begin():
        answers, rows = extend(drafts, known(), _head(connection))
        if rows:
            connection.exec_driver_sql(_INSERT, rows)
    return answers


def _head(connection: Connection) -> tuple[int, str]:
    row = connection.exec_driver_sql(_HEAD).first()
    return (row.seq, row.hash) if row else START


def _known(connection: Connection, drafts: Sequence[Draft]) -> dict[EntryId, Row]:
    ids = [draft.entry.id for draft in drafts]
    known: dict[EntryId, Row] = {}
    for start in range(0, len(ids), _MOST_IDS):
        query = select(*_COLUMNS).where(EntryRow.id.in_(ids[start : start + _MOST_IDS]))
        known |= {EntryId(row.id): Row(*row) for row in connection.execute(query)}
    return known
