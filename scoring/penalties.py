"""What a kind of failure costs: the penalty categories of a rulebook.

Amounts are thousandths of the result's unit: a category in seconds holds milliseconds.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, ClassVar, Final

from marshmallow import ValidationError, fields, post_load, validates_schema

from scoring.durations import format_seconds, format_thousandths
from scoring.fields import (
    MISSING,
    Amount,
    Name,
    OneOf,
    Several,
    Text,
    Written,
    YesNo,
    amount,
    nearest,
)
from scoring.ids import CategoryId


class Unit(StrEnum):
    """What a category costs in."""

    SECONDS = "seconds"
    POINTS = "points"


class Per(StrEnum):
    """What a category's amount is charged for."""

    OCCURRENCE = "occurrence"
    ITEM = "item"
    PERSON = "person"
    SECOND = "second"
    MINUTE = "minute"
    CENTIMETRE = "centimetre"


#: What is said of a limit whose category charges for anything else.
CHARGED_BY_TIME: Final = "Going over a limit is charged per occurrence, second or minute."


#: How a step of a ladder is called that costs nothing.
WARNING: Final = "a warning"


class Scope(StrEnum):
    """How far a ladder or a cap reaches within a run."""

    RULE = "rule"
    CATEGORY = "category"


class SeenBy(StrEnum):
    """How many of the judges who watch a rule must have seen a failure for it to count."""

    ANY = "any"
    MAJORITY = "majority"
    ALL = "all"


@dataclass(frozen=True, slots=True)
class Rung:
    """What one breach costs at its place on the ladder: an amount, or the end of the run's rank."""

    amount: int = 0
    disqualifies: bool = False


@dataclass(frozen=True, slots=True)
class Category:
    """A penalty category. `rungs` has one rung for each breach in time order; the last repeats."""

    id: CategoryId
    unit: Unit
    rungs: tuple[Rung, ...]
    per: Per = Per.OCCURRENCE
    ladder: Scope = Scope.CATEGORY
    cap: int | None = None
    cap_of: Scope = Scope.CATEGORY
    severity: str = ""
    seen_by: SeenBy = SeenBy.ANY
    title: str = ""

    def rung(self, nth: int) -> Rung:
        """The rung of the n-th breach, the first being 1."""
        return self.rungs[min(nth, len(self.rungs)) - 1]

    def times(self, count: int) -> int:
        """How many times the amount is charged for a failure of `count` occurrences."""
        return 1 if self.per is Per.OCCURRENCE else count

    def begun(self, ms: int) -> int:
        """For how many seconds or minutes so many milliseconds are charged: each that was begun."""
        unit = {Per.SECOND: 1_000, Per.MINUTE: 60_000}.get(self.per)
        return 1 if unit is None else -(-ms // unit)

    @property
    def fits_time(self) -> bool:
        """Whether going over a limit can be charged so."""
        return self.per in {Per.OCCURRENCE, Per.SECOND, Per.MINUTE}

    def say(self, cost: int) -> str:
        """An amount of this category in words."""
        return (
            format_seconds(cost)
            if self.unit is Unit.SECONDS
            else f"{format_thousandths(cost)} points"
        )

    def __str__(self) -> str:
        """The whole category in words, as the briefing reads it."""
        said = [
            "disqualified"
            if rung.disqualifies
            else self.say(rung.amount)
            if rung.amount
            else WARNING
            for rung in self.rungs
        ]
        words = said[0] if self.per is Per.OCCURRENCE else f"{said[0]} per {self.per}"
        if len(said) > 1:
            words += ", then " + ", then ".join(said[1:])
        if self.cap is not None:
            reach = "in all" if self.cap_of is Scope.CATEGORY else "for each rule"
            words += f", at most {self.say(self.cap)} {reach}"
        return words


class _Rung(Text):
    """A step of the ladder: an amount, `warning` or `disqualify`."""

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        text = super()._deserialize(value, attr, data, **kwargs)
        words = {"warning": Rung(), "disqualify": Rung(disqualifies=True)}
        if text in words:
            return words[text]
        try:
            return Rung(amount(text))
        except ValidationError as error:
            near = nearest(text, list(words))
            raise ValidationError(
                f"'{text[:60]}' is no step of a ladder; "
                f"write an amount, warning or disqualify.{near}"
            ) from error


_ONE_OF_THESE: Final = ("seconds", "points", "disqualify")


class CategorySchema(Written):
    """A penalty category as it is written."""

    title = Text()
    seconds = Amount()
    points = Amount()
    disqualify = YesNo()
    per = OneOf(Per)
    then = Several(_Rung())
    ladder = OneOf(Scope)
    cap = Amount(least=1)
    cap_of = OneOf(Scope, data_key="cap-of")
    severity = Name()
    seen_by = OneOf(SeenBy, data_key="seen-by")

    @validates_schema(skip_on_field_errors=True)
    def _says_what_it_costs(self, data: Mapping[str, Any], **_: Any) -> None:
        given = [key for key in _ONE_OF_THESE if key in data]
        if len(given) != 1:
            raise ValidationError(
                "A category says exactly one of seconds, points and 'disqualify: yes'; "
                f"this one says {' and '.join(given) or 'none of them'}."
            )
        if not data.get("disqualify", True):
            raise ValidationError("Write 'disqualify: yes', or seconds or points.", "disqualify")
        if "disqualify" in data and ("then" in data or "cap" in data):
            raise ValidationError(
                "Beside 'disqualify: yes' no ladder and no cap has a meaning.", "disqualify"
            )
        ladder = data.get("then", ())
        if any(rung.disqualifies for rung in ladder[:-1]):
            raise ValidationError(
                "Nothing can follow a disqualification; make it the last step.", "then"
            )
        first = data.get("seconds", data.get("points", 0))
        if "cap" in data and data["cap"] < max([first, *(rung.amount for rung in ladder)]):
            raise ValidationError("The cap lies below the cost of one occurrence.", "cap")

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> Category:
        unit = Unit.POINTS if "points" in data else Unit.SECONDS
        ends = data.pop("disqualify", False)
        first = Rung(disqualifies=True) if ends else Rung(data.pop(str(unit)))
        rungs = (first, *data.pop("then", ()))
        return Category(id=CategoryId(""), unit=unit, rungs=rungs, **data)


class Costs(fields.Field[Any]):
    """The name of a category, or a category written in place; deserialises to str or `Category`."""

    default_error_messages = MISSING
    #: What else may stand there, word for word.
    words: ClassVar[tuple[str, ...]] = ()

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        if value in self.words:
            return value
        if isinstance(value, dict):
            return CategorySchema().load(value)
        return Name().deserialize(value, attr, data, **kwargs)
