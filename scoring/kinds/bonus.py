"""A bonus: time or points given for a stated achievement."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import ClassVar, Final

from scoring.entries import Entry, Mark, Outcome
from scoring.fields import Name, Text
from scoring.fold import Run
from scoring.kinds.base import (
    Control,
    Doubt,
    Failure,
    Fault,
    Path,
    Rule,
    RuleSchema,
    Terms,
    enough,
    failure_id,
)
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
    """What its category says is given, not charged, where a judge saw it earned."""

    kind: ClassVar[str] = "bonus"
    schema: ClassVar[type[RuleSchema]] = BonusSchema
    answers: ClassVar[Mapping[Outcome, str]] = _ANSWERS

    @property
    def control(self) -> Control:
        """Earned or not."""
        return Control.ACHIEVE

    def problems(self, terms: Terms) -> Iterator[tuple[Path, str]]:
        """A category that gives nothing."""
        category = terms.categories[self.costs]
        if any(rung.disqualifies for rung in category.rungs):
            yield ("gives",), "Nobody can be given a disqualification, and this ends in one."

    def added(self, entry: Entry, count: int) -> Failure:
        """The head judge gives it."""
        return replace(Rule.added(self, entry, count), bonus=True)

    def failures(self, run: Run, terms: Terms) -> Iterator[Failure]:
        """One finding, of a cost below nothing, where a judge saw it earned.

        It is proposed where another judge saw otherwise, or fewer saw it than its category asks.
        """
        words = [entry for entry in self._words(run, "") if not _says(entry, Outcome.UNSEEN)]
        earned = [entry for entry in words if _says(entry, Outcome.GOOD)]
        if not earned:
            return
        doubts = [Doubt.CONTESTED] if len(earned) < len(words) else []
        if len(earned) == 1 and len(self.posts) > 1:
            doubts.append(Doubt.UNCORROBORATED)
        seen_by = terms.categories[self.costs].seen_by
        counts = enough(len(earned), max(len(words), len(self.posts)), seen_by)
        yield Failure(
            id=failure_id(self.id),
            rule=self.id,
            fault=Fault.EARNED,
            costs=self.costs,
            at=next((entry.at for entry in earned if _is_timed(entry)), None),
            stands_on=tuple(entry.id for entry in words),
            proposed=not counts or len(earned) < len(words),
            doubts=tuple(doubts),
            bonus=True,
        )


def _says(entry: Entry, outcome: Outcome) -> bool:
    return isinstance(entry.what, Mark) and entry.what.outcome is outcome


def _is_timed(entry: Entry) -> bool:
    return isinstance(entry.what, Mark) and entry.what.timed


BonusSchema.makes = Bonus
