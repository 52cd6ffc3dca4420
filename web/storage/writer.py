"""One writer for the whole server: it commits together what came while it was committing."""

from collections import deque
from collections.abc import Callable, Sequence
from typing import Final, NamedTuple, Protocol, cast

import gevent
from gevent.event import AsyncResult, Event
from gevent.threadpool import ThreadPool

from scoring import Entry
from web.errors import StorageError
from web.storage.chain import Draft, draft
from web.values import Clash, Stored

#: Entries in one transaction, unless one caller brings more: what comes after them waits for one
#: commit only.
MOST: Final = 2000


class Log(Protocol):
    """What the writer writes to: a `SqlLog` or a `MemoryLog`."""

    def write(self, drafts: Sequence[Draft]) -> list[Stored | Clash]:
        """Add drafts to the end of the record in one transaction; an answer for each."""


class _Waiting(NamedTuple):
    drafts: list[Draft]
    answer: "AsyncResult[list[Stored | Clash]]"


class GroupWriter:
    """Appends for many greenlets at once: one commit answers all that wait.

    One native thread commits; the other greenlets run on meanwhile. Callers are served in the
    order they came. `clock` gives milliseconds since 1970-01-01T00:00Z. For the greenlets of the
    thread that made it.
    """

    def __init__(self, log: Log, clock: Callable[[], int]) -> None:
        self._log = log
        self._clock = clock
        self._thread = ThreadPool(1)
        self._queue: deque[_Waiting] = deque()
        self._wake = Event()
        self._open = True
        self._loop = gevent.spawn(self._run)

    def append(self, entries: Sequence[Entry]) -> list[Stored | Clash]:
        """Add entries to the end of the record; return when they are on the disk.

        The entries of one call are kept together, all or none, and answered in order; see
        `SqlLog.append`. Blocks this greenlet only. Raises EntryError for text that is no Unicode,
        StorageError when the commit failed (none of them is kept) or the writer is closed.
        """
        if not self._open:
            raise StorageError("The server is stopping and takes no more entries; send them again.")
        received_at = self._clock()
        waiting = _Waiting([draft(entry, received_at) for entry in entries], AsyncResult())
        self._queue.append(waiting)
        self._wake.set()
        return cast("list[Stored | Clash]", waiting.answer.get())

    def close(self) -> None:
        """Commit and answer everything that waits, then stop."""
        self._open = False
        self._wake.set()
        self._loop.join()
        self._thread.kill()

    def _run(self) -> None:
        while self._open or self._queue:
            if self._queue:
                self._commit(self._next())
            else:
                self._wake.clear()
                self._wake.wait()

    def _next(self) -> list[_Waiting]:
        taken = [self._queue.popleft()]
        room = MOST - len(taken[0].drafts)
        while self._queue and len(self._queue[0].drafts) <= room:
            taken.append(self._queue.popleft())
            room -= len(taken[-1].drafts)
        return taken

    def _commit(self, taken: list[_Waiting]) -> None:
        drafts = [draft for waiting in taken for draft in waiting.drafts]
        try:
            answers = iter(self._thread.apply(self._log.write, (drafts,)))
        except Exception as error:  # noqa: BLE001 (whatever it is, those who wait must hear of it)
            for waiting in taken:
                waiting.answer.set_exception(_as_storage_error(error))
            return
        for waiting in taken:
            waiting.answer.set([next(answers) for _ in waiting.drafts])


def _as_storage_error(error: Exception) -> StorageError:
    sentence = f"Fairlead could not write to the record: {error}"
    told = type(error)(error.says) if isinstance(error, StorageError) else StorageError(sentence)
    told.__cause__ = error
    return told
