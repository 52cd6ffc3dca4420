"""Returns: tools and materials back where they belong: a count of what is missing, or a list."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import ClassVar, Final

from scoring.entries import Count, Entry, Mark, Observation, Outcome
from scoring.fields import Name, Several, Text
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
    or_of_the_whole,
)

_ANSWERS: Final = {
    Outcome.GOOD: "back",
    Outcome.MISSING: "missing",
    Outcome.UNSEEN: "not seen",
}


class ReturnsSchema(RuleSchema):
    """A returns rule as it is written."""

    id = Name(required=True, data_key="returns")
    text = Text(required=True)
    each = Several(Text(longest=80), distinct=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Returns(Rule):
    """The judge counts what is not back, or ticks it on the list of `each` thing.

    Where judges counted differently the smaller number holds, and the finding says so. Where one
    of them missed nothing it is proposed.
    """

    kind: ClassVar[str] = "returns"
    schema: ClassVar[type[RuleSchema]] = ReturnsSchema
    answers: ClassVar[Mapping[Outcome, str]] = _ANSWERS

    each: tuple[str, ...] = ()

    @property
    def items(self) -> tuple[str, ...]:
        """The things on the list, where there is one."""
        return self.each or ("",)

    @property
    def control(self) -> Control:
        """A number pad, or a list."""
        return Control.CHECKLIST if self.each else Control.COUNT

    def takes(self, said: Observation) -> bool:
        """A count; where there is a list, a mark on a thing of it or on all."""
        ticked = bool(self.each) and isinstance(said, Mark) and said.item in {"", *self.each}
        return ticked or isinstance(said, Count)

    def questions(self, run: Run) -> Iterator[Question]:
        """Whether anyone has counted, or which things nobody has looked for."""
        if self._counts(run):
            return
        marks = run.seen.get(self.id, ())
        for item in self.items:
            words = or_of_the_whole(marks, item) if self.each else []
            said = [each.what.outcome for each in words if isinstance(each.what, Mark)]
            if set(said) <= {Outcome.UNSEEN}:
                done = run.closed | {entry.post for entry in words}
                yield Question(self.id, item, unseen=bool(self.posts) and done >= {*self.posts})

    def failures(self, run: Run, terms: Terms) -> Iterator[Failure]:
        """One failure for all that is missing."""
        words = self._words_of_judges(run)
        numbers = [number for number, _ in words.values()]
        missed = [number for number in numbers if number > 0]
        if missed:
            doubts = [Doubt.CONTESTED] if len(set(numbers)) > 1 else []
            if len(missed) == 1 and len(self.posts) > 1:
                doubts.append(Doubt.UNCORROBORATED)
            seen_by = terms.categories[self.costs].seen_by
            counted = enough(len(missed), max(len(numbers), len(self.posts)), seen_by)
            entries = sorted(
                (entry for _, those in words.values() for entry in those),
                key=lambda each: each.when,
            )
            yield Failure(
                id=failure_id(self.id),
                rule=self.id,
                fault=Fault.NOT_RETURNED,
                costs=self.costs,
                item=", ".join(_missing(entries)),
                count=min(missed),
                stands_on=tuple(entry.id for entry in entries),
                proposed=not counted or len(missed) < len(numbers),
                doubts=tuple(doubts),
            )

    def _words_of_judges(self, run: Run) -> dict[PersonId, tuple[int, list[Entry]]]:
        """How many each judge missed, and the entries that say so: a count before ticks."""
        words = {
            entry.by: (entry.what.count, [entry])
            for entry in self._counts(run)
            if isinstance(entry.what, Count)
        }
        marks = run.seen.get(self.id, ())
        ticked: dict[PersonId, list[Entry]] = {}
        for item in self.each:
            for entry in or_of_the_whole(marks, item):
                if entry.by not in words and _says(entry) is not Outcome.UNSEEN:
                    ticked.setdefault(entry.by, []).append(entry)
        for judge, entries in ticked.items():
            missing = [entry for entry in entries if _says(entry) is not Outcome.GOOD]
            words[judge] = (len(missing), list(dict.fromkeys(entries)))
        return words

    def _counts(self, run: Run) -> list[Entry]:
        """Each judge's latest count."""
        words: dict[PersonId, Entry] = {
            entry.by: entry for entry in run.seen.get(self.id, ()) if isinstance(entry.what, Count)
        }
        return list(words.values())


def _says(entry: Entry) -> Outcome | None:
    return entry.what.outcome if isinstance(entry.what, Mark) else None


def _missing(entries: list[Entry]) -> list[str]:
    """The things that were ticked as missing, by name."""
    named = [
        entry.what.item
        for entry in entries
        if isinstance(entry.what, Mark) and entry.what.outcome is not Outcome.GOOD
    ]
    return list(dict.fromkeys(name for name in named if name))


ReturnsSchema.makes = Returns
