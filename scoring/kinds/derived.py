"""A derived value: computed exactly of what the crew wrote, shown, and held against limits."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import ClassVar, Final

from scoring.entries import Entry, Observation
from scoring.fields import Name, OneOf, Several, Text
from scoring.fold import Run
from scoring.ids import RuleId
from scoring.kinds.base import (
    Control,
    Failure,
    Fault,
    Path,
    Rule,
    RuleSchema,
    Terms,
    failure_id,
)
from scoring.kinds.valued import Limited, Line, Valued
from scoring.units import Unit, parse_unit, say


class Formula(StrEnum):
    """What is computed of several readings."""

    UNBALANCE = "unbalance"
    MEAN = "mean"
    SPREAD = "spread"
    RATIO = "ratio"


def unbalance(values: Sequence[Fraction]) -> Fraction | None:
    """The unbalance of phases in percent, after NEMA MG 1: 100 × max|value - mean| / mean.

    None where the mean is nothing.
    """
    middle = Fraction(sum(values), len(values))
    if not middle:
        return None
    return 100 * max(abs(value - middle) for value in values) / Fraction(middle)


def _mean(values: Sequence[Fraction]) -> Fraction | None:
    return Fraction(sum(values), len(values))


def _spread(values: Sequence[Fraction]) -> Fraction | None:
    return max(values) - min(values)


def _ratio(values: Sequence[Fraction]) -> Fraction | None:
    one, other = values
    return one / Fraction(other) if other else None


_FORMULAS: Final[Mapping[Formula, Callable[[Sequence[Fraction]], Fraction | None]]] = {
    Formula.UNBALANCE: unbalance,
    Formula.MEAN: _mean,
    Formula.SPREAD: _spread,
    Formula.RATIO: _ratio,
}
#: The unit of what has one of its own; the rest is in that of the first reading.
_OWN_UNIT: Final = {Formula.UNBALANCE: "%", Formula.RATIO: "1"}
_PAIR: Final = 2


class DerivedSchema(Limited, RuleSchema):
    """A derived value as it is written."""

    id = Name(required=True, data_key="derived")
    text = Text(required=True)
    value = OneOf(Formula, required=True)
    of = Several(Name(), required=True, distinct=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Derived(Valued):
    """The `value` of all items of the readings named in `of`; out of its limits it is one finding.

    Where one of them is no number it is not known, and nothing is found.
    """

    kind: ClassVar[str] = "derived"
    schema: ClassVar[type[RuleSchema]] = DerivedSchema

    value: Formula
    of: tuple[RuleId, ...]

    @property
    def control(self) -> Control:
        """Nothing to key in: it is computed."""
        return Control.COMPUTED

    @property
    def asked(self) -> bool:
        """Never: its readings answer it."""
        return False

    @property
    def costed(self) -> bool:
        """Only where it has limits."""
        return self.least is not None or self.most is not None

    def takes(self, said: Observation) -> bool:  # noqa: ARG002 - whatever it is
        """Nothing."""
        return False

    def references(self) -> Iterator[tuple[str, RuleId]]:
        """Also its readings."""
        yield from Rule.references(self)
        for rule in self.of:
            yield "of", rule

    def unit(self, terms: Terms) -> Unit:
        """Percent, a plain number, or that of the first reading."""
        own = _OWN_UNIT.get(self.value)
        return parse_unit(own) if own is not None else self._first(terms)

    def _first(self, terms: Terms) -> Unit:
        return _unit(terms.rules[self.of[0]], terms)

    def problems(self, terms: Terms) -> Iterator[tuple[Path, str]]:
        """Too few readings, units that do not fit, limits nobody can keep."""
        readings = [terms.rules[rule] for rule in self.of]
        strays = [rule for rule in readings if not _is_reading(rule)]
        for rule in strays:
            yield ("of",), f"'{rule.id}' is no reading of a number."
        if strays:
            return
        number = sum(len(rule.items) for rule in readings)
        if number < _PAIR:
            yield ("of",), f"The {self.value} of one value says nothing; name two or more."
        if self.value is Formula.RATIO and number > _PAIR:
            yield ("of",), f"A ratio is of two values; these are {number}."
        first = self._first(terms)
        misfits = [rule for rule in readings[1:] if not _unit(rule, terms).fits(first)]
        for rule in misfits:
            units = f"'{self.of[0]}' is in {first.text}, '{rule.id}' in {_unit(rule, terms).text}"
            yield ("of",), f"Units do not fit: {units}."
        if self.value in _OWN_UNIT and first.shifted:
            yield ("value",), f"The {self.value} of {first.text} depends on where its scale begins."
        if not misfits:
            yield from self.limit_problems(self.unit(terms))

    def says(self, terms: Terms) -> Iterator[str]:
        """What it is computed of, and its limits."""
        yield f"It is the {self.value} of {', '.join(self.of)}; nobody keys it in."
        if allowed := self.allowed(self.unit(terms), None):
            yield f"It must be {allowed}."

    def amounts(self, run: Run, terms: Terms) -> Mapping[str, tuple[Fraction | None, list[Entry]]]:
        """Its one value, and the entries of all its readings."""
        values: list[Fraction] = []
        stands_on: list[Entry] = []
        known = True
        first = self._first(terms)
        for name in self.of:
            rule = terms.rules[name]
            if isinstance(rule, Valued):
                unit = rule.unit(terms)
                for amount, entries in rule.amounts(run, terms).values():
                    stands_on += entries
                    if amount is None:
                        known = False
                    else:
                        values.append(
                            (amount * unit.size + unit.zero - first.zero) / Fraction(first.size)
                        )
        amount = _FORMULAS[self.value](values) if known else None
        return {"": (amount, sorted(stands_on, key=lambda entry: entry.when))}

    def failures(self, run: Run, terms: Terms) -> Iterator[Failure]:
        """One finding where it lies outside its limits."""
        amount, entries = self.amounts(run, terms)[""]
        if amount is None or (miss := self._outside(amount, terms)) <= 0:
            return
        unit = self.unit(terms)
        yield Failure(
            id=failure_id(self.id),
            rule=self.id,
            fault=Fault.OUT_OF_TOLERANCE,
            costs=self.costs,
            stands_on=tuple(entry.id for entry in entries),
            detail=f"{say(amount, unit.text)}, {say(miss, unit.text)} outside "
            f"{self.allowed(unit, None)}",
        )

    def _outside(self, amount: Fraction, terms: Terms) -> Fraction:
        return self.outside(amount, self.unit(terms), None, apart=self.value is Formula.SPREAD)

    def lines(self, run: Run, terms: Terms) -> Iterator[Line]:
        """What was computed."""
        amount, _ = self.amounts(run, terms)[""]
        unit = self.unit(terms)
        if amount is None:
            yield Line("", "not known", self.allowed(unit, None), "not judged")
            return
        miss = self._outside(amount, terms)
        judged = f"{Fault.OUT_OF_TOLERANCE}: by {say(miss, unit.text)}" if miss > 0 else "good"
        yield Line("", f"computed: {say(amount, unit.text)}", self.allowed(unit, None), judged)


def _is_reading(rule: Rule) -> bool:
    return rule.kind == "reading" and isinstance(rule, Valued) and bool(rule.number)


def _unit(rule: Rule, terms: Terms) -> Unit:
    return rule.unit(terms) if isinstance(rule, Valued) else parse_unit("1")


DerivedSchema.makes = Derived
