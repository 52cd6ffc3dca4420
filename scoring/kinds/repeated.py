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

    def failures(self, run: Run, terms: Terms) -> Iterator[Failure]:
        """One failure for each failing item, or one for the set."""
        seen_by = terms.categories[self.costs].seen_by
        unseen = {each.item for each in self.questions(run) if each.unseen and terms.unseen_fails}
        verdicts = [(item, self.verdict(run, item, seen_by)) for item in self.items]
        verdicts = [(item, _unseen(each) if item in unseen else each) for item, each in verdicts]
        failing = [(item, verdict) for item, verdict in verdicts if verdict.fails]
        if self.charge is Charge.ONCE:
            failing = (
                [(", ".join(item for item, _ in failing), _together(failing))] if failing else []
            )
        for items, verdict in failing:
            yield Failure(
                id=failure_id(self.id, "" if self.charge is Charge.ONCE else items),
                rule=self.id,
                fault=self.faults[verdict.outcome or Outcome.MISSING],
                costs=self._cost_of(verdict),
                item=items,
                at=verdict.at,
                stands_on=verdict.ids,
                proposed=not verdict.counts,
                doubts=verdict.doubts,
            )

    def _cost_of(self, verdict: Verdict) -> CategoryId:
        if verdict.outcome is Outcome.WRONG and isinstance(self.wrong, str):
            return self.wrong
        return self.costs


def _unseen(verdict: Verdict) -> Verdict:
    """What nobody saw, where the rulebook counts it against the crew."""
    return Verdict(Outcome.MISSING, verdict.entries, (*verdict.doubts, Doubt.UNSEEN))


def _together(failing: list[tuple[str, Verdict]]) -> Verdict:
    """The verdicts on several items as one: it counts as soon as one of them does."""
    verdicts = [verdict for _, verdict in failing]
    entries = (entry for verdict in verdicts for entry in verdict.entries)
    return Verdict(
        outcome=verdicts[0].outcome,
        entries=tuple(sorted(entries, key=lambda entry: entry.when)),
        doubts=tuple(sorted({doubt for verdict in verdicts for doubt in verdict.doubts})),
        counts=any(verdict.counts for verdict in verdicts),
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
        if "charge" in data and "times" not in data and "each" not in data:
            raise ValidationError("'charge' has a meaning only beside 'times' or 'each'.", "charge")
