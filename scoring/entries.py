"""The closed set of entries: all that can ever be on a record.

A record is a *set* of entries. Nothing on it is changed or deleted: a correction is a new entry
with a name and a reason. Every entry says who made it, for which post, in which run and when; what
it says is one of the kinds below. Times are milliseconds since 1970-01-01T00:00Z on the server's
clock; `off_by` is how far the tablet's corrected clock may be out, in milliseconds.
"""

from dataclasses import dataclass
from enum import StrEnum
from typing import Final, TypeAlias

from scoring.ids import EntryId, FindingId, PersonId, PostId, RuleId, RunId


class Outcome(StrEnum):
    """What a judge says of one thing that was to be done or said."""

    GOOD = "good"
    WRONG = "wrong"
    MISSING = "missing"
    UNSEEN = "unseen"


class SignalName(StrEnum):
    """What the timekeeper, or any judge for a danger stop, tells the clock."""

    WALKTHROUGH = "walkthrough"
    WALKTHROUGH_OVER = "walkthrough over"
    START = "start"
    FALSE_START = "false start"
    HOLD = "hold"
    RESUME = "resume"
    DANGER = "danger"
    STOP = "stop"


class Moment(StrEnum):
    """What a judge taps of something that takes time, or that the crew may put right."""

    BEGIN = "begin"
    END = "end"
    TOLD = "told"
    CORRECTED = "corrected"
    JUDGE_DID = "judge did it"
    RELEASED = "released"


class Decision(StrEnum):
    """What the head judge decides on a finding."""

    UPHOLD = "uphold"
    STRIKE = "strike"
    CHANGE = "change"


class Status(StrEnum):
    """How a run ended other than with a time; ranked below every time, in this order."""

    DID_NOT_FINISH = "did not finish"
    DID_NOT_START = "did not start"
    DISQUALIFIED = "disqualified"


class Competence(StrEnum):
    """What an assessment comes to."""

    COMPETENT = "competent"
    NOT_YET = "not yet"


@dataclass(frozen=True, slots=True)
class Mark:
    """A judge's word on a rule, or on one item of it.

    `timed` is False when the mark was made after the event it tells of (at close-out), so that
    its time says nothing about the order of the work.
    """

    rule: RuleId
    outcome: Outcome
    item: str = ""
    timed: bool = True


@dataclass(frozen=True, slots=True)
class Breach:
    """One breach of a conduct rule, by `whom` where the judge could tell."""

    rule: RuleId
    whom: str = ""


@dataclass(frozen=True, slots=True)
class Count:
    """How many of a rule's things were found wanting."""

    rule: RuleId
    count: int


@dataclass(frozen=True, slots=True)
class Moved:
    """A rule, or one item of it, has come to a moment: held from here to there, told, put right."""

    rule: RuleId
    moment: Moment
    item: str = ""


@dataclass(frozen=True, slots=True)
class Measured:
    """What a judge measured or counted of a rule, in thousandths of its unit (seconds, …)."""

    rule: RuleId
    amount: int
    item: str = ""


@dataclass(frozen=True, slots=True)
class Value:
    """What the crew wrote, or what a tool was found set to, as it stands there."""

    rule: RuleId
    value: str
    item: str = ""
    legible: bool = True


@dataclass(frozen=True, slots=True)
class Given:
    """What was drawn for this run, or measured at its bay: a value that rules refer to."""

    name: str
    value: str


@dataclass(frozen=True, slots=True)
class Signal:
    """The clock's events: walkthrough, start, hold, resume, danger stop, stop."""

    signal: SignalName
    reason: str = ""


@dataclass(frozen=True, slots=True)
class WatchReading:
    """What a watch showed from start to stop, holds included, in milliseconds; 0 is automatic."""

    watch: int
    elapsed: int


@dataclass(frozen=True, slots=True)
class CloseOut:
    """The post has answered what it can; what it has left open was not seen."""


@dataclass(frozen=True, slots=True)
class Withdrawal:
    """An earlier entry taken back, with the reason."""

    entry: EntryId
    reason: str


@dataclass(frozen=True, slots=True)
class Ruling:
    """The head judge's decision on a finding.

    `cost` is the new cost for CHANGE, in thousandths of the result's unit. `stands_on` is what the
    finding stood on when it was ruled, so that a finding that has changed since is noticed.
    """

    finding: FindingId
    decision: Decision
    reason: str
    cost: int | None = None
    stands_on: tuple[EntryId, ...] = ()


@dataclass(frozen=True, slots=True)
class Addition:
    """A breach of a rule that the head judge adds: `count` occurrences, at the rule's own cost."""

    rule: RuleId
    count: int
    reason: str


@dataclass(frozen=True, slots=True)
class TimeBack:
    """Time the head judge gives back to the crew (or, negative, takes), in milliseconds."""

    time: int
    reason: str


@dataclass(frozen=True, slots=True)
class StatusRuling:
    """The run ends without a rank, or (`status` None) an earlier such ruling is lifted."""

    status: Status | None
    reason: str


@dataclass(frozen=True, slots=True)
class Signature:
    """The assessor's word on what an assessment has come to, with a remark."""

    outcome: Competence
    remark: str = ""


Observation: TypeAlias = Mark | Breach | Count | Moved | Measured | Value
What: TypeAlias = (
    Observation
    | Given
    | Signal
    | WatchReading
    | CloseOut
    | Withdrawal
    | Ruling
    | Addition
    | TimeBack
    | StatusRuling
    | Signature
)


#: The kinds of entry that are about a rule a post watches.
OBSERVATIONS: Final = (Mark, Breach, Count, Moved, Measured, Value)


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry of a run's record: who, for which post, when, and what."""

    id: EntryId
    run: RunId
    by: PersonId
    post: PostId | None
    at: int
    off_by: int
    what: What

    @property
    def when(self) -> tuple[int, str]:
        """The order of entries in time; the id decides between equal times."""
        return self.at, self.id
