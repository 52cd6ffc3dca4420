"""Run + findings + rulings → official time, total or outcome, and status of one run."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from scoring.assessment import Assessed, assess
from scoring.clock import OfficialTime, official_time
from scoring.entries import Entry, Status, StatusRuling
from scoring.findings import RUN_LIMIT, Finding, find, orphans
from scoring.fold import EMPTY, Anomaly, Run, fold
from scoring.ids import EntryId, RuleId
from scoring.kinds.base import Question
from scoring.kinds.splits import Split, splits
from scoring.penalties import Unit
from scoring.results import Result
from scoring.rulebook import Rulebook

#: The engine's version: it goes up whenever the same record could give another result.
ENGINE: Final = 1


class Stage(StrEnum):
    """How far a run has come."""

    WAITING = "waiting"
    WALKTHROUGH = "walkthrough"
    RUNNING = "running"
    HELD = "held"
    CLOSING = "closing out"
    CLOSED = "closed out"


@dataclass(frozen=True, slots=True)
class Scorecard:
    """The result of one run, or of all attempts of a team. Amounts are thousandths of its unit.

    The unit is a second, or a point. Of a result in points `seconds` is what failures cost in
    milliseconds, and `time_cost` what the time with them costs in points; below nothing, it gives.
    `total` is None while there is no result or where a status stands instead. `assessed` is there
    once an assessment has come to something. `orphans` are rulings on findings that no longer
    stand. `attempts` are all of a team's, where this is what was made of them.
    """

    stage: Stage = Stage.WAITING
    status: Status | None = None
    why: str = ""
    official: OfficialTime | None = None
    findings: tuple[Finding, ...] = ()
    penalty: int = 0
    bonus: int = 0
    seconds: int = 0
    time_cost: int = 0
    total: int | None = None
    assessed: Assessed | None = None
    questions: tuple[Question, ...] = ()
    splits: tuple[Split, ...] = ()
    anomalies: tuple[Anomaly, ...] = ()
    orphans: tuple[EntryId, ...] = ()
    run: Run = EMPTY
    attempts: tuple["Attempt", ...] = ()

    @property
    def undecided(self) -> int:
        """How many things still wait for a person before this result can be official."""
        if self.attempts:
            return sum(attempt.card.undecided for attempt in self.attempts)
        if self.stage is Stage.WAITING:
            return 0
        waiting = sum(finding.waits for finding in self.findings)
        unsigned = self.assessed is not None and not self.assessed.signed
        return waiting + len(self.questions) + unsigned

    @property
    def counted(self) -> tuple["Scorecard", ...]:
        """The scorecards that this result is made of: its own, or those of attempts that count."""
        if not self.attempts:
            return (self,)
        return tuple(attempt.card for attempt in self.attempts if attempt.counts)


@dataclass(frozen=True, slots=True)
class Attempt:
    """One of several runs of a team, and whether the result is made of it."""

    card: Scorecard
    counts: bool


def score(entries: Iterable[Entry], book: Rulebook) -> Scorecard:
    """The scorecard of one run's entries under a rulebook: the same for the same set, always."""
    run = fold(entries)
    official = official_time(run, book.clock)
    findings = find(run, book, official)
    stage = _stage(run, book)
    costs = _costs(findings, book)
    time_cost = 0
    if official is not None and book.points.time is not None:
        time_cost = book.points.time.cost(official.time + costs.seconds)
    total = _total(run, book, stage, official, costs, time_cost)
    status, why = _status(run, book, findings, official, costs)
    assessed = None
    if book.result is Result.ASSESSMENT:
        assessed = assess(run, book, findings, total if status is None else None, status)
    questions = tuple(_questions(run, book))
    return Scorecard(
        stage=stage,
        status=status,
        why=why,
        official=official,
        findings=findings,
        penalty=costs.penalty,
        bonus=costs.bonus,
        seconds=costs.seconds if book.result is not Result.TIME else 0,
        time_cost=time_cost,
        total=total if status is None else None,
        assessed=assessed,
        questions=questions,
        splits=tuple(splits(run, book.terms)),
        anomalies=run.anomalies,
        orphans=orphans(run, findings),
        run=run,
    )


@dataclass(frozen=True, slots=True)
class _Costs:
    """What findings cost and give in the result's unit, and all of them together in seconds."""

    penalty: int
    bonus: int
    seconds: int


def _costs(findings: tuple[Finding, ...], book: Rulebook) -> _Costs:
    ours = [each for each in findings if each.category.unit is book.unit]
    return _Costs(
        penalty=sum(each.cost for each in ours if not each.failure.bonus),
        bonus=-sum(each.cost for each in ours if each.failure.bonus),
        seconds=sum(each.cost for each in findings if each.category.unit is Unit.SECONDS),
    )


def _total(  # noqa: PLR0913, PLR0917 - all that a total is made of
    run: Run,
    book: Rulebook,
    stage: Stage,
    official: OfficialTime | None,
    costs: _Costs,
    time_cost: int,
) -> int | None:
    """The total once the run has come to its end; points need no time where the rules need none."""
    if book.result is Result.TIME:
        return official.time + costs.seconds if official is not None else None
    start = book.points.start_of(run.givens)
    if start is None or (official is None and (book.timed or stage is not Stage.CLOSED)):
        return None
    return book.points.total(start, costs.penalty - costs.bonus + time_cost)


def _stage(run: Run, book: Rulebook) -> Stage:
    untimed = run.start is None and not book.timed
    if run.stop is not None or (untimed and run.closed):
        asked = {post for rule in book.rules.values() if rule.asked for post in rule.posts}
        if untimed and not asked:
            asked = set(book.posts)
        return Stage.CLOSED if run.closed >= asked else Stage.CLOSING
    if run.start is not None:
        return Stage.HELD if run.holds and run.holds[-1].end is None else Stage.RUNNING
    if run.walkthrough is not None and run.walkthrough.end is None:
        return Stage.WALKTHROUGH
    return Stage.RUNNING if untimed and run.seen else Stage.WAITING


def _questions(run: Run, book: Rulebook) -> Iterator[Question]:
    """What the posts have left unanswered, and what was never drawn for the run."""
    for name, given in book.givens.items():
        no_amount = name == book.points.start and book.points.start_of(run.givens) is None
        if no_amount or not given.takes(run.givens.get(name, "")):
            yield Question(RuleId(f"given {name}"))
    let_go = {rule.lets_go(run) for rule in book.rules.values()} - {None}
    for rule in book.rules.values():
        if rule.applies(run) and rule.task not in let_go:
            yield from rule.questions(run)


def _status(
    run: Run,
    book: Rulebook,
    findings: tuple[Finding, ...],
    official: OfficialTime | None,
    costs: _Costs,
) -> tuple[Status | None, str]:
    """The head judge's word on how the run ended, else what the rules make of it."""
    if run.status is not None and isinstance(run.status.what, StatusRuling):
        ruled = run.status.what
        if ruled.status is not None:
            return ruled.status, ruled.reason
    for finding in findings:
        if finding.ends is not None:
            rule = book.rules.get(finding.failure.rule)
            return finding.ends, rule.text if rule is not None else finding.failure.rule
    limit = book.clock.limit
    if official is not None and limit is not None and limit.ends_run:
        held = official.time + (costs.seconds if limit.with_penalties else 0)
        if held > limit.time or (held == limit.time and not limit.passed):
            return Status.DID_NOT_FINISH, RUN_LIMIT
    return None, ""
