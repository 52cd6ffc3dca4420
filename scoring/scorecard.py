"""Run + findings + rulings → official time, total and status of one run."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from scoring.clock import OfficialTime, official_time
from scoring.entries import Entry, Status, StatusRuling
from scoring.findings import RUN_LIMIT, Finding, State, find, orphans
from scoring.fold import EMPTY, Anomaly, Run, fold
from scoring.ids import EntryId, RuleId
from scoring.kinds.base import Question
from scoring.kinds.splits import Split, splits
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
    """The result of one run. Amounts are thousandths of the result's unit (milliseconds).

    `total` is None while there is no time or where a status stands instead. `orphans` are rulings
    on findings that no longer stand.
    """

    stage: Stage = Stage.WAITING
    status: Status | None = None
    why: str = ""
    official: OfficialTime | None = None
    findings: tuple[Finding, ...] = ()
    penalty: int = 0
    bonus: int = 0
    total: int | None = None
    questions: tuple[Question, ...] = ()
    splits: tuple[Split, ...] = ()
    anomalies: tuple[Anomaly, ...] = ()
    orphans: tuple[EntryId, ...] = ()
    run: Run = EMPTY

    @property
    def undecided(self) -> int:
        """How many things still wait for a person before this result can be official."""
        proposed = sum(finding.state is State.PROPOSED for finding in self.findings)
        return proposed + len(self.questions) if self.stage is not Stage.WAITING else 0


def score(entries: Iterable[Entry], book: Rulebook) -> Scorecard:
    """The scorecard of one run's entries under a rulebook: the same for the same set, always."""
    run = fold(entries)
    official = official_time(run, book.clock)
    findings = find(run, book, official)
    penalty = sum(finding.cost for finding in findings if not finding.failure.bonus)
    bonus = -sum(finding.cost for finding in findings if finding.failure.bonus)
    total = official.time + penalty - bonus if official is not None else None
    status, why = _status(run, book, findings, official, total)
    questions = tuple(_questions(run, book))
    return Scorecard(
        stage=_stage(run, book),
        status=status,
        why=why,
        official=official,
        findings=findings,
        penalty=penalty,
        bonus=bonus,
        total=total if status is None else None,
        questions=questions,
        splits=tuple(splits(run, book.terms)),
        anomalies=run.anomalies,
        orphans=orphans(run, findings),
        run=run,
    )


def _stage(run: Run, book: Rulebook) -> Stage:
    if run.stop is not None:
        asked = {post for rule in book.rules.values() if rule.asked for post in rule.posts}
        return Stage.CLOSED if run.closed >= asked else Stage.CLOSING
    if run.start is not None:
        return Stage.HELD if run.holds and run.holds[-1].end is None else Stage.RUNNING
    if run.walkthrough is not None and run.walkthrough.end is None:
        return Stage.WALKTHROUGH
    return Stage.WAITING


def _questions(run: Run, book: Rulebook) -> Iterator[Question]:
    """What the posts have left unanswered, and what was never drawn for the run."""
    for given in book.givens:
        if given not in run.givens:
            yield Question(RuleId(f"given {given}"))
    for rule in book.rules.values():
        if rule.applies(run):
            yield from rule.questions(run)


def _status(
    run: Run,
    book: Rulebook,
    findings: tuple[Finding, ...],
    official: OfficialTime | None,
    total: int | None,
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
    if official is not None and total is not None and limit is not None and limit.ends_run:
        held = total if limit.with_penalties else official.time
        if held > limit.time or (held == limit.time and not limit.passed):
            return Status.DID_NOT_FINISH, RUN_LIMIT
    return None, ""
