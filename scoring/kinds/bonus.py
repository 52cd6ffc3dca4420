"""A bonus: time or points given for a stated achievement."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import ClassVar, Final

from scoring.entries import Outcome
from scoring.fields import Name, Text
from scoring.fold import Run
from scoring.kinds.base import Control, Failure, Fault, Rule, RuleSchema, Terms, failure_id
from scoring.penalties import Costs

_ANSWERS: Final = {
    Outcome.GOOD: "earned",
    Outcome.MISSING: "not earned",
    Outcome.UNSEEN: "not seen",
}


class BonusSchema(RuleSchema):
    """A bonus as it is written."""

    id = Name(required=True, data_key="bonus")
    text = Text(required=True)
    costs = Costs(data_key="gives")


@dataclass(frozen=True, slots=True, kw_only=True)
class Bonus(Rule):
    """What its category says is given, not charged. Every judge who speaks must have seen it."""

    kind: ClassVar[str] = "bonus"
    schema: ClassVar[type[RuleSchema]] = BonusSchema
    answers: ClassVar[Mapping[Outcome, str]] = _ANSWERS

    @property
    def control(self) -> Control:
        """Earned or not."""
        return Control.ACHIEVE

    def failures(self, run: Run, terms: Terms) -> Iterator[Failure]:
        """One finding, of a cost below nothing, where it was earned."""
        verdict = self.verdict(run, "", terms.categories[self.costs].seen_by)
        if verdict.outcome is Outcome.GOOD:
            yield Failure(
                id=failure_id(self.id),
                rule=self.id,
                fault=Fault.EARNED,
                costs=self.costs,
                at=verdict.at,
                stands_on=verdict.ids,
                bonus=True,
            )


BonusSchema.makes = Bonus
