"""Placement: where a thing must stand at the start or the end: good or not, or by distance."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import pairwise
from typing import Any, ClassVar, Final, Self

from marshmallow import ValidationError, post_load, validates_schema

from scoring.durations import LONGEST, format_thousandths
from scoring.entries import Entry, Mark, Measured, Observation, Outcome
from scoring.fields import Amount, Name, OneOf, Section, Several, Text, Written
from scoring.fold import Run
from scoring.ids import CategoryId, PersonId
from scoring.kinds.base import (
    Control,
    Failure,
    Fault,
    Path,
    Priced,
    Question,
    RuleSchema,
    Terms,
    failure_id,
)
from scoring.kinds.measured import Word, judged
from scoring.kinds.repeated import Repeated, RepeatedSchema
from scoring.penalties import Costs, Per

_CENTIMETRE: Final = 1_000
_FAULTS: Final = {Outcome.MISSING: Fault.OUT_OF_PLACE, Outcome.WRONG: Fault.OUT_OF_PLACE}
_ANSWERS: Final = {
    Outcome.GOOD: "in place",
    Outcome.MISSING: "out of place",
    Outcome.UNSEEN: "not seen",
}


class At(StrEnum):
    """When the thing must stand there."""

    START = "start"
    END = "end"


@dataclass(frozen=True, slots=True)
class Band:
    """What it costs to be out by more than `over` thousandths of a centimetre."""

    over: int
    costs: Priced

    def __str__(self) -> str:
        return f"over {format_thousandths(self.over)} cm"


class BandSchema(Written):
    """A band as it is written."""

    over = Amount(required=True)
    costs = Costs(required=True)

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> Band:
        return Band(**data)


class PlacementSchema(RepeatedSchema):
    """A placement as it is written."""

    id = Name(required=True, data_key="placement")
    text = Text(required=True)

    class Meta:
        """The keys of repeated rules that mean nothing here: it is in its place or it is not."""

        exclude = ("wrong",)

    at = OneOf(At)
    free = Amount()
    bands = Several(Section(BandSchema))

    @validates_schema(skip_on_field_errors=True)
    def _grades_one_way(self, data: Mapping[str, Any], **_: Any) -> None:
        bands = data.get("bands", ())
        if bands and "free" in data:
            raise ValidationError("Beside 'bands' a free distance has no meaning.", "free")
        if any(one.over >= two.over for one, two in pairwise(bands)):
            raise ValidationError("Write the bands from the smallest 'over' up.", "bands")


@dataclass(frozen=True, slots=True, kw_only=True)
class Placement(Repeated):
    """Good or not; or, where its category is per centimetre or it has `bands`, measured.

    `free` is the distance that costs nothing, in thousandths of a centimetre; every started
    centimetre beyond it is charged. With `bands` the widest one that was passed is charged.
    """

    kind: ClassVar[str] = "placement"
    schema: ClassVar[type[RuleSchema]] = PlacementSchema
    faults: ClassVar[Mapping[Outcome, Fault]] = _FAULTS
    answers: ClassVar[Mapping[Outcome, str]] = _ANSWERS

    at: At = At.END
    free: int | None = None
    bands: tuple[Band, ...] = ()

    @property
    def measured(self) -> bool:
        """Whether the judge keys in a distance."""
        return self.free is not None or bool(self.bands)

    @property
    def control(self) -> Control:
        """A tap, or a distance."""
        return Control.MEASURE if self.measured else self.tapped

    def more_costs(self) -> tuple[tuple[Path, Priced], ...]:
        """What each band costs."""
        bands = ((("bands", n, "costs"), band.costs) for n, band in enumerate(self.bands))
        return (*Repeated.more_costs(self), *bands)

    def priced(self, costs: Sequence[CategoryId]) -> Self:
        """The rule with its bands' categories by name."""
        before = len(costs) - len(self.bands)
        bands = zip(self.bands, costs[before:], strict=True)
        return replace(
            Repeated.priced(self, costs[:before]),
            bands=tuple(replace(band, costs=named) for band, named in bands),
        )

    def says(self, terms: Terms) -> Iterator[str]:
        """When it stands there, and how its distance is graded."""
        yield f"It must stand so at the {self.at} of the run."
        if self.free is not None:
            yield f"The first {format_thousandths(self.free)} cm cost nothing."
        for band in self.bands:
            costs = terms.categories[CategoryId(str(band.costs))]
            yield f"Out by more than {format_thousandths(band.over)} cm it costs {costs}."
        yield from Repeated.says(self, terms)

    def shown(self) -> Mapping[str, Any]:
        """When it stands there."""
        return {"at": self.at}

    def takes(self, said: Observation) -> bool:
        """A mark, or where it is graded a distance."""
        wanted = Mark | Measured if self.measured else Mark
        return isinstance(said, wanted) and said.item in self.items

    def problems(self, terms: Terms) -> Iterator[tuple[Path, str]]:
        """A cost per centimetre without a distance."""
        if terms.categories[self.costs].per is Per.CENTIMETRE and not self.measured:
            says = "It costs per centimetre: say with 'free' how many cost nothing, be it 0."
            yield (), says
        if terms.categories[self.costs].per is Per.CENTIMETRE and self.bands:
            yield ("bands",), "It costs per centimetre or by bands, not both."

    def questions(self, run: Run) -> Iterator[Question]:
        """The things nobody has judged or measured."""
        for question in Repeated.questions(self, run):
            if not self._measures(run, question.item):
                yield question

    def item_failures(
        self, run: Run, terms: Terms, item: str, *, unseen: bool
    ) -> Iterator[Failure]:
        """What was out of place, or out by a distance that costs; the smallest distance holds.

        Each judge's latest word holds; a distance tells more than that it was out of place.
        """
        measures = self._measures(run, item)
        if not measures:
            yield from Repeated.item_failures(self, run, terms, item, unseen=unseen)
            return
        words = [self._graded(entry, terms) for entry in measures]
        for entry in self._words(run, item):
            if isinstance(entry.what, Mark) and entry.what.outcome is not Outcome.UNSEEN:
                fault = self.faults.get(entry.what.outcome)
                words.append(
                    Word((entry,), fault, self.costs, rank=LONGEST) if fault else Word((entry,))
                )
        seen_by = terms.categories[self.costs].seen_by
        yield from judged(self, failure_id(self.id, item), item, words, seen_by)

    def _graded(self, entry: Entry, terms: Terms) -> Word:
        """What a distance costs, and how often."""
        amount = entry.what.amount if isinstance(entry.what, Measured) else 0
        beyond = amount - (self.free or 0)
        costs: Priced | None = self.costs if beyond > 0 else None
        count = 1
        if self.bands:
            costs = next((b.costs for b in reversed(self.bands) if amount > b.over), None)
        elif terms.categories[self.costs].per is Per.CENTIMETRE:
            count = -(-beyond // _CENTIMETRE)
        if not isinstance(costs, str):
            return Word((entry,))
        said = f"{format_thousandths(amount)} cm"
        return Word((entry,), Fault.OUT_OF_PLACE, costs, count, rank=amount, detail=said)

    def _words(self, run: Run, item: str) -> list[Entry]:
        """The answers of judges who have not measured since."""
        later = {entry.by for entry in self._measures(run, item)}
        return [
            entry
            for entry in Repeated._words(self, run, item)  # noqa: SLF001 - its own, one floor up
            if entry.by not in later
        ]

    def _measures(self, run: Run, item: str) -> list[Entry]:
        """Each judge's latest distance, where that is their latest word, in order of time."""
        words: dict[PersonId, Entry] = {}
        for entry in run.seen.get(self.id, ()):
            if isinstance(entry.what, Measured | Mark) and entry.what.item == item:
                words.pop(entry.by, None)
                words[entry.by] = entry
        return [
            each for each in words.values() if self.measured and isinstance(each.what, Measured)
        ]


PlacementSchema.makes = Placement
