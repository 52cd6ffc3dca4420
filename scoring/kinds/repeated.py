"""What steps and callouts share: done or said once, so many times, or once for each of a list."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any, ClassVar, Final, Self

from marshmallow import ValidationError, validates_schema

from scoring.entries import Outcome
from scoring.fields import OneOf, Several, Text, Whole
from scoring.fold import Run
from scoring.ids import CategoryId
from scoring.kinds.base import (
    Control,
    Doubt,
    Failure,
    Fault,
    Path,
    Priced,
    Rule,
    RuleSchema,
    Terms,
    Verdict,
    failure_id,
)
from scoring.penalties import Costs

_MOST_ITEMS: Final = 60


class Charge(StrEnum):
    """Whether each failing item is a finding of its own or the set is one."""

    EACH = "each"
    ONCE = "once"


@dataclass(frozen=True, slots=True, kw_only=True)
class Repeated(Rule):
    """A rule judged once, so many `times`, or once for `each` named item."""

    faults: ClassVar[Mapping[Outcome, Fault]]

    times: int = 1
    each: tuple[str, ...] = ()
    charge: Charge = Charge.EACH
    #: The item that must be the first or the last of them.
    first: str = ""
    last: str = ""
    #: What being wrong costs, where that is not what missing costs.
    wrong: Priced | None = None

    @property
    def items(self) -> tuple[str, ...]:
        """What is judged one by one."""
        return self.repeats

    @property
    def repeats(self) -> tuple[str, ...]:
        """The named items, or `1`, `2`, … for a rule that is repeated without names."""
        if self.each:
            return self.each
        return tuple(str(n + 1) for n in range(self.times)) if self.times > 1 else ("",)

    @property
    def control(self) -> Control:
        """A tap."""
        return self.tapped

    @property
    def tapped(self) -> Control:
        """A rule with several items fills up tap by tap."""
        return Control.MARK if len(self.items) == 1 else Control.TALLY

    def more_costs(self) -> tuple[tuple[Path, Priced], ...]:
        """What being wrong costs, where the author says so."""
        return () if self.wrong is None else ((("wrong",), self.wrong),)

    def priced(self, costs: Sequence[CategoryId]) -> Self:
        """The rule with that category by name."""
        return replace(self, wrong=costs[0]) if costs else self

    def says(self, terms: Terms) -> Iterator[str]:
        """What being wrong costs, how several items are charged, in which order they come."""
        if isinstance(self.wrong, str):
            yield f"Done wrongly it costs {terms.categories[self.wrong]}."
        if self.charge is Charge.ONCE:
            yield "All of them together cost once, however many fail."
        if self.first:
            yield f"The first of them must be {self.first}."
        if self.last:
            yield f"The last of them must be {self.last}."

    def failures(self, run: Run, terms: Terms) -> Iterator[Failure]:
        """One failure for each failing item, or one for the set."""
        unseen = {each.item for each in self.questions(run) if each.unseen and terms.unseen_fails}
        failing = [
            failure
            for item in self.items
            for failure in self.item_failures(run, terms, item, unseen=item in unseen)
        ]
        if self.charge is Charge.ONCE and failing:
            failing = [_together(failing)]
        yield from failing

    def item_failures(
        self, run: Run, terms: Terms, item: str, *, unseen: bool
    ) -> Iterator[Failure]:
        """What went wrong with one item; `unseen` and nobody saw it, it is missing."""
        verdict = self.verdict(run, item, terms.categories[self.costs].seen_by)
        if unseen:
            verdict = _unseen(verdict)
        if verdict.fails:
            outcome = verdict.outcome or Outcome.MISSING
            yield Failure(
                id=failure_id(self.id, item),
                rule=self.id,
                fault=self.faults[outcome],
                costs=self.cost_of(outcome),
                item=item,
                at=verdict.at,
                stands_on=verdict.ids,
                proposed=not verdict.counts,
                doubts=verdict.doubts,
            )

    def cost_of(self, outcome: Outcome) -> CategoryId:
        """What it costs to have gone wrong so."""
        if outcome is Outcome.WRONG and isinstance(self.wrong, str):
            return self.wrong
        return self.costs


def _unseen(verdict: Verdict) -> Verdict:
    """What nobody saw, where the rulebook counts it against the crew."""
    return Verdict(Outcome.MISSING, verdict.entries, (*verdict.doubts, Doubt.UNSEEN))


def _together(failing: Sequence[Failure]) -> Failure:
    """Several items as one failure: it counts as soon as one of them does, and costs what it does.

    It stands on the marks of all of them, in order of time.
    """
    stands = next((failure for failure in failing if not failure.proposed), failing[0])
    in_time = sorted(failing, key=lambda failure: (failure.at is None, failure.at or 0))
    return replace(
        stands,
        id=failure_id(stands.rule),
        item=", ".join(failure.item for failure in failing),
        count=max(failure.count for failure in failing),
        at=in_time[0].at,
        stands_on=tuple(dict.fromkeys(entry for each in in_time for entry in each.stands_on)),
        doubts=tuple(sorted({doubt for failure in failing for doubt in failure.doubts})),
    )


class RepeatedSchema(RuleSchema):
    """The keys of a rule that may be repeated."""

    times = Whole(2, _MOST_ITEMS)
    each = Several(Text(longest=80), distinct=True)
    charge = OneOf(Charge)
    first = Text(longest=80)
    last = Text(longest=80)
    wrong = Costs()

    @validates_schema(skip_on_field_errors=True)
    def _repeats_one_way(self, data: Mapping[str, Any], **_: Any) -> None:
        each = data.get("each", ())
        if "times" in data and "each" in data:
            raise ValidationError("Give 'times' or 'each', not both.", "each")
        if len(each) > _MOST_ITEMS:
            raise ValidationError(f"{len(each)} items; at most {_MOST_ITEMS} are allowed.", "each")
        for key in ("first", "last"):
            if key in data and data[key] not in each:
                raise ValidationError(f"'{data[key]}' is none of the items of 'each'.", key)
        if "first" in data and data.get("last") == data["first"]:
            raise ValidationError(f"'{data['last']}' cannot be both first and last.", "last")
        if "charge" in data and not {"times", "each", "points"} & data.keys():
            ways = ("times", "each", *(["points"] if "points" in self.fields else []))
            several = " or ".join(f"'{way}'" for way in ways)
            raise ValidationError(f"'charge' has a meaning only beside {several}.", "charge")
