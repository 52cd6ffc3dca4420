"""The clock of a rulebook: how the official time is made, and what going over a limit means."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import Any, Final

from marshmallow import ValidationError, post_load

from scoring.durations import Rounding, round_to
from scoring.entries import TimeBack, WatchReading
from scoring.fields import Duration, Name, OneOf, Section, Several, Written
from scoring.fold import Run
from scoring.ids import CategoryId, RuleId
from scoring.penalties import Category, Costs


class Way(StrEnum):
    """A way to make one time of several watches; each says how many watches it needs."""

    ONE = "one watch"
    SLOWER = "slower of two"
    MEAN = "mean of two"
    MEAN_OF_ALL = "mean of all"
    MIDDLE = "middle of three"


_NEEDS: Final = {Way.ONE: 1, Way.SLOWER: 2, Way.MEAN: 2, Way.MEAN_OF_ALL: 2, Way.MIDDLE: 3}


@dataclass(frozen=True, slots=True)
class Limit:
    """A time limit: its length, the category that going over it costs, or the end of the run."""

    time: int
    over: CategoryId | Category | None = None
    ends_run: bool = False


@dataclass(frozen=True, slots=True)
class Clock:
    """What the rulebook says of time. `ways` is tried from the first; `step` in milliseconds."""

    limit: Limit | None = None
    walkthrough: Limit | None = None
    ends: RuleId | None = None
    ways: tuple[Way, ...] = (Way.ONE,)
    step: int = 10
    rounding: Rounding = Rounding.UP

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
    readings = tuple(
        entry.what.elapsed for entry in run.watches.values() if isinstance(entry.what, WatchReading)
    )
    back = run.held + sum(
        entry.what.time for entry in run.times_back if isinstance(entry.what, TimeBack)
    )
    if readings:
        way = next((way for way in clock.ways if _NEEDS[way] <= len(readings)), Way.ONE)
        readings = readings[: None if way is Way.MEAN_OF_ALL else _NEEDS[way]]
        exact = combine(readings, way)
    else:
        way, exact = None, Fraction(run.stop.at - run.start.at)
    rounded = round_to(max(exact - back, Fraction(0)), clock.step, clock.rounding)
    return OfficialTime(rounded, way, readings, back, clock.ways[0])


def combine(readings: tuple[int, ...], way: Way) -> Fraction:
    """One exact time of the readings of several watches, in milliseconds."""
    match way:
        case Way.ONE:
            return Fraction(readings[0])
        case Way.SLOWER:
            return Fraction(max(readings))
        case Way.MEAN | Way.MEAN_OF_ALL:
            return Fraction(sum(readings), len(readings))
        case Way.MIDDLE:
            return Fraction(sorted(readings)[1])


class _Over(Costs):
    """What going over costs: a category, its name, or the words that end the run."""

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        if value == "did not finish":
            return value
        return super()._deserialize(value, attr, data, **kwargs)


def _limit(data: Mapping[str, Any]) -> Limit:
    over = data.get("over")
    ends = over == "did not finish"
    return Limit(data["limit"], None if ends else over, ends)


class _WalkthroughSchema(Written):
    limit = Duration(required=True)
    over = Costs()

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> Limit:
        return _limit(data)


class _RunSchema(Written):
    limit = Duration()
    over = _Over()
    ends = Name()

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> Mapping[str, Any]:
        if "over" in data and "limit" not in data:
            raise ValidationError("There is no limit to go over; give a limit too.", "over")
        return {"limit": _limit(data) if "limit" in data else None, "ends": data.get("ends")}


class _OfficialSchema(Written):
    ways = Several(OneOf(Way), data_key="from")
    step = Duration(data_key="to")
    rounding = OneOf(Rounding, data_key="round")


class ClockSchema(Written):
    """The clock section of a rulebook as it is written."""

    walkthrough = Section(_WalkthroughSchema)
    run = Section(_RunSchema)
    official = Section(_OfficialSchema)

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> Clock:
        more = {key: value for key, value in data.items() if key == "walkthrough"}
        return Clock(**more, **data.get("run", {}), **data.get("official", {}))
