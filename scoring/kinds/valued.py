"""What readings, settings and derived values share: a unit, limits, and what judges keyed in."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Final

from marshmallow import ValidationError, validates_schema

from scoring.entries import Entry, Value
from scoring.errors import UnitError
from scoring.fields import Several, Text
from scoring.fold import Run
from scoring.ids import PersonId, RuleId
from scoring.kinds.base import Doubt, Path, Rule, Terms
from scoring.units import Quantity, Unit, parse_quantity, parse_unit, read_written, say

_OF_READING: Final = " of reading"
_PERCENT: Final = "%"
_ENDS: Final = 2
_HUNDRED: Final = 100


@dataclass(frozen=True, slots=True)
class Within:
    """How far a value may lie from its reference: an amount, or a percentage.

    A percentage is of the reference, but where the value itself is in percent; with `of_reading`
    it is of the value read, as ISO 6789 takes the deviation of a torque tool from what the
    reference device shows.
    """

    amount: Quantity
    percent: bool = False
    of_reading: bool = False

    def reach(self, value: Fraction, reference: Fraction, unit: Unit) -> Fraction:
        """How far that is for a value, in the unit."""
        if not self.percent or _in_percent(unit):
            return self.amount.apart(unit)
        whole = abs(value if self.of_reading else reference)
        return self.amount.amount * whole / Fraction(_HUNDRED)

    def around(self, reference: Fraction, unit: Unit) -> tuple[Fraction, Fraction]:
        """The least and the most value within reach of a reference, in the unit."""
        if not self.of_reading or _in_percent(unit):
            way = self.reach(reference, reference, unit)
            return reference - way, reference + way
        share = self.amount.amount / Fraction(_HUNDRED)
        one, other = (reference * Fraction(1, 1 + side) for side in (share, -share))
        return min(one, other), max(one, other)

    def __str__(self) -> str:
        """As it is read aloud."""
        said = _said(self.amount)
        return f"{said}{_OF_READING}" if self.of_reading else said


def _in_percent(unit: Unit) -> bool:
    percent = parse_unit(_PERCENT)
    return unit.fits(percent) and unit.size == percent.size


class WithinField(Text):
    """A tolerance: `5 V`, `2 %` or `4 % of reading`; deserialises to `Within`."""

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        text = super()._deserialize(value, attr, data, **kwargs)
        of_reading = text.endswith(_OF_READING)
        amount = _quantity(text.removesuffix(_OF_READING))
        percent = amount.unit is not None and amount.unit.fits(parse_unit(_PERCENT))
        if amount.amount < 0:
            raise ValidationError(f"'{text[:60]}' is less than nothing; write 0 or more.")
        if percent and amount.amount >= _HUNDRED:
            raise ValidationError(f"'{text[:60]}' lets anything pass; write less than 100 %.")
        if of_reading and not percent:
            raise ValidationError("Only a percentage can be 'of reading'.")
        return Within(amount, percent, of_reading)


class QuantityField(Text):
    """An amount, with a unit or in the rule's own; deserialises to `Quantity`."""

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        return _quantity(super()._deserialize(value, attr, data, **kwargs))


class UnitField(Text):
    """A unit; deserialises to its text, as written."""

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        text = super()._deserialize(value, attr, data, **kwargs)
        try:
            return parse_unit(text).text
        except UnitError as error:
            raise ValidationError(str(error)) from error


def _quantity(text: str) -> Quantity:
    try:
        return parse_quantity(text)
    except UnitError as error:
        raise ValidationError(str(error)) from error


class Limited:
    """The keys of limits, for the schemas of the kinds that have them."""

    at_least = QuantityField(data_key="at-least")
    at_most = QuantityField(data_key="at-most")
    band = Several(QuantityField())

    @validates_schema(skip_on_field_errors=True)
    def _limits_one_way(self, data: Mapping[str, Any], **_: Any) -> None:
        if "band" in data and ("at_least" in data or "at_most" in data):
            raise ValidationError("Give 'band', or 'at-least' and 'at-most', not both.", "band")
        if "band" in data and len(data["band"]) != _ENDS:
            raise ValidationError("A band has two ends; write it like [390 V, 410 V].", "band")


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the check sheet beside its reference, in words."""

    item: str
    written: str
    wanted: str
    judged: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Valued(Rule):
    """A rule about a value. `number` is its unit, "" where it is no number."""

    number: str = ""
    within: Within | None = None
    at_least: Quantity | None = None
    at_most: Quantity | None = None
    band: tuple[Quantity, ...] = ()

    def unit(self, terms: Terms) -> Unit:  # noqa: ARG002 - a derived value's depends on its readings
        """The unit in which it is judged."""
        return parse_unit(self.number)

    def amounts(self, run: Run, terms: Terms) -> Mapping[str, tuple[Fraction | None, list[Entry]]]:
        """The number of each item, in the rule's unit, with the entries it stands on.

        None where there is no number: not written, not legible, an open circuit.
        """
        raise NotImplementedError

    def lines(self, run: Run, terms: Terms) -> Iterator[Line]:
        """What stands on the check sheet, and how it was judged."""
        raise NotImplementedError

    @property
    def least(self) -> Quantity | None:
        """The least that is allowed, if anything."""
        return self.band[0] if self.band else self.at_least

    @property
    def most(self) -> Quantity | None:
        """The most that is allowed, if anything."""
        return self.band[-1] if self.band else self.at_most

    def outside(
        self, value: Fraction, unit: Unit, reference: Fraction | None, *, apart: bool = False
    ) -> Fraction:
        """By how much a value lies outside what is allowed, in the unit; not above 0: it is inside.

        `apart`: the value is a difference, and so are its limits.
        """
        misses = [Fraction(0)]
        if self.within is not None and reference is not None:
            misses.append(abs(value - reference) - self.within.reach(value, reference, unit))
        if self.least is not None:
            misses.append(_in(self.least, unit, apart=apart) - value)
        if self.most is not None:
            misses.append(value - _in(self.most, unit, apart=apart))
        return max(misses)

    def allowed(self, unit: Unit, reference: Fraction | None) -> str:
        """What is allowed, in words; nothing where any number is."""
        said = [self.near(unit, reference)] if reference is not None else []
        if self.band:
            said.append(f"{_said(self.band[0], unit)} to {_said(self.band[1], unit)}")
        if self.at_least is not None:
            said.append(f"at least {_said(self.at_least, unit)}")
        if self.at_most is not None:
            said.append(f"at most {_said(self.at_most, unit)}")
        return ", ".join(filter(None, said))

    def near(self, unit: Unit, reference: Fraction) -> str:
        """How near to a reference it must be, in words; nothing where that is free."""
        return "" if self.within is None else f"{say(reference, unit.text)} ± {self.within}"

    def limit_problems(self, unit: Unit) -> Iterator[tuple[Path, str]]:
        """What cannot be, or cannot be met, about the limits in a unit."""
        within = self.within
        if within is not None and within.percent and unit.shifted:
            says = f"A percentage of {unit.text} depends on where its scale begins"
            yield ("within",), f"{says}; write how many {unit.text} it may be."
        limits: list[tuple[Path, Quantity | None]] = [
            (("at-least",), self.at_least),
            (("at-most",), self.at_most),
            *((("band", n), end) for n, end in enumerate(self.band)),
            (("within",), within.amount if within is not None and not within.percent else None),
        ]
        misfits = [
            (path, misfit(limit, unit))
            for path, limit in limits
            if limit is not None and not limit.fits(unit)
        ]
        yield from misfits
        if misfits or self.least is None or self.most is None:
            return
        if self.least.into(unit) > self.most.into(unit):
            path: Path = ("band",) if self.band else ("at-most",)
            low, high = _said(self.least, unit), _said(self.most, unit)
            yield path, f"No value is at least {low} and at most {high}; the lesser comes first."


def misfit(quantity: Quantity, unit: Unit) -> str:
    """That an amount is in the wrong kind of unit, in words."""
    return f"Units do not fit: {_said(quantity)} is no value in {unit.text}."


def _in(quantity: Quantity, unit: Unit, *, apart: bool) -> Fraction:
    return quantity.apart(unit) if apart else quantity.into(unit)


def _said(quantity: Quantity, unit: Unit | None = None) -> str:
    meant = quantity.unit or unit
    return say(quantity.amount, meant.text if meant is not None else "")


def given_number(name: str, run: Run, terms: Terms, unit: Unit) -> Fraction | None:
    """A given's number in a unit; None where it is not given for the run, or no such number."""
    written, meant = run.givens.get(name), terms.givens.get(name)
    if written is None or meant is None or not meant.unit:
        return None
    try:
        ways = read_written(written, parse_unit(meant.unit))
    except UnitError:
        return None
    own = Quantity(ways[0].amount, ways[0].unit or parse_unit(meant.unit))
    return own.into(unit) if len(ways) == 1 and own.fits(unit) else None


def quote(text: str) -> str:
    """A text as it stands on the sheet, no longer than a person reads."""
    return f"'{text.strip()[:60]}'"


def keyed(run: Run, rule: RuleId, item: str) -> list[Entry]:
    """Each judge's latest word on what stands there, in order of time."""
    words: dict[PersonId, Entry] = {}
    for entry in run.seen.get(rule, ()):
        if isinstance(entry.what, Value) and entry.what.item == item:
            words.pop(entry.by, None)
            words[entry.by] = entry
    return list(words.values())


def doubted(failing: int, words: int, posts: int, *, differ: bool) -> tuple[Doubt, ...]:
    """What makes the judges' words on one value doubtful."""
    doubts = [Doubt.CONTESTED] if differ or failing < words else []
    if failing == 1 and posts > 1:
        doubts.append(Doubt.UNCORROBORATED)
    return tuple(doubts)
