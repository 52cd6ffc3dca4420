"""Returns: tools and materials back where they belong, by a count of what is missing."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

from scoring.entries import Count, Entry, Observation
from scoring.fields import Name, Text
from scoring.fold import Run
from scoring.ids import PersonId
from scoring.kinds.base import (
    Control,
    Doubt,
    Failure,
    Fault,
    Question,
    Rule,
    RuleSchema,
    Terms,
    enough,
    failure_id,
)


class ReturnsSchema(RuleSchema):
    """A returns rule as it is written."""

    id = Name(required=True, data_key="returns")
    text = Text(required=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Returns(Rule):
    """The judge counts what is not back; each judge's latest count is their word.

    Where judges counted differently the smaller number holds, and the finding says so. Where one
    of them missed nothing it is proposed.
    """

    kind: ClassVar[str] = "returns"
    schema: ClassVar[type[RuleSchema]] = ReturnsSchema

    @property
    def control(self) -> Control:
        """A number pad."""
        return Control.COUNT

    def takes(self, said: Observation) -> bool:
        """A count."""
        return isinstance(said, Count)

    def questions(self, run: Run) -> Iterator[Question]:
        """Whether anyone has counted."""
        if not self._counts(run):
            yield Question(self.id, unseen=bool(self.posts) and run.closed.issuperset(self.posts))

    def failures(self, run: Run, terms: Terms) -> Iterator[Failure]:
        """One failure for all that is missing."""
        counts = self._counts(run)
        numbers = [entry.what.count for entry in counts if isinstance(entry.what, Count)]
        missed = [number for number in numbers if number > 0]
        if missed:
            doubts = [Doubt.CONTESTED] if len(set(numbers)) > 1 else []
            if len(missed) == 1 and len(self.posts) > 1:
                doubts.append(Doubt.UNCORROBORATED)
            seen_by = terms.categories[self.costs].seen_by
            counted = enough(len(missed), max(len(numbers), len(self.posts)), seen_by)
            yield Failure(
                id=failure_id(self.id),
                rule=self.id,
                fault=Fault.NOT_RETURNED,
                costs=self.costs,
                count=min(missed),
                stands_on=tuple(entry.id for entry in counts),
                proposed=not counted or len(missed) < len(numbers),
                doubts=tuple(doubts),
            )

    def _counts(self, run: Run) -> list[Entry]:
        words: dict[PersonId, Entry] = {
            entry.by: entry for entry in run.seen.get(self.id, ()) if isinstance(entry.what, Count)
        }
        return list(words.values())


ReturnsSchema.makes = Returns
