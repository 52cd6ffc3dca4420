"""Run + findings + rulings → official time, total and status of one run."""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from scoring.clock import OfficialTime, official_time
from scoring.entries import Entry, Status, StatusRuling
from scoring.findings import RUN_LIMIT, Finding, State, find, orphans
from scoring.fold import EMPTY, Anomaly, Run, fold
from scoring.ids import EntryId, TaskId
from scoring.kinds.base import Question
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
class Split:
    """A task's part of the run, in milliseconds into the run and of its length.

    A task takes from the later of the start and the end of the tasks before it until its own last
    mark; none where nobody marked it as it happened.
    """

    task: TaskId
    ended: int | None
    took: int | None


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
    status, why = _status(run, book, findings, official)
    penalty = sum(finding.cost for finding in findings if not finding.failure.bonus)
    bonus = -sum(finding.cost for finding in findings if finding.failure.bonus)
    questions = tuple(question for rule in book.rules.values() for question in rule.questions(run))
    return Scorecard(
        stage=_stage(run, book),
        status=status,
        why=why,
        official=official,
        findings=findings,
        penalty=penalty,
        bonus=bonus,
        total=official.time + penalty - bonus if official is not None and status is None else None,
        questions=questions,
        splits=tuple(_splits(run, book)),
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


def _status(
    run: Run, book: Rulebook, findings: tuple[Finding, ...], official: OfficialTime | None
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
    if (
        official is not None
        and limit is not None
        and limit.ends_run
        and official.time >= limit.time
    ):
        return Status.DID_NOT_FINISH, RUN_LIMIT
    return None, ""


def _splits(run: Run, book: Rulebook) -> Iterable[Split]:
    reached = 0
    for task in book.tasks:
        moments = [
            max(0, into)
            for rule in task.rules
            for time in book.rules[rule].moments(run)
            if (into := run.into(time)) is not None
        ]
        if not moments:
            yield Split(task.id, None, None)
            continue
        ended = max(moments)
        yield Split(task.id, ended, max(0, ended - reached))
        reached = max(reached, ended)
