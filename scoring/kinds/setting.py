"""A setting: a tool or device set to a value before the start, within so many tries."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, ClassVar

from marshmallow import ValidationError, post_load

from scoring.entries import Entry, Observation, Value
from scoring.errors import UnitError
from scoring.fields import Name, Text, Whole
from scoring.fold import Run
from scoring.ids import PersonId
from scoring.kinds.base import (
    Control,
    Doubt,
    Failure,
    Fault,
    Path,
    Question,
    Rule,
    RuleSchema,
    Terms,
    enough,
    failure_id,
)
from scoring.kinds.valued import Line, QuantityField, Valued, WithinField, doubted, quote
from scoring.units import Quantity, Unit, parse_unit, read_written, say


class SettingSchema(RuleSchema):
    """A setting as it is written."""

    id = Name(required=True, data_key="setting")
    text = Text(required=True)
    value = QuantityField(required=True)
    within = WithinField(required=True)
    tries = Whole(1, 9)

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> Rule:
        """It is read in the unit of its value."""
        unit = data["value"].unit
        if unit is None:
            raise ValidationError("This has no unit; write it like '50 lbf·ft'.", "value")
        return Setting(**data, number=unit.text)


@dataclass(frozen=True, slots=True)
class _Try:
    """What a judge read, and by how much it lay outside; `place` is one of its last place."""

    entry: Entry
    text: str
    miss: Fraction
    place: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting(Valued):
    """A judge reads what the tool is set to, each try an entry; good on one of `tries` is good.

    Out of tolerance on the last try it is a finding, and the judge sets the value. What is read
    after that is no try, and neither is what is no amount in the unit.
    """

    kind: ClassVar[str] = "setting"
    schema: ClassVar[type[RuleSchema]] = SettingSchema

    value: Quantity
    tries: int = 1

    @property
    def control(self) -> Control:
        """Keys."""
        return Control.VALUE

    def shown(self) -> Mapping[str, Any]:
        """The unit, how many tries, what is wanted, and its ends as exact fractions in the unit."""
        unit = parse_unit(self.number)
        low, high = self._ends(unit)
        return {
            "unit": unit.text,
            "tries": self.tries,
            "wanted": self._wanted(),
            "low": f"{low.numerator}/{low.denominator}",
            "high": f"{high.numerator}/{high.denominator}",
        }

    def takes(self, said: Observation) -> bool:
        """What it is set to."""
        return isinstance(said, Value) and not said.item

    def problems(self, terms: Terms) -> Iterator[tuple[Path, str]]:  # noqa: ARG002 - it needs none
        """A tolerance in another kind of unit."""
        yield from self.limit_problems(parse_unit(self.number))

    def says(self, terms: Terms) -> Iterator[str]:  # noqa: ARG002 - it needs none
        """What it must be set to."""
        tries = "on the first try" if self.tries == 1 else f"within {self.tries} tries"
        yield f"It must be set to {self._wanted()} {tries}."

    def questions(self, run: Run) -> Iterator[Question]:
        """Whether any judge has read it until it was good, or as often as there are tries."""
        if not any(self._over(tries) for tries in self._tries(run).values()):
            yield Question(self.id, unseen=bool(self.posts) and run.closed.issuperset(self.posts))

    def failures(self, run: Run, terms: Terms) -> Iterator[Failure]:
        """One finding where no try was good."""
        judges = [tries for tries in self._tries(run).values() if self._over(tries)]
        failing = [tries for tries in judges if tries[-1].miss > 0]
        if not failing:
            return
        last = failing[0][-1]
        doubts = doubted(len(failing), len(judges), len(self.posts), differ=False)
        seen_by = terms.categories[self.costs].seen_by
        counts = enough(len(failing), max(len(judges), len(self.posts)), seen_by)
        read = ", then ".join(quote(each.text) for each in failing[0])
        unit = parse_unit(self.number)
        yield Failure(
            id=failure_id(self.id),
            rule=self.id,
            fault=Fault.OUT_OF_TOLERANCE,
            costs=self.costs,
            at=last.entry.at,
            stands_on=tuple(
                entry.id
                for entry in sorted(
                    (each.entry for tries in judges for each in tries),
                    key=lambda entry: entry.when,
                )
            ),
            proposed=not counts or len(failing) < len(judges),
            doubts=(*doubts, Doubt.CLOSE) if 2 * last.miss <= last.place else doubts,
            detail=f"{read}, {say(last.miss, unit.text)} outside {self._wanted()}; "
            "value set by the judge",
        )

    def amounts(self, run: Run, terms: Terms) -> Mapping[str, tuple[Fraction | None, list[Entry]]]:
        """Nothing is computed of a setting."""
        raise NotImplementedError

    def lines(self, run: Run, terms: Terms) -> Iterator[Line]:  # noqa: ARG002 - it needs none
        """What was read, try by try."""
        by_judge = [*self._tries(run).values()]
        read = dict.fromkeys(", then ".join(each.text for each in tries) for tries in by_judge)
        judged = dict.fromkeys(self._verdict(tries) for tries in by_judge)
        yield Line("", "; ".join(read) or "not keyed in", self._wanted(), "; ".join(judged))

    def _verdict(self, tries: Sequence[_Try]) -> str:
        if not self._over(tries):
            return f"{len(tries)} of {self.tries} tries"
        return "good" if tries[-1].miss <= 0 else f"{Fault.OUT_OF_TOLERANCE}, set by the judge"

    def _wanted(self) -> str:
        unit = parse_unit(self.number)
        return self.near(unit, self.value.into(unit))

    def _ends(self, unit: Unit) -> tuple[Fraction, Fraction]:
        """The least and the most that is good."""
        right = self.value.into(unit)
        return self.within.around(right, unit) if self.within is not None else (right, right)

    def _over(self, tries: Sequence[_Try]) -> bool:
        """Whether a judge has no more to read."""
        return len(tries) == self.tries or tries[-1].miss <= 0

    def _tries(self, run: Run) -> Mapping[PersonId, list[_Try]]:
        """What each judge read, in order of time, until it was good or there were no more tries."""
        unit = parse_unit(self.number)
        right = self.value.into(unit)
        tries: dict[PersonId, list[_Try]] = {}
        for entry in run.seen.get(self.id, ()):
            earlier = tries.get(entry.by, [])
            if isinstance(entry.what, Value) and not (earlier and self._over(earlier)):
                read = self._read(entry, entry.what, right)
                if read is not None:
                    tries[entry.by] = [*earlier, read]
        return tries

    def _read(self, entry: Entry, said: Value, right: Fraction) -> _Try | None:
        unit = parse_unit(self.number)
        try:
            ways = read_written(said.value, unit) if said.legible and not said.item else ()
        except UnitError:
            return None
        read = (
            _Try(
                entry,
                said.value.strip(),
                self.outside(way.into(unit), unit, right),
                way.finest(unit),
            )
            for way in ways
        )
        return min(read, key=lambda each: each.miss, default=None)


SettingSchema.makes = Setting
