"""A callout: words that must be said aloud, by someone, before or after something."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import ClassVar, Final

from scoring.entries import Outcome
from scoring.fields import Name, Several, Text
from scoring.ids import RuleId
from scoring.kinds.base import Fault, Rule, RuleSchema
from scoring.kinds.repeated import Repeated, RepeatedSchema

_FAULTS: Final = {Outcome.MISSING: Fault.NOT_HEARD, Outcome.WRONG: Fault.WRONG_WORDS}
_ANSWERS: Final = {
    Outcome.GOOD: "heard",
    Outcome.WRONG: "wrong words",
    Outcome.MISSING: "not heard",
    Outcome.UNSEEN: "could not hear",
}


class CalloutSchema(RepeatedSchema):
    """A callout as it is written."""

    id = Name(required=True, data_key="callout")
    text = Text(required=True, data_key="say")
    before = Several(Name(), distinct=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Callout(Repeated):
    """Words that must be heard; `text` is what is to be said, in the event's own language.

    `before` names rules that may begin only once the words have been heard.
    """

    kind: ClassVar[str] = "callout"
    schema: ClassVar[type[RuleSchema]] = CalloutSchema
    faults: ClassVar[Mapping[Outcome, Fault]] = _FAULTS
    answers: ClassVar[Mapping[Outcome, str]] = _ANSWERS

    before: tuple[RuleId, ...] = ()

    def references(self) -> Iterator[tuple[str, RuleId]]:
        """The rules it comes after, and those it comes before."""
        yield from Rule.references(self)
        for rule in self.before:
            yield "before", rule


CalloutSchema.makes = Callout
