"""A correctable fault: the judge first tells the crew; what they do then decides what it costs."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import ClassVar, Self

from scoring.entries import Entry, Mark, Moment, Moved, Observation, Outcome
from scoring.fields import Name, Text, Whole
from scoring.fold import Run
from scoring.ids import CategoryId
from scoring.kinds.base import (
    Control,
    Failure,
    Fault,
    Path,
    Priced,
    Question,
    Rule,
    RuleSchema,
    Terms,
    failure_id,
)
from scoring.penalties import Costs


class CorrectableSchema(RuleSchema):
    """A correctable fault as it is written."""

    id = Name(required=True, data_key="correctable")
    text = Text(required=True)
    tries = Whole(1, 9)
    corrected = Costs()
    judge_did = Costs(data_key="judge-did")


@dataclass(frozen=True, slots=True, kw_only=True)
class Correctable(Rule):
    """Told, then corrected, not corrected, or put right by the judge: the outcome is what costs.

    Corrected within `tries` tellings costs `corrected`, or nothing where the author names nothing.
    """

    kind: ClassVar[str] = "correctable"
    schema: ClassVar[type[RuleSchema]] = CorrectableSchema

    tries: int = 1
    corrected: Priced | None = None
    judge_did: Priced | None = None

    @property
    def control(self) -> Control:
        """Tell, then the outcome."""
        return Control.CORRECT

    def more_costs(self) -> tuple[tuple[Path, Priced], ...]:
        """What the other outcomes cost, where the author says so."""
        outcomes = (("corrected", self.corrected), ("judge-did", self.judge_did))
        return tuple(((key,), costs) for key, costs in outcomes if costs is not None)

    def priced(self, costs: Sequence[CategoryId]) -> Self:
        """The rule with its outcomes' categories by name."""
        named = iter(costs)
        return replace(
            self,
            corrected=None if self.corrected is None else next(named),
            judge_did=None if self.judge_did is None else next(named),
        )

    def takes(self, said: Observation) -> bool:
        """Told, corrected, done by the judge; or a mark that it was not corrected."""
        if isinstance(said, Moved):
            return said.moment in {Moment.TOLD, Moment.CORRECTED, Moment.JUDGE_DID}
        return isinstance(said, Mark) and said.outcome is Outcome.MISSING

    def questions(self, run: Run) -> Iterator[Question]:
        """A telling without an outcome."""
        if any(outcome is None for _, outcome in self._instances(run)):
            yield Question(self.id, unseen=run.closed.issuperset(self.posts))

    def failures(self, run: Run, terms: Terms) -> Iterator[Failure]:  # noqa: ARG002 - it needs none
        """One finding for each time something was told and then came to an outcome that costs."""
        for told, outcome in self._instances(run):
            if outcome is None:
                continue
            fault, costs = self._outcome(len(told), outcome)
            if isinstance(costs, str):
                first = (*told, outcome)[0]
                yield Failure(
                    id=failure_id(self.id, first.id),
                    rule=self.id,
                    fault=fault,
                    costs=costs,
                    at=first.at,
                    stands_on=tuple(entry.id for entry in (*told, outcome)),
                )

    def _outcome(self, told: int, outcome: Entry) -> tuple[Fault, Priced | None]:
        what = outcome.what
        if isinstance(what, Moved) and what.moment is Moment.JUDGE_DID:
            return Fault.JUDGE_DID, self.judge_did or self.costs
        if isinstance(what, Moved) and told <= self.tries:
            return Fault.CORRECTED, self.corrected
        return Fault.NOT_CORRECTED, self.costs

    def _instances(self, run: Run) -> Iterator[tuple[list[Entry], Entry | None]]:
        """The tellings of one fault and its outcome, one fault after the other."""
        told: list[Entry] = []
        for entry in run.seen.get(self.id, ()):
            if isinstance(entry.what, Moved) and entry.what.moment is Moment.TOLD:
                told.append(entry)
            else:
                yield told, entry
                told = []
        if told:
            yield told, None


CorrectableSchema.makes = Correctable
