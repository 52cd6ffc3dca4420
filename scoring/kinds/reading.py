"""A reading: what the crew writes on the check sheet, held against the bay's or run's reference."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any, ClassVar, Final, Self

from marshmallow import ValidationError, post_load, validates_schema

from scoring.dates import DateForm
from scoring.entries import Entry, Observation, Value
from scoring.errors import UnitError
from scoring.fields import Name, OneOf, Several, Text
from scoring.fold import EMPTY, Run
from scoring.ids import CategoryId, RuleId
from scoring.kinds.base import (
    Control,
    Doubt,
    Failure,
    Fault,
    Path,
    Priced,
    Question,
    Rule,
    RuleSchema,
    Terms,
    enough,
    failure_id,
)
from scoring.kinds.blank import Blank, Form, Judged, Open, meant_in, plain
from scoring.kinds.valued import (
    Limited,
    Line,
    UnitField,
    Valued,
    WithinField,
    doubted,
    keyed,
    misfit,
    quote,
)
from scoring.penalties import Costs
from scoring.units import parse_quantity, parse_unit

_MOST_ITEMS: Final = 60
_FORMS: Final = ("number", "choices", "date", "written")


class ReadingSchema(Limited, RuleSchema):
    """A reading as it is written."""

    id = Name(required=True, data_key="reading")
    text = Text(required=True)
    number = UnitField()
    choices = Several(Text(longest=80), distinct=True)
    date = OneOf(DateForm)
    written = OneOf(Form)
    each = Several(Text(longest=80), distinct=True)
    reference = Text(longest=80)
    computed = Name()
    within = WithinField()
    open = OneOf(Open)
    missing = Costs()
    illegible = Costs()

    @validates_schema(skip_on_field_errors=True)
    def _says_what_is_written(self, data: Mapping[str, Any], **_: Any) -> None:
        said = [key for key in _FORMS if key in data]
        if len(said) != 1:
            raise ValidationError(
                "A reading says exactly one of 'number', 'choices', 'date' and 'written'; "
                f"this one says {' and '.join(said) or 'none of them'}."
            )
        if len(data.get("each", ())) > _MOST_ITEMS:
            raise ValidationError(f"At most {_MOST_ITEMS} items are allowed.", "each")
        limits = [key for key in ("within", "at_least", "at_most", "band") if key in data]
        for key in (*limits, "computed", "open"):
            if key in data and "number" not in data:
                raise ValidationError(
                    f"'{_written(key)}' has a meaning only beside 'number'.", _written(key)
                )
        if data.get("open") is Open.EXPECTED:
            for key in (*limits, "reference", "computed"):
                if key in data:
                    raise ValidationError(
                        "Where an open circuit is expected no number is right; leave this out.",
                        _written(key),
                    )

    @validates_schema(skip_on_field_errors=True)
    def _says_how_near(self, data: Mapping[str, Any], **_: Any) -> None:
        if "reference" in data and "computed" in data:
            raise ValidationError("Give 'reference' or 'computed', not both.", "computed")
        near_to = "reference" in data or "computed" in data
        if "within" in data and not near_to:
            raise ValidationError(
                "'within' says how near to a 'reference' or 'computed', and there is none here.",
                "within",
            )
        if near_to and "number" in data and "within" not in data:
            raise ValidationError("Say with 'within' how near it must be.")

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> Rule:
        """A reference is a value where it reads as one, else the name of a given."""
        reference = data.pop("reference", None)
        return Reading(**data, **({} if reference is None else _reference(reference, data)))


def _written(key: str) -> str:
    return key.replace("_", "-")


def _reference(text: str, data: Mapping[str, Any]) -> dict[str, Any]:
    try:
        if "number" in data:
            return {"reference": parse_quantity(text)}
    except UnitError as error:
        if text[0].isdigit():
            raise ValidationError(str(error), "reference") from error
    if "number" not in data and (meant := meant_in(text, data)) is not None:
        return {"expected": meant}
    try:
        return {"given": Name().deserialize(text)}
    except ValidationError as error:
        raise ValidationError(
            f"{quote(text)} can neither be written here nor be the name of a given.", "reference"
        ) from error


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading(Blank):
    """What the crew writes; a judge keys in what the sheet says, "" where nothing stands there.

    `costs` is for what is wrong. Without the reference of this run it is not judged.
    """

    kind: ClassVar[str] = "reading"
    schema: ClassVar[type[RuleSchema]] = ReadingSchema

    each: tuple[str, ...] = ()
    missing: Priced | None = None
    illegible: Priced | None = None

    @property
    def control(self) -> Control:
        """Keys."""
        return Control.VALUE

    @property
    def items(self) -> tuple[str, ...]:
        """What is read one by one."""
        return self.each or ("",)

    def shown(self) -> Mapping[str, Any]:
        """What is written there. Not what should be: it is copied from the sheet."""
        choices = ("yes", "no") if self.written is Form.YES_NO else self.choices
        return {
            "unit": self.number,
            "choices": list(choices),
            "date": self.date,
            "written": self.written,
        }

    def takes(self, said: Observation) -> bool:
        """What stands on the sheet."""
        return isinstance(said, Value) and said.item in self.items

    def references(self) -> Iterator[tuple[str, RuleId]]:
        """Also what it is computed from."""
        yield from Rule.references(self)
        if self.computed is not None:
            yield "computed", self.computed

    def named_givens(self) -> Iterator[tuple[str, str]]:
        """The given it is held against."""
        if self.given:
            yield "reference", self.given

    def more_costs(self) -> tuple[tuple[Path, Priced], ...]:
        """What it costs where nothing, or nothing legible, is written."""
        more = (("missing", self.missing), ("illegible", self.illegible))
        return tuple(((key,), costs) for key, costs in more if costs is not None)

    def priced(self, costs: Sequence[CategoryId]) -> Self:
        """The rule with those categories by name."""
        named = iter(costs)
        return replace(
            self,
            missing=None if self.missing is None else next(named),
            illegible=None if self.illegible is None else next(named),
        )

    def problems(self, terms: Terms) -> Iterator[tuple[Path, str]]:
        """Units that do not fit, limits nobody can keep, givens of another form."""
        if self.given:
            yield from self._given_problems(terms)
        if not self.number:
            return
        unit = parse_unit(self.number)
        found = [*self.limit_problems(unit)]
        yield from found
        other = terms.rules[self.computed] if self.computed is not None else None
        if other is not None and (other.kind != "derived" or not isinstance(other, Valued)):
            yield ("computed",), f"'{other.id}' is no derived value."
        elif isinstance(other, Valued) and not other.unit(terms).fits(unit):
            yield ("computed",), self._misfit(other.id, other.unit(terms).text)
        if self.reference is None or found:
            return
        if not self.reference.fits(unit):
            yield ("reference",), misfit(self.reference, unit)
        elif self.within is not None:
            centre = self.reference.into(unit)
            way = self.within.reach(centre, centre, unit)
            low, high = centre - way, centre + way
            if (self.least is not None and self.least.into(unit) > high) or (
                self.most is not None and self.most.into(unit) < low
            ):
                limits = replace(self, within=None).allowed(unit, None)
                yield ("reference",), f"No value is {self.near(unit, centre)} and {limits}."

    def _given_problems(self, terms: Terms) -> Iterator[tuple[Path, str]]:
        given, here = terms.givens[self.given], ("reference",)
        if self.number and not given.unit:
            yield here, f"'{self.given}' is no number; give it one with 'number'."
        elif self.number and not parse_unit(given.unit).fits(parse_unit(self.number)):
            yield here, self._misfit(self.given, given.unit)
        elif self.date is not None and given.date is None:
            yield here, f"'{self.given}' is no date; give it a form with 'date'."
        elif self.choices or self.written is Form.YES_NO:
            for choice in given.choices:
                if self.meant(choice) is None:
                    yield here, f"'{self.given}' may be '{choice}', which is no choice here."
            if not given.choices:
                yield here, f"'{self.given}' has no choices; give it some with 'choices'."

    def _misfit(self, other: str, unit: str) -> str:
        return f"Units do not fit: '{other}' is in {unit}, '{self.id}' in {self.number}."

    def says(self, terms: Terms) -> Iterator[str]:
        """What must stand there."""
        source = f"'{self.given}', as it is given for the run" if self.given else self.computed
        if source is not None:
            near = f"within {self.within} of " if self.within is not None else ""
            yield f"What is right is {near}{source}."
        known = replace(self, given="", within=None if source is not None else self.within)
        if wanted := known.wanted(known.right(EMPTY, terms), terms):
            yield f"It must be {wanted}."

    def questions(self, run: Run) -> Iterator[Question]:
        """What nobody has keyed in, and what cannot be judged before its given is known."""
        for item in self.items:
            if not keyed(run, self.id, item):
                yield Question(
                    self.id, item, unseen=bool(self.posts) and run.closed.issuperset(self.posts)
                )
            elif self.given and not self.readable(run.givens.get(self.given, "")):
                yield Question(self.id, item, unseen=True)

    def failures(self, run: Run, terms: Terms) -> Iterator[Failure]:
        """One finding for each item that is wrong, missing or illegible."""
        unseen = {each.item for each in self.questions(run) if each.unseen and terms.unseen_fails}
        for item in self.items:
            words = keyed(run, self.id, item)
            if words:
                yield from self._failure(item, self._judged(words, run, terms), terms)
            elif item in unseen:
                yield Failure(
                    id=failure_id(self.id, item),
                    rule=self.id,
                    fault=Fault.NOT_WRITTEN,
                    costs=self._cost_of(Fault.NOT_WRITTEN),
                    item=item,
                    doubts=(Doubt.UNSEEN,),
                )

    def _failure(
        self, item: str, judged: list[tuple[Entry, Judged]], terms: Terms
    ) -> Iterator[Failure]:
        failing = [each for each in judged if each[1].fault is not None]
        if not failing:
            return
        first, worst = failing[0]
        if worst.fault is None:
            return
        seen_by = terms.categories[self.costs].seen_by
        posts = len(self.posts)
        doubts = doubted(len(failing), len(judged), posts, differ=self._differ(judged))
        counts = enough(len(failing), max(len(judged), posts), seen_by)
        yield Failure(
            id=failure_id(self.id, item),
            rule=self.id,
            fault=worst.fault,
            costs=self._cost_of(worst.fault),
            item=item,
            at=first.at,
            stands_on=tuple(entry.id for entry, _ in judged),
            proposed=not counts or len(failing) < len(judged) or worst.proposed,
            doubts=(*doubts, Doubt.CLOSE) if worst.close else doubts,
            detail=worst.says,
        )

    def _cost_of(self, fault: Fault) -> CategoryId:
        own = {Fault.NOT_WRITTEN: self.missing, Fault.ILLEGIBLE: self.illegible}.get(fault)
        return CategoryId(own) if isinstance(own, str) else self.costs

    def _differ(self, judged: list[tuple[Entry, Judged]]) -> bool:
        """Whether judges read different things there; how each wrote it down does not matter."""
        said = set()
        for entry, _ in judged:
            what = entry.what
            if isinstance(what, Value):
                ways = self.ways(what.value)
                said.add((what.legible, ways or self.meant(what.value) or plain(what.value)))
        return len(said) > 1

    def _judged(self, words: list[Entry], run: Run, terms: Terms) -> list[tuple[Entry, Judged]]:
        reference = self.right(run, terms)
        return [
            (entry, self.judge(entry.what, reference, terms))
            for entry in words
            if isinstance(entry.what, Value)
        ]

    def amounts(self, run: Run, terms: Terms) -> Mapping[str, tuple[Fraction | None, list[Entry]]]:
        """Each item's number, as the first judge to speak of it keyed it in last."""
        found: dict[str, tuple[Fraction | None, list[Entry]]] = {}
        # What is computed may be computed of this very reading.
        right = None if self.computed is not None else self.right(run, terms)
        for item in self.items:
            words = keyed(run, self.id, item)
            what = words[0].what if words else None
            ways = self.ways(what.value) if isinstance(what, Value) and what.legible else ()
            nearest = min(
                ways, key=lambda way: self._outside(way[0], right, terms), default=(None, None)
            )
            found[item] = nearest[0], words
        return found

    def _outside(self, value: Fraction, right: Fraction | str | None, terms: Terms) -> Fraction:
        reference = right if isinstance(right, Fraction) else None
        return self.outside(value, self.unit(terms), reference)

    def lines(self, run: Run, terms: Terms) -> Iterator[Line]:
        """Each item: what was written, what should have been, and how it was judged."""
        right = self.right(run, terms)
        wanted = self.wanted(right, terms)
        for item in self.items:
            judged = self._judged(keyed(run, self.id, item), run, terms)
            written = [_shown(entry.what) for entry, _ in judged if isinstance(entry.what, Value)]
            verdicts = [_verdict(each) for _, each in judged]
            yield Line(
                item,
                "; ".join(dict.fromkeys(written)) or "not keyed in",
                wanted,
                "; ".join(dict.fromkeys(verdicts)),
            )


def _shown(what: Value) -> str:
    if not what.legible:
        return f"illegible: {what.value}" if what.value else "illegible"
    return what.value or "nothing"


def _verdict(judged: Judged) -> str:
    if judged.fault is None:
        return "good" if judged.known else "not judged"
    return f"{judged.fault}: {judged.says}" if judged.says else str(judged.fault)


ReadingSchema.makes = Reading
