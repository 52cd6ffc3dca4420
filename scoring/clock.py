"""The clock of a rulebook: how the official time is made, and what going over a limit means."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import Any, ClassVar, Final

from marshmallow import ValidationError, post_load, validates_schema

from scoring.durations import Rounding, round_to
from scoring.entries import TimeBack, WatchReading
from scoring.fields import WARNS_IN_TIME, Duration, Name, OneOf, Section, Several, Written
from scoring.fold import Run
from scoring.ids import CategoryId, RuleId
from scoring.penalties import Category, Costs


class Way(StrEnum):
    """A way to make one time of several watches; each says how many watches it needs."""

    AUTOMATIC = "automatic"
    ONE = "one watch"
    SLOWER = "slower of two"
    MEAN = "mean of two"
    MEAN_OF_ALL = "mean of all"
    MIDDLE = "middle of three"


#: The number of the automatic timing among the watches.
AUTOMATIC_WATCH: Final = 0
#: The words that make going over the limit the end of the run.
DID_NOT_FINISH: Final = "did not finish"
_NEEDS: Final = {
    Way.AUTOMATIC: 0,
    Way.ONE: 1,
    Way.SLOWER: 2,
    Way.MEAN: 2,
    Way.MEAN_OF_ALL: 2,
    Way.MIDDLE: 3,
}


@dataclass(frozen=True, slots=True)
class Limit:
    """A time limit: its length, the category that going over it costs, or the end of the run."""

    time: int
    over: CategoryId | Category | None = None
    ends_run: bool = False
    #: How long before the limit the crew is told.
    warn: tuple[int, ...] = ()
    #: Whether the limit is for the time with penalties.
    with_penalties: bool = False
    #: Whether it is over only once the limit is passed, or when it is reached.
    passed: bool = False


@dataclass(frozen=True, slots=True)
class Long:
    """How times from `since` milliseconds on are rounded."""

    since: int
    step: int
    rounding: Rounding = Rounding.UP


@dataclass(frozen=True, slots=True)
class Clock:
    """What the rulebook says of time. `ways` is tried from the first; `step` in milliseconds."""

    limit: Limit | None = None
    walkthrough: Limit | None = None
    ends: RuleId | None = None
    #: What each false start costs.
    false_start: CategoryId | Category | None = None
    ways: tuple[Way, ...] = (Way.ONE,)
    step: int = 10
    rounding: Rounding = Rounding.UP
    long: Long | None = None

    @property
    def watches(self) -> int:
        """How many watches a full crew of timekeepers reads."""
        return max(_NEEDS[way] for way in self.ways)


@dataclass(frozen=True, slots=True)
class OfficialTime:
    """The time that counts before penalties, with how it was made, in milliseconds.

    `readings` are the watches used, in order of the watch's number; none when the time was taken
    from the clock's own signals. `back` is what holds and the head judge gave back.
    """

    time: int
    way: Way | None
    readings: tuple[int, ...]
    back: int
    wanted: Way


def official_time(run: Run, clock: Clock) -> OfficialTime | None:
    """The official time of a run that was stopped, or None.

    The first way for which there are watches enough is used, and the time from start to stop by
    the signals where no watch was read. Holds and time given back come off before the rounding.
    """
    if run.start is None or run.stop is None:
        return None
    back = run.held + sum(
        entry.what.time for entry in run.times_back if isinstance(entry.what, TimeBack)
    )
    way, readings = _used(run, clock)
    exact = combine(readings, way) if way is not None else Fraction(run.stop.at - run.start.at)
    time = max(exact - back, Fraction(0))
    step, rounding = clock.step, clock.rounding
    if clock.long is not None and time >= clock.long.since:
        step, rounding = clock.long.step, clock.long.rounding
    return OfficialTime(round_to(time, step, rounding), way, readings, back, clock.ways[0])


def _used(run: Run, clock: Clock) -> tuple[Way | None, tuple[int, ...]]:
    """The first way there are watches enough for, and their readings; no way without a watch."""
    readings = {
        watch: entry.what.elapsed
        for watch, entry in run.watches.items()
        if isinstance(entry.what, WatchReading)
    }
    automatic = readings.pop(AUTOMATIC_WATCH, None)
    by_hand = tuple(readings.values())
    for way in clock.ways:
        if way is Way.AUTOMATIC:
            if automatic is not None:
                return way, (automatic,)
        elif _NEEDS[way] <= len(by_hand):
            return way, by_hand if way is Way.MEAN_OF_ALL else by_hand[: _NEEDS[way]]
    return (Way.ONE, by_hand[:1]) if by_hand else (None, ())


def combine(readings: tuple[int, ...], way: Way) -> Fraction:
    """One exact time of the readings of several watches, in milliseconds."""
    match way:
        case Way.ONE | Way.AUTOMATIC:
            return Fraction(readings[0])
        case Way.SLOWER:
            return Fraction(max(readings))
        case Way.MEAN | Way.MEAN_OF_ALL:
            return Fraction(sum(readings), len(readings))
        case Way.MIDDLE:
            return Fraction(sorted(readings)[1])


class _Over(Costs):
    """What going over costs: a category, its name, or the words that end the run."""

    words: ClassVar[tuple[str, ...]] = (DID_NOT_FINISH,)


class Measured(StrEnum):
    """What a limit is held against."""

    TIME = "time"
    TOTAL = "total"


class Reach(StrEnum):
    """When a limit is over."""

    REACHED = "reached"
    PASSED = "passed"


class _LimitSchema(Written):
    """What every limit may say."""

    limit = Duration()
    over = Costs()
    warn = Several(Duration(), distinct=True)

    @validates_schema(skip_on_field_errors=True)
    def _has_a_limit(self, data: Mapping[str, Any], **_: Any) -> None:
        for key in ("over", "warn", "of", "when"):
            if key in data and "limit" not in data:
                raise ValidationError("There is no limit here; give a limit too.", key)
        if any(warn >= data["limit"] for warn in data.get("warn", ())):
            raise ValidationError(WARNS_IN_TIME, "warn")


def _limit(data: Mapping[str, Any]) -> Limit | None:
    if "limit" not in data:
        return None
    ends = data.get("over") == DID_NOT_FINISH
    return Limit(
        data["limit"],
        None if ends else data.get("over"),
        ends,
        data.get("warn", ()),
        data.get("of") is Measured.TOTAL,
        data.get("when") is Reach.PASSED,
    )


class _WalkthroughSchema(_LimitSchema):
    limit = Duration(required=True)

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> Limit | None:
        return _limit(data)


class _RunSchema(_LimitSchema):
    over = _Over()
    of = OneOf(Measured)
    when = OneOf(Reach)
    ends = Name()
    false_start = Costs(data_key="false-start")

    @validates_schema(skip_on_field_errors=True)
    def _says_what_ends(self, data: Mapping[str, Any], **_: Any) -> None:
        for key in ("of", "when"):
            if key in data and data.get("over") != DID_NOT_FINISH:
                raise ValidationError(
                    f"'{key}' has a meaning only beside 'over: {DID_NOT_FINISH}'.", key
                )

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> Mapping[str, Any]:
        more: dict[str, Any] = {k: data[k] for k in ("ends", "false_start") if k in data}
        return {"limit": _limit(data), **more}


class _LongSchema(Written):
    since = Duration(required=True, data_key="from")
    step = Duration(required=True, data_key="to")
    rounding = OneOf(Rounding, data_key="round")

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> Long:
        return Long(**data)


class _OfficialSchema(Written):
    ways = Several(OneOf(Way), data_key="from")
    step = Duration(data_key="to")
    rounding = OneOf(Rounding, data_key="round")
    long = Section(_LongSchema)


class ClockSchema(Written):
    """The clock section of a rulebook as it is written."""

    walkthrough = Section(_WalkthroughSchema)
    run = Section(_RunSchema)
    official = Section(_OfficialSchema)

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> Clock:
        official: dict[str, Any] = data.get("official", {})
        run: dict[str, Any] = data.get("run", {})
        return Clock(walkthrough=data.get("walkthrough"), **run, **official)
