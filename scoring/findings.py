"""Run × rulebook → findings: each failure with what it costs, why, and who ruled on it."""

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from scoring.clock import Limit, OfficialTime
from scoring.entries import Addition, Decision, Entry, Ruling, Status
from scoring.fold import Run
from scoring.ids import EntryId, FindingId, RuleId
from scoring.kinds.base import Doubt, Failure, Fault, failure_id
from scoring.kinds.order import out_of_order
from scoring.penalties import WARNING, Category, Scope
from scoring.rulebook import Rulebook

#: The rules that the clock itself is: no author's id has a space, so these clash with none.
RUN_LIMIT: Final = RuleId("run limit")
WALKTHROUGH_LIMIT: Final = RuleId("walkthrough limit")
FALSE_START: Final = RuleId("false start")


class State(StrEnum):
    """Whether a finding counts."""

    COUNTS = "counts"
    PROPOSED = "proposed"
    STRUCK_OUT = "struck out"


@dataclass(frozen=True, slots=True)
class Finding:
    """A failure with its cost in thousandths of the result's unit, and how that came about.

    `ruling` is the head judge's entry that holds for it, or, for an added one, the entry itself.
    """

    failure: Failure
    category: Category
    state: State
    cost: int
    how: str
    ends: Status | None = None
    ruling: Entry | None = None
    doubts: tuple[Doubt, ...] = ()

    @property
    def waits(self) -> bool:
        """Whether the head judge must look: proposed, contested, or changed since ruled on."""
        unruled = self.ruling is None and Doubt.CONTESTED in self.doubts
        return self.state is State.PROPOSED or unruled or Doubt.MOVED in self.doubts

    @property
    def disqualifies(self) -> bool:
        """Whether it disqualifies."""
        return self.ends is Status.DISQUALIFIED

    @property
    def id(self) -> FindingId:
        """Its lasting name."""
        return self.failure.id


def find(run: Run, book: Rulebook, official: OfficialTime | None) -> tuple[Finding, ...]:
    """Every finding of a run, in order of time; what has no time comes last."""
    failures = sorted(
        (*_by_rules(run, book), *_by_clock(run, book, official), *_added(run, book)), key=_in_time
    )
    pricing, rulings = _Pricing(), _rulings(run, failures)
    return tuple(
        pricing.price(failure, book.categories[failure.costs], rulings.get(failure.id))
        for failure in failures
    )


def orphans(run: Run, findings: tuple[Finding, ...]) -> tuple[EntryId, ...]:
    """The rulings on findings that no longer stand, under that name or another."""
    failures = [finding.failure for finding in findings]
    names = {failure.id for failure in failures}
    stands_on = _stands_on(failures)
    return tuple(
        entry.id
        for name, entry in run.rulings.items()
        if name not in names and _heir(entry, stands_on) is None
    )


def _rulings(run: Run, failures: list[Failure]) -> Mapping[FindingId, Entry]:
    """The ruling that holds for each failure: the latest on it, or on what it was before.

    A breach is named after its first mark, so it is named anew when that mark is withdrawn or an
    earlier one arrives late. What was ruled on it goes with it.
    """
    names, stands_on = {failure.id for failure in failures}, _stands_on(failures)
    latest: dict[FindingId, Entry] = {}
    for name, entry in sorted(run.rulings.items(), key=lambda each: each[1].when):
        heir = name if name in names else _heir(entry, stands_on)
        if heir is not None:
            latest[heir] = entry
    return latest


def _stands_on(failures: list[Failure]) -> Mapping[EntryId, list[FindingId]]:
    """The failures that stand on each entry, in their order."""
    found: dict[EntryId, list[FindingId]] = {}
    for failure in failures:
        for entry in failure.stands_on:
            found.setdefault(entry, []).append(failure.id)
    return found


def _heir(entry: Entry, stands_on: Mapping[EntryId, list[FindingId]]) -> FindingId | None:
    """The failure of the same family that stands on most of what a ruling stood on."""
    if not isinstance(entry.what, Ruling):
        return None
    family = entry.what.finding.partition("/")[0]
    shared = Counter(
        failure
        for each in set(entry.what.stands_on)
        for failure in stands_on.get(each, ())
        if failure.partition("/")[0] == family
    )
    most = max(shared.values(), default=0)
    return min((failure for failure, times in shared.items() if times == most), default=None)


def _in_time(failure: Failure) -> tuple[bool, int, str]:
    return failure.at is None, failure.at or 0, failure.id


def _by_rules(run: Run, book: Rulebook) -> Iterator[Failure]:
    let_go = {rule.lets_go(run) for rule in book.rules.values()} - {None}
    for rule in book.rules.values():
        if rule.applies(run):
            for failure in rule.failures(run, book.terms):
                if Doubt.UNSEEN not in failure.doubts or rule.task not in let_go:
                    yield failure
    yield from out_of_order(run, book.terms)


def _by_clock(run: Run, book: Rulebook, official: OfficialTime | None) -> Iterator[Failure]:
    if official is not None and book.clock.limit is not None and run.stop is not None:
        yield from _over(RUN_LIMIT, book, book.clock.limit, official.time, (run.stop.id,))
    if isinstance(book.clock.false_start, str):
        for entry in run.false_starts:
            yield Failure(
                id=failure_id(FALSE_START, entry.id),
                rule=FALSE_START,
                fault=Fault.FALSE_START,
                costs=book.clock.false_start,
                at=entry.at,
                stands_on=(entry.id,),
            )
    walkthrough = run.walkthrough
    if (
        walkthrough is not None
        and walkthrough.end is not None
        and book.clock.walkthrough is not None
    ):
        took = walkthrough.end - walkthrough.begin
        yield from _over(WALKTHROUGH_LIMIT, book, book.clock.walkthrough, took, ())


def _over(
    rule: RuleId, book: Rulebook, limit: Limit, took: int, entries: tuple[EntryId, ...]
) -> Iterator[Failure]:
    """Going over a limit, charged for each started second or minute where the category says so."""
    over = took - limit.time
    if over <= 0 or not isinstance(limit.over, str):
        return
    yield Failure(
        id=failure_id(rule),
        rule=rule,
        fault=Fault.OVER_LIMIT,
        costs=limit.over,
        count=book.categories[limit.over].begun(over),
        margin=over,
        stands_on=entries,
    )


def _added(run: Run, book: Rulebook) -> Iterator[Failure]:
    for entry in run.additions:
        if isinstance(entry.what, Addition) and entry.what.rule in book.rules:
            yield book.rules[entry.what.rule].added(entry, entry.what.count)


class _Pricing:
    """What failures cost when taken in order of time: ladders climb, caps fill up."""

    def __init__(self) -> None:
        self._climbed: dict[tuple[str, str], int] = {}
        self._charged: dict[tuple[str, str], int] = {}

    def price(self, failure: Failure, category: Category, entry: Entry | None) -> Finding:
        """The finding of the next failure in time, with the entry of the ruling on it."""
        ruling = entry.what if entry is not None and isinstance(entry.what, Ruling) else None
        doubts = failure.doubts
        if (
            ruling is not None
            and ruling.stands_on
            and set(ruling.stands_on) != set(failure.stands_on)
        ):
            doubts = (*doubts, Doubt.MOVED)
        if ruling is None and failure.proposed:
            return Finding(
                failure, category, State.PROPOSED, 0, "costs nothing until upheld", doubts=doubts
            )
        if ruling is not None and ruling.decision is Decision.STRIKE:
            return Finding(
                failure, category, State.STRUCK_OUT, 0, "struck out", ruling=entry, doubts=doubts
            )
        cost, how, ends = self._charge(failure, category)
        if ruling is not None and ruling.decision is Decision.CHANGE and ruling.cost is not None:
            how = f"changed by the head judge from {how}"
            cost, ends = ruling.cost, None
        self._fill(failure, category, cost)
        return Finding(failure, category, State.COUNTS, cost, how, ends, entry, doubts)

    def _charge(self, failure: Failure, category: Category) -> tuple[int, str, Status | None]:
        """The cost by ladder and cap, how it came about, and how it ends the run if it does."""
        if failure.ends is not None:
            return 0, str(failure.ends), failure.ends
        ladder = _within(category.ladder, failure, category)
        nth = self._climbed[ladder] = self._climbed.get(ladder, 0) + 1
        rung, times = category.rung(nth), category.times(failure.count)
        if rung.disqualifies:
            return 0, "disqualified", Status.DISQUALIFIED
        full = rung.amount * times
        how = category.say(rung.amount) if rung.amount else WARNING
        if times > 1:
            how = f"{times} × {how}"
        if len(category.rungs) > 1:
            how = f"{how} (number {nth})"
        if category.cap is None:
            return (-full if failure.bonus else full), how, None
        left = max(
            0, category.cap - self._charged.get(_within(category.cap_of, failure, category), 0)
        )
        if full > left:
            cap = category.say(category.cap)
            how = f"{how}, of which {category.say(left)} under the cap of {cap}"
        cost = min(full, left)
        return (-cost if failure.bonus else cost), how, None

    def _fill(self, failure: Failure, category: Category, cost: int) -> None:
        scope = _within(category.cap_of, failure, category)
        self._charged[scope] = self._charged.get(scope, 0) + abs(cost)


def _within(scope: Scope, failure: Failure, category: Category) -> tuple[str, str]:
    return category.id, failure.rule if scope is Scope.RULE else ""
