"""A reading: what the crew writes on the check sheet, held against the bay's or run's reference."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction
from typing import Any, ClassVar, Final, Self

from marshmallow import ValidationError, post_load, validates_schema

from scoring.dates import DateForm, parse_date
from scoring.entries import Entry, Observation, Value
from scoring.errors import UnitError
from scoring.fields import Name, OneOf, Several, Text
from scoring.fold import Run
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
from scoring.kinds.valued import (
    Limited,
    Line,
    UnitField,
    Valued,
    WithinField,
    doubted,
    given_number,
    keyed,
    misfit,
    quote,
)
from scoring.penalties import Costs
from scoring.units import Quantity, is_open, parse_quantity, parse_unit, read_written, say

_MOST_ITEMS: Final = 60
_FORMS: Final = ("number", "choices", "date", "written")


class Form(StrEnum):
    """What else than a number, a choice or a date is written."""

    YES_NO = "yes-no"
    INITIALS = "initials"
    SIGNATURE = "signature"
    TEXT = "text"


class Open(StrEnum):
    """What it means where an open circuit is written."""

    FAIL = "fail"
    GOOD = "good"
    EXPECTED = "expected"


@dataclass(frozen=True, slots=True)
class Judged:
    """What is wrong with something written, if anything.

    `known` is False where there is nothing to hold it against. `close`: the last place written
    could make the difference. `proposed`: a person should look at what was written.
    """

    fault: Fault | None = None
    says: str = ""
    known: bool = True
    close: bool = False
    proposed: bool = False


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
    if "number" not in data and (meant := _meant(text, data)) is not None:
        return {"expected": meant}
    try:
        return {"given": Name().deserialize(text)}
    except ValidationError as error:
        raise ValidationError(
            f"{quote(text)} can neither be written here nor be the name of a given.", "reference"
        ) from error


def _meant(text: str, data: Mapping[str, Any]) -> str | None:
    """A choice, a yes or no, or a date in one spelling; None where it is no such thing."""
    if "date" in data:
        return parse_date(text, data["date"])
    choices = ("yes", "no") if data.get("written") is Form.YES_NO else data.get("choices", ())
    return next((choice for choice in choices if _same(choice, text)), None)


def _same(one: str, other: str) -> bool:
    return _plain(one) == _plain(other)


def _plain(text: str) -> str:
    return " ".join(text.split()).casefold()


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading(Valued):
    """What the crew writes; a judge keys in what the sheet says, "" where nothing stands there.

    `costs` is for what is wrong. A number is held against its reference (a literal, a given of
    this run, or what is `computed` of other readings) and its limits; anything else against what
    is `expected`, or only against its form. Without the reference of this run it is not judged.
    """

    kind: ClassVar[str] = "reading"
    schema: ClassVar[type[RuleSchema]] = ReadingSchema

    choices: tuple[str, ...] = ()
    date: DateForm | None = None
    written: Form | None = None
    each: tuple[str, ...] = ()
    reference: Quantity | None = None
    expected: str = ""
    given: str = ""
    computed: RuleId | None = None
    open: Open = Open.FAIL
    missing: Priced | None = None
    illegible: Priced | None = None

    @property
    def control(self) -> Control:
        """Keys."""
        return Control.VALUE

    @property
    def is_free(self) -> bool:
        """Whether any text may be written."""
        return self.written in {Form.SIGNATURE, Form.TEXT}

    @property
    def items(self) -> tuple[str, ...]:
        """What is read one by one."""
        return self.each or ("",)

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
                if self._meant(choice) is None:
                    yield here, f"'{self.given}' may be '{choice}', which is no choice here."
            if not given.choices:
                yield here, f"'{self.given}' has no choices; give it some with 'choices'."

    def _misfit(self, other: str, unit: str) -> str:
        return f"Units do not fit: '{other}' is in {unit}, '{self.id}' in {self.number}."

    def questions(self, run: Run) -> Iterator[Question]:
        """What nobody has keyed in, and what cannot be judged before its given is known."""
        for item in self.items:
            if not keyed(run, self.id, item):
                yield Question(
                    self.id, item, unseen=bool(self.posts) and run.closed.issuperset(self.posts)
                )
            elif self.given and not self._readable(run.givens.get(self.given, "")):
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
                ways = self._ways(what.value)
                said.add((what.legible, ways or self._meant(what.value) or _plain(what.value)))
        return len(said) > 1

    def _judged(self, words: list[Entry], run: Run, terms: Terms) -> list[tuple[Entry, Judged]]:
        reference = self._right(run, terms)
        return [
            (entry, self._judge(entry.what, reference, terms))
            for entry in words
            if isinstance(entry.what, Value)
        ]

    def _judge(self, said: Value, right: Fraction | str | None, terms: Terms) -> Judged:
        """What is wrong with what stands there, beside what should."""
        text = said.value.strip()
        if not said.legible or not text:
            return Judged(Fault.NOT_WRITTEN if said.legible else Fault.ILLEGIBLE)
        if self.number:
            return self._judge_number(text, right if isinstance(right, Fraction) else None, terms)
        return self._judge_word(text, right)

    def _judge_word(self, text: str, right: Fraction | str | None) -> Judged:
        meant = self._meant(text)
        if meant is None:
            return Judged(Fault.WRONG_VALUE, f"{quote(text)} is {self._no_such_thing()}")
        if right is None or meant == right:
            return Judged(known=right is not None or not self.given)
        return Judged(Fault.WRONG_VALUE, f"{quote(text)}, where '{right}' is right")

    def _judge_number(self, text: str, right: Fraction | None, terms: Terms) -> Judged:
        unit = self.unit(terms)
        if is_open(text):
            says = "an open circuit, which is no number"
            return Judged() if self.open is not Open.FAIL else Judged(Fault.WRONG_VALUE, says)
        ways = self._ways(text)
        if not ways:
            return Judged(
                Fault.WRONG_VALUE, f"{quote(text)} is no number in {unit.text}", proposed=True
            )
        if self.open is Open.EXPECTED:
            return Judged(Fault.WRONG_VALUE, f"{quote(text)}, where an open circuit is right")
        if self.within is not None and right is None:
            return Judged(known=False)
        miss, place = min((self.outside(way, unit, right), place) for way, place in ways)
        if miss <= 0:
            return Judged()
        close = 2 * miss <= place
        says = f"{quote(text)}, {say(miss, unit.text)} outside {self.allowed(unit, right)}"
        return Judged(Fault.OUT_OF_TOLERANCE, says, close=close)

    def _ways(self, text: str) -> tuple[tuple[Fraction, Fraction], ...]:
        """The numbers a text may mean, in the rule's unit, each with one of its last place."""
        if not self.number or is_open(text):
            return ()
        unit = parse_unit(self.number)
        try:
            found = read_written(text, unit)
        except UnitError:
            return ()
        return tuple((each.into(unit), each.finest(unit)) for each in found)

    def _meant(self, text: str) -> str | None:
        """What is written, in one spelling; None where it is not what is to be written."""
        if self.date is not None or self.choices or self.written is Form.YES_NO:
            form: Mapping[str, Any] = {"choices": self.choices, "written": self.written}
            return _meant(text, form if self.date is None else {"date": self.date})
        if self.written is Form.INITIALS:
            letters = "".join(letter for letter in text if letter not in " .-")
            return letters.casefold() if letters.isalpha() else None
        return _plain(text) or None

    def _no_such_thing(self) -> str:
        if self.date is not None:
            return f"no date as {self.date}"
        if self.written is Form.INITIALS:
            return "no initials"
        return "none of " + ", ".join(self.choices or ("yes", "no"))

    def _right(self, run: Run, terms: Terms) -> Fraction | str | None:
        """What should stand there in this run; None where that is not known, or anything may."""
        if self.number:
            unit = parse_unit(self.number)
            if self.reference is not None:
                return self.reference.into(unit)
            other = terms.rules.get(self.computed) if self.computed is not None else None
            if isinstance(other, Valued):
                [(amount, _)] = other.amounts(run, terms).values()
                return None if amount is None else Quantity(amount, other.unit(terms)).into(unit)
            return given_number(self.given, run, terms, unit) if self.given else None
        if not self.given:
            return self.expected or None
        written, given = run.givens.get(self.given, ""), terms.givens.get(self.given)
        if given is not None and given.date is not None:
            return parse_date(written, given.date)
        return self._meant(written)

    def _readable(self, text: str) -> bool:
        """Whether a given's text is a value that this can be held against."""
        if self.number:
            return len(self._ways(text)) == 1
        if self.date is not None:
            return any(parse_date(text, form) is not None for form in DateForm)
        return self._meant(text) is not None

    def amounts(self, run: Run, terms: Terms) -> Mapping[str, tuple[Fraction | None, list[Entry]]]:
        """Each item's number, as the first judge to speak of it keyed it in last."""
        found: dict[str, tuple[Fraction | None, list[Entry]]] = {}
        # What is computed may be computed of this very reading.
        right = None if self.computed is not None else self._right(run, terms)
        for item in self.items:
            words = keyed(run, self.id, item)
            what = words[0].what if words else None
            ways = self._ways(what.value) if isinstance(what, Value) and what.legible else ()
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
        right = self._right(run, terms)
        wanted = self._wanted(right, terms)
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

    def _wanted(self, right: Fraction | str | None, terms: Terms) -> str:
        if self.open is Open.EXPECTED:
            return "open circuit"
        if self.number:
            known = right if isinstance(right, Fraction) else None
            said = self.allowed(self.unit(terms), known)
            if self.within is not None and known is None:
                said = ", ".join(filter(None, ("reference not known", said)))
            return said
        if isinstance(right, str):
            return right
        if self.given:
            return "reference not known"
        return self.date or self.written or ", ".join(self.choices)


def _shown(what: Value) -> str:
    if not what.legible:
        return f"illegible: {what.value}" if what.value else "illegible"
    return what.value or "nothing"


def _verdict(judged: Judged) -> str:
    if judged.fault is None:
        return "good" if judged.known else "not judged"
    return f"{judged.fault}: {judged.says}" if judged.says else str(judged.fault)


ReadingSchema.makes = Reading
