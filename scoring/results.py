"""What a result is: a time, points or an assessment, and how several attempts make one result.

Amounts are thousandths of the result's unit: milliseconds, or thousandths of a point.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, Final

from marshmallow import ValidationError, post_load, validates_schema

from scoring.durations import Rounding, format_duration, format_thousandths
from scoring.fields import (
    Amount,
    Duration,
    Name,
    OneOf,
    Section,
    Several,
    Text,
    Whole,
    Written,
    amount,
)
from scoring.ids import NAME
from scoring.penalties import Unit

#: A hundred per cent, in thousandths of a per cent.
WHOLE: Final = 100_000
_LOWEST: Final = -100_000_000
_MOST_ATTEMPTS: Final = 30
_NUMBER: Final = re.compile(r"-?[\d.]+", re.ASCII)
_SHARE: Final = re.compile(r"(\d{1,3}(?:\.\d{1,3})?)\s*%", re.ASCII)


class Result(StrEnum):
    """What a result is."""

    TIME = "time"
    POINTS = "points"
    ASSESSMENT = "assessment"


class Best(StrEnum):
    """Which points win."""

    MOST = "most"
    LEAST = "least"


class Span(StrEnum):
    """What time is turned into points by."""

    SECOND = "second"
    MINUTE = "minute"


_LENGTH: Final = {Span.SECOND: 1_000, Span.MINUTE: 60_000}


@dataclass(frozen=True, slots=True)
class TimeTerm:
    """Time as points: `points` for each `span` beyond a time, or left under one.

    What is begun beyond counts, and only what is whole under.
    """

    points: int
    span: Span = Span.SECOND
    beyond: int = 0
    under: int | None = None

    def __str__(self) -> str:
        each = f"{format_thousandths(self.points)} for each {self.span}"
        if self.under is not None:
            return f"{each} left under {format_duration(self.under, 1_000)}"
        return f"{each} beyond {format_duration(self.beyond, 1_000)}" if self.beyond else each

    def cost(self, time: int) -> int:
        """What a time costs in thousandths of a point; less than nothing where it is given."""
        length = _LENGTH[self.span]
        if self.under is not None:
            return -(max(0, self.under - time) // length) * self.points
        return -(-max(0, time - self.beyond) // length) * self.points


@dataclass(frozen=True, slots=True)
class Points:
    """How points are made. `start` is an amount, or the given that holds each run's own."""

    start: int | str = 0
    floor: int | None = None
    best: Best = Best.MOST
    time: TimeTerm | None = None

    def __str__(self) -> str:
        start = self.start if isinstance(self.start, str) else format_thousandths(self.start)
        said = f"from {start}, the {self.best} win"
        if self.floor is not None:
            said += f", never less than {format_thousandths(self.floor)}"
        return f"{said}; time: {self.time}" if self.time is not None else said

    def total(self, start: int, cost: int) -> int:
        """The points of a run by its start value and what it cost: off them, or on top."""
        total = start - cost if self.best is Best.MOST else start + cost
        return total if self.floor is None else max(self.floor, total)

    def start_of(self, givens: Mapping[str, str]) -> int | None:
        """The start value of a run; None where it was not drawn, or as no amount."""
        if isinstance(self.start, int):
            return self.start
        try:
            return amount(givens.get(self.start, "").strip(), _LOWEST)
        except ValidationError:
            return None


@dataclass(frozen=True, slots=True)
class PassMark:
    """What must be reached: points, or a `share` of the start value.

    A share is in thousandths of a per cent.
    """

    amount: int
    share: bool = False

    def __str__(self) -> str:
        return f"{format_thousandths(self.amount)} {'%' if self.share else 'points'}"

    def reached(self, total: int, start: int, best: Best) -> bool:
        """Whether a total reaches it."""
        if self.share:
            return total * WHOLE >= self.amount * start
        return total >= self.amount if best is Best.MOST else total <= self.amount


class Again(StrEnum):
    """What is shown again by who is not competent yet."""

    RULES = "rules"
    TASK = "task"


@dataclass(frozen=True, slots=True)
class Assessment:
    """What makes somebody competent: a mark to reach, and what must be met without fail.

    `must` holds ids of rules, penalty categories and severities.
    """

    mark: PassMark | None = None
    must: tuple[str, ...] = ()
    again: Again = Again.RULES

    def __str__(self) -> str:
        said = [f"{self.mark} to pass"] if self.mark is not None else []
        said += [f"{', '.join(self.must)} without fail"] if self.must else []
        return f"{'; '.join(said)}; the {self.again} again"


class Take(StrEnum):
    """What is made of several attempts."""

    BEST = "best"
    LAST = "last"
    MIDDLE = "middle"
    SUM = "sum"
    MEAN = "mean"


_TAKEN: Final = {
    Take.BEST: "the best",
    Take.LAST: "the last",
    Take.MIDDLE: "the middle one",
    Take.SUM: "the sum",
    Take.MEAN: "the mean",
}


@dataclass(frozen=True, slots=True)
class Attempts:
    """How several runs of a team make one result.

    `failed` is what an attempt without a result counts as; None: it has none, and is worse than
    any. A mean is rounded to `step`, in the result's unit.
    """

    count: int = 1
    take: Take = Take.BEST
    drop_best: int = 0
    drop_worst: int = 0
    failed: int | None = None
    step: int | None = None
    rounding: Rounding = Rounding.HALF_UP

    def say(self, unit: Unit) -> str:
        """What is made of them, in words."""
        said = f"{_TAKEN[self.take]} of {self.count} attempts"
        dropped = [
            f"the {name}" if number == 1 else f"the {number} {name}"
            for number, name in ((self.drop_best, "best"), (self.drop_worst, "worst"))
            if number
        ]
        if dropped:
            said += f" without {' and '.join(dropped)}"
        if self.failed is not None:
            said += f", a failed one counting as {_amount(self.failed, unit)}"
        return said


def _amount(thousandths: int, unit: Unit) -> str:
    return f"{format_thousandths(thousandths)} {'s' if unit is Unit.SECONDS else 'points'}"


class _Start(Text):
    """An amount, or the id of a given; deserialises to int thousandths or str."""

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        text = super()._deserialize(value, attr, data, **kwargs)
        if _NUMBER.fullmatch(text):
            return amount(text, _LOWEST)
        if NAME.fullmatch(text):
            return text
        raise ValidationError(f"'{text[:60]}' is neither an amount nor the id of a given.")


class TimeTermSchema(Written):
    """Time as points, as it is written."""

    points = Amount(least=1, required=True)
    span = OneOf(Span, data_key="per")
    beyond = Duration()
    under = Duration()

    @validates_schema(skip_on_field_errors=True)
    def _says_one_thing(self, data: Mapping[str, Any], **_: Any) -> None:
        if "beyond" in data and "under" in data:
            raise ValidationError(
                "Time costs points beyond a time or gives them under one, not both."
            )

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> TimeTerm:
        return TimeTerm(**data)


class PointsSchema(Written):
    """The points section as it is written."""

    start = _Start()
    floor = Amount(least=_LOWEST)
    best = OneOf(Best)
    time = Section(TimeTermSchema)

    @validates_schema(skip_on_field_errors=True)
    def _starts_above_the_floor(self, data: Mapping[str, Any], **_: Any) -> None:
        start = data.get("start", 0)
        if isinstance(start, int) and data.get("floor", start) > start:
            raise ValidationError("The floor lies above the start value.", "floor")

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> Points:
        return Points(**data)


class _Mark(Text):
    """Points, or a share with its sign; deserialises to `PassMark`."""

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        text = super()._deserialize(value, attr, data, **kwargs)
        share = _SHARE.fullmatch(text)
        try:
            made = PassMark(amount(share[1] if share else text, most=WHOLE if share else 10**8))
        except ValidationError as error:
            raise ValidationError(
                f"'{text[:60]}' is no pass mark; write points, or a share from 0 % to 100 %."
            ) from error
        return PassMark(made.amount, share=True) if share else made


class AssessmentSchema(Written):
    """The assessment section as it is written."""

    mark = _Mark(data_key="pass")
    must = Several(Name(), distinct=True)
    again = OneOf(Again)

    @validates_schema(skip_on_field_errors=True)
    def _says_what_is_met(self, data: Mapping[str, Any], **_: Any) -> None:
        if "mark" not in data and "must" not in data:
            raise ValidationError("An assessment says what to reach: 'pass', 'must' or both.")

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> Assessment:
        return Assessment(**data)


class AttemptsSchema(Written):
    """The attempts section as it is written."""

    count = Whole(2, _MOST_ATTEMPTS, required=True)
    take = OneOf(Take)
    drop_best = Whole(1, _MOST_ATTEMPTS, data_key="drop-best")
    drop_worst = Whole(1, _MOST_ATTEMPTS, data_key="drop-worst")
    failed = Amount(least=_LOWEST)
    step = Amount(least=1, data_key="to")
    rounding = OneOf(Rounding, data_key="round")

    @validates_schema(skip_on_field_errors=True)
    def _fits_together(self, data: Mapping[str, Any], **_: Any) -> None:
        take = data.get("take", Take.BEST)
        adds = take in {Take.SUM, Take.MEAN}
        for key in ("drop_best", "drop_worst"):
            if key in data and not adds:
                raise ValidationError(
                    f"Dropping has a meaning only beside 'take: {Take.SUM}' and "
                    f"'take: {Take.MEAN}'.",
                    key.replace("_", "-"),
                )
        if data.get("drop_best", 0) + data.get("drop_worst", 0) >= data["count"]:
            raise ValidationError("Nothing is left of the attempts; drop fewer.")
        for key, name in (("step", "to"), ("rounding", "round")):
            if key in data and take is not Take.MEAN:
                raise ValidationError(f"Only a mean is rounded; '{name}' has no meaning.", name)
        if take is Take.MIDDLE and data["count"] % 2 == 0:
            raise ValidationError("An even number of attempts has no middle one.", "take")

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> Attempts:
        return Attempts(**data)
