"""A blank of the check sheet: what belongs there, and what is wrong with what stands there."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import Any

from scoring.dates import DateForm, parse_date
from scoring.entries import Value
from scoring.errors import UnitError
from scoring.fold import Run
from scoring.ids import RuleId
from scoring.kinds.base import Fault, Terms
from scoring.kinds.valued import Valued, given_number, quote
from scoring.units import Quantity, is_open, parse_unit, read_written, say


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


def meant_in(text: str, data: Mapping[str, Any]) -> str | None:
    """A choice, a yes or no, or a date in one spelling; None where it is no such thing."""
    if "date" in data:
        return parse_date(text, data["date"])
    choices = ("yes", "no") if data.get("written") is Form.YES_NO else data.get("choices", ())
    return next((choice for choice in choices if _same(choice, text)), None)


def _same(one: str, other: str) -> bool:
    return plain(one) == plain(other)


def plain(text: str) -> str:
    """A text without what does not matter: capitals and further spaces."""
    return " ".join(text.split()).casefold()


@dataclass(frozen=True, slots=True, kw_only=True)
class Blank(Valued):
    """Something to be written: a number, a choice, a date, or in another form.

    A number is held against its reference (a literal, a given of this run, or what is `computed`
    of other readings) and its limits; anything else against what is `expected`, or only against
    its form.
    """

    choices: tuple[str, ...] = ()
    date: DateForm | None = None
    written: Form | None = None
    reference: Quantity | None = None
    expected: str = ""
    given: str = ""
    computed: RuleId | None = None
    open: Open = Open.FAIL

    @property
    def is_free(self) -> bool:
        """Whether any text may be written."""
        return self.written in {Form.SIGNATURE, Form.TEXT}

    def judge(self, said: Value, right: Fraction | str | None, terms: Terms) -> Judged:
        """What is wrong with what stands there, beside what should."""
        text = said.value.strip()
        if not said.legible or not text:
            return Judged(Fault.NOT_WRITTEN if said.legible else Fault.ILLEGIBLE)
        if self.number:
            return self._judge_number(text, right if isinstance(right, Fraction) else None, terms)
        return self._judge_word(text, right)

    def _judge_word(self, text: str, right: Fraction | str | None) -> Judged:
        meant = self.meant(text)
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
        ways = self.ways(text)
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

    def ways(self, text: str) -> tuple[tuple[Fraction, Fraction], ...]:
        """The numbers a text may mean, in the rule's unit, each with one of its last place."""
        if not self.number or is_open(text):
            return ()
        unit = parse_unit(self.number)
        try:
            found = read_written(text, unit)
        except UnitError:
            return ()
        return tuple((each.into(unit), each.finest(unit)) for each in found)

    def meant(self, text: str) -> str | None:
        """What is written, in one spelling; None where it is not what is to be written."""
        if self.date is not None or self.choices or self.written is Form.YES_NO:
            form: Mapping[str, Any] = {"choices": self.choices, "written": self.written}
            return meant_in(text, form if self.date is None else {"date": self.date})
        if self.written is Form.INITIALS:
            letters = "".join(letter for letter in text if letter not in " .-")
            return letters.casefold() if letters.isalpha() else None
        return plain(text) or None

    def _no_such_thing(self) -> str:
        if self.date is not None:
            return f"no date as {self.date}"
        if self.written is Form.INITIALS:
            return "no initials"
        return "none of " + ", ".join(self.choices or ("yes", "no"))

    def right(self, run: Run, terms: Terms) -> Fraction | str | None:
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
        return self.meant(written)

    def readable(self, text: str) -> bool:
        """Whether a given's text is a value that this can be held against."""
        if self.number:
            return len(self.ways(text)) == 1
        if self.date is not None:
            return any(parse_date(text, form) is not None for form in DateForm)
        return self.meant(text) is not None

    def wanted(self, right: Fraction | str | None, terms: Terms) -> str:
        """What belongs there, in words."""
        if self.open is Open.EXPECTED:
            return "an open circuit"
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
