"""The keyed cells of one run → its entries, as each post's judge would have made them.

A sheet tells no more of time than what was written beside its boxes. What has no time is taken as
answered after the run; a breach without one is the same as another post's of the same number.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from scoring.entries import (
    Addition,
    Breach,
    CloseOut,
    Competence,
    Count,
    Entry,
    Given,
    Mark,
    Measured,
    Moment,
    Moved,
    Observation,
    Outcome,
    Signal,
    SignalName,
    Signature,
    Status,
    StatusRuling,
    TimeBack,
    Value,
    WatchReading,
    What,
)
from scoring.ids import EntryId, PersonId, PostId, RuleId, RunId
from scoring.keying.cells import Answered, Broken, Number, Said, Wrote
from scoring.kinds.base import Control, Fault, Rule
from scoring.kinds.conduct import Charged, Conduct
from scoring.papers.lines import Line, Takes
from scoring.rulebook import Rulebook

HEAD: Final = PersonId("head judge")
SAYS: Final = "as the sheets say"
#: The start lies so far in, that a walkthrough and false starts find room before it.
_START: Final = 400_000_000
#: Further apart than any time that two marks may be taken for one in, and than any run is long.
_APART: Final = 400_000_000
_OUTCOMES: Final = {
    Fault.CORRECTED: Moment.CORRECTED,
    Fault.JUDGE_DID: Moment.JUDGE_DID,
}


@dataclass(frozen=True, slots=True)
class RunCells:
    """What the table of runs says of one."""

    status: Status | None = None
    reason: str = ""
    watches: Mapping[int, int] = field(default_factory=dict)
    held: int = 0
    back: int = 0
    walkthrough: int | None = None
    false_starts: int = 0
    givens: Mapping[str, str] = field(default_factory=dict)
    signed: Competence | None = None


class Record:
    """The entries of a run, being made."""

    def __init__(self, book: Rulebook, run: RunId) -> None:
        self._book, self._run = book, run
        self.entries: list[Entry] = []
        self._stop = _START

    def clock(self, cells: RunCells) -> None:
        """The clock, what was drawn, and how the run ended."""
        for name, value in cells.givens.items():
            self.add(0, None, Given(name, value))
        if cells.status is not Status.DID_NOT_START:
            self._signals(cells)
        if cells.held:
            self.add(self._stop, None, TimeBack(cells.held, "clock held"))
        if cells.back:
            self.add(self._stop, None, TimeBack(cells.back, cells.reason or SAYS))
        if cells.status is not None:
            self.add(self._stop, None, StatusRuling(cells.status, cells.reason or SAYS))
        if cells.signed is not None:
            self.add(self._stop, None, Signature(cells.signed))

    def _signals(self, cells: RunCells) -> None:
        if cells.walkthrough is not None:
            self.add(0, None, Signal(SignalName.WALKTHROUGH))
            self.add(cells.walkthrough, None, Signal(SignalName.WALKTHROUGH_OVER))
        for n in range(cells.false_starts):
            self.add(_START - cells.false_starts + n, None, Signal(SignalName.FALSE_START))
        if self._book.timed:
            self.add(_START, None, Signal(SignalName.START))
        if cells.watches:
            self._stop = _START + max(cells.watches.values())
            self.add(self._stop, None, Signal(SignalName.STOP))
            for watch, elapsed in cells.watches.items():
                self.add(self._stop, None, WatchReading(watch, elapsed))

    def post(self, post: PostId, said: Sequence[tuple[Line, Said]]) -> None:
        """What one post's sheet says, but for its breaches."""
        faults: dict[RuleId, int] = {}
        for line, value in said:
            rule = self._book.rules[line.rule]
            if rule.control is Control.CORRECT and isinstance(value, Number):
                first = faults.get(rule.id, 0)
                faults[rule.id] = first + value.amount
                for n in range(first, first + value.amount):
                    self._fault(post, rule, Fault(line.item), self._slot(n))
            else:
                self._observe(post, line, value)

    def _observe(self, post: PostId, line: Line, value: Said) -> None:
        match value:
            case Answered(outcome, at):
                mark = Mark(line.rule, outcome, line.item, timed=at is not None)
                self.add(self._stop if at is None else _START + at, post, mark)
            case Wrote(text, legible):
                # The tries of a setting are no items; they come one after the other.
                item = line.item if line.item in self._book.rules[line.rule].items else ""
                self.add(self._stop, post, Value(line.rule, text, item, legible=legible))
            case Number(amount) if line.takes in {Takes.SECONDS, Takes.CENTIMETRES}:
                self.add(self._stop, post, Measured(line.rule, amount, line.item))
            case Number(amount) if line.takes is Takes.COUNT:
                self.add(self._stop, post, Count(line.rule, amount))
            case _:
                return

    def _fault(self, post: PostId, rule: Rule, how: Fault, at: int) -> None:
        outcome: Observation = Mark(rule.id, Outcome.MISSING)
        if how in _OUTCOMES:
            outcome = Moved(rule.id, _OUTCOMES[how])
        self.add(at, post, Moved(rule.id, Moment.TOLD))
        self.add(at + 1, post, outcome)

    def breaches(self, rule: Rule, by_post: Mapping[PostId, tuple[Broken, ...]]) -> None:
        """The breaches of a rule that all posts together saw."""
        times = [[each.at for each in those if each.at is not None] for those in by_post.values()]
        known = max(times, key=len, default=[])
        by_person = isinstance(rule, Conduct) and rule.charged is Charged.PERSON
        most = max(map(len, by_post.values()), default=0)
        for n in range(most):
            named = any(n < len(those) and those[n].whom for those in by_post.values())
            nobody = f"person {n + 1}" if by_person and not named else ""
            for post, those in by_post.items():
                if n < len(those):
                    at = (
                        those[n].at
                        if those[n].at is not None
                        else (known[n] if n < len(known) else None)
                    )
                    moment = self._slot(n) if at is None else _START + at
                    self.add(moment, post, Breach(rule.id, those[n].whom or nobody))
                    if rule.takes(released := Moved(rule.id, Moment.RELEASED)):
                        self.add(moment, post, released)

    def over(self, rule: Rule, amount: int, post: PostId) -> None:
        """A limit that was passed by so much."""
        if amount and rule.takes(stopped := Moved(rule.id, Moment.END)):
            self.add(self._stop, post, stopped)
        elif amount:
            count = self._book.categories[rule.costs].begun(amount)
            self.add(self._stop, None, Addition(rule.id, count, SAYS))

    def close(self, posts: Iterable[PostId]) -> None:
        """The posts whose sheets have come in."""
        for post in posts:
            self.add(self._stop, post, CloseOut())

    def add(self, at: int, post: PostId | None, what: What) -> None:
        """One more entry; of equal times the earlier made is first."""
        by = PersonId(f"sheet of {post}") if post is not None else HEAD
        name = EntryId(f"{self._run}-{len(self.entries):06d}")
        self.entries.append(Entry(name, self._run, by, post, at, 0, what))

    def _slot(self, number: int) -> int:
        """A moment after the run, far from every other."""
        return self._stop + (number + 1) * _APART
