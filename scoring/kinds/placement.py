"""Placement: where a thing must stand at the start or the end: good or not, or by distance."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import pairwise
from typing import Any, ClassVar, Final, Self

from marshmallow import ValidationError, post_load, validates_schema

from scoring.entries import Entry, Mark, Measured, Observation, Outcome
from scoring.fields import Amount, Name, OneOf, Section, Several, Text, Written
from scoring.fold import Run
from scoring.ids import CategoryId, PersonId
from scoring.kinds.base import (
    Control,
    Doubt,
    Failure,
    Fault,
    Path,
    Priced,
    Question,
    RuleSchema,
    Terms,
    failure_id,
)
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

    def takes(self, said: Observation) -> bool:
        """A mark, or where it is graded a distance."""
        wanted = Mark | Measured if self.measured else Mark
        return isinstance(said, wanted) and said.item in self.items

    def questions(self, run: Run) -> Iterator[Question]:
        """The things nobody has judged or measured."""
        for question in Repeated.questions(self, run):
            if not self._distances(run, question.item):
                yield question

    def failures(self, run: Run, terms: Terms) -> Iterator[Failure]:
        """What was out of place, or out by a distance that costs."""
        yield from Repeated.failures(self, run, terms)
        for item in self.items:
            distances = self._distances(run, item)
            if not distances:
                continue
            amounts = [_amount(entry) for entry in distances]
            costs, count = self._graded(min(amounts), terms)
            if costs is not None:
                yield Failure(
                    id=failure_id(self.id, item, why="distance"),
                    rule=self.id,
                    fault=Fault.OUT_OF_PLACE,
                    costs=costs,
                    item=item,
                    count=count,
                    at=distances[0].at,
                    stands_on=tuple(entry.id for entry in distances),
                    doubts=(Doubt.CONTESTED,) if len(set(amounts)) > 1 else (),
                )

    def _graded(self, amount: int, terms: Terms) -> tuple[CategoryId | None, int]:
        """The category for a distance and how many times it is charged; the smallest holds."""
        if self.bands:
            passed = [band.costs for band in self.bands if amount > band.over]
            return (CategoryId(str(passed[-1])), 1) if passed else (None, 0)
        beyond = amount - (self.free or 0)
        if beyond <= 0:
            return None, 0
        graded = terms.categories[self.costs].per is Per.CENTIMETRE
        return self.costs, -(-beyond // _CENTIMETRE) if graded else 1

    def _distances(self, run: Run, item: str) -> list[Entry]:
        """Each judge's latest measure of an item, in order of time."""
        words: dict[PersonId, Entry] = {}
        for entry in run.seen.get(self.id, ()):
            if isinstance(entry.what, Measured) and entry.what.item == item:
                words.pop(entry.by, None)
                words[entry.by] = entry
        return list(words.values())


def _amount(entry: Entry) -> int:
    return entry.what.amount if isinstance(entry.what, Measured) else 0


PlacementSchema.makes = Placement
