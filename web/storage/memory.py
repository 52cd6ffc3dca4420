"""The record in memory: for rehearsals and tests. It keeps every promise but durability."""

from collections.abc import Iterable, Sequence

from scoring import Entry, EntryId, RunId
from web.storage.chain import START, Draft, Row, draft, extend, first_break, stored
from web.values import Clash, Stored


class MemoryLog:
    """An append-only record that lives as long as the process; the promises are `SqlLog`'s."""

    def __init__(self) -> None:
        self._rows: list[Row] = []
        self._known: dict[EntryId, Row] = {}

    def append(self, entries: Sequence[Entry], received_at: int) -> list[Stored | Clash]:
        """Add entries to the end of the record; see `SqlLog.append`."""
        return self.write([draft(entry, received_at) for entry in entries])

    def write(self, drafts: Sequence[Draft]) -> list[Stored | Clash]:
        """Add drafts to the end of the record; see `SqlLog.write`."""
        answers, rows = extend(drafts, self._known, self.head())
        self._rows += rows
        self._known |= {EntryId(row.id): row for row in rows}
        return answers

    def since(self, seq: int = 0, run: RunId | None = None) -> list[Stored]:
        """What follows entry `seq`, in order; of one run where one is named."""
        return [stored(row) for row in self._rows[max(seq, 0) :] if run in {None, row.run}]

    def head(self) -> tuple[int, str]:
        """The number of the last entry and the chain's hash there; 0 and 64 zeros when empty."""
        return (self._rows[-1].seq, self._rows[-1].hash) if self._rows else START

    def verify(self, written_down: Iterable[tuple[int, str]] = ()) -> tuple[int, str] | None:
        """The first break in the chain; see `SqlLog.verify`."""
        return first_break(self._rows, written_down)
