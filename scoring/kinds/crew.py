"""A minimum crew: so many people, in such places, while something is done."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import ClassVar, Final

from scoring.entries import Outcome
from scoring.fields import Name, Text, Whole
from scoring.kinds.base import Fault, RuleSchema, Terms
from scoring.kinds.repeated import Repeated

_FAULTS: Final = {Outcome.MISSING: Fault.TOO_FEW, Outcome.WRONG: Fault.OUT_OF_PLACE}
_ANSWERS: Final = {
    Outcome.GOOD: "enough",
    Outcome.WRONG: "wrong places",
    Outcome.MISSING: "too few",
    Outcome.UNSEEN: "not seen",
}


class MinimumCrewSchema(RuleSchema):
    """A minimum crew as it is written."""

    id = Name(required=True, data_key="crew")
    text = Text(required=True)
    at_least = Whole(1, 30, required=True, data_key="at-least")


@dataclass(frozen=True, slots=True, kw_only=True)
class MinimumCrew(Repeated):
    """`at_least` so many people, in the places the text names; too few is one finding."""

    kind: ClassVar[str] = "crew"
    schema: ClassVar[type[RuleSchema]] = MinimumCrewSchema
    faults: ClassVar[Mapping[Outcome, Fault]] = _FAULTS
    answers: ClassVar[Mapping[Outcome, str]] = _ANSWERS

    at_least: int = 1

    def says(self, terms: Terms) -> Iterator[str]:  # noqa: ARG002 - it needs none
        """How many."""
        yield f"At least {self.at_least} {'person' if self.at_least == 1 else 'people'}."


MinimumCrewSchema.makes = MinimumCrew
