"""A correctable fault: the judge first tells the crew; what they do then decides what it costs."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, ClassVar, Self

from scoring.durations import LONGEST
from scoring.entries import Entry, Mark, Moment, Moved, Observation, Outcome
from scoring.fields import Name, Text, Whole
from scoring.fold import Run
from scoring.ids import CategoryId, PersonId
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
from scoring.kinds.breaches import WINDOW, is_same_moment, judges
from scoring.kinds.measured import Word, judged
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

    def says(self, terms: Terms) -> Iterator[str]:
        """What each outcome costs."""
        times = "once" if self.tries == 1 else f"up to {self.tries} times"
        yield f"The judge first tells the crew, {times}, to put it right."
        for label, costs in (
            ("Put right when told,", self.corrected),
            ("Put right by the judge,", self.judge_did or self.costs),
        ):
            said = terms.categories[costs] if isinstance(costs, str) else "nothing"
            yield f"{label} it costs {said}."

    def shown(self) -> Mapping[str, Any]:
        """How often the crew is told."""
        return {"tries": self.tries}

    def takes(self, said: Observation) -> bool:
        """Told, corrected, done by the judge; or a mark that it was not corrected."""
        if isinstance(said, Moved):
            return said.moment in {Moment.TOLD, Moment.CORRECTED, Moment.JUDGE_DID}
        return isinstance(said, Mark) and said.outcome is Outcome.MISSING

    def questions(self, run: Run) -> Iterator[Question]:
        """A telling without an outcome."""
        if any(not fault.outcomes for fault in self._faults(run)):
            unseen = bool(self.posts) and run.closed.issuperset(self.posts)
            yield Question(self.id, unseen=unseen)

    def failures(self, run: Run, terms: Terms) -> Iterator[Failure]:
        """One finding for each fault that came to an outcome that costs; the mildest holds."""
        for fault in self._faults(run):
            if fault.outcomes:
                words = [self._word(fault, entry, terms) for entry in fault.outcomes.values()]
                name = failure_id(self.id, fault.entries[0].id)
                seen_by = terms.categories[self.costs].seen_by
                for failure in judged(self, name, "", words, seen_by):
                    stands_on = tuple(entry.id for entry in fault.entries)
                    yield replace(failure, at=fault.entries[0].at, stands_on=stands_on)

    def _word(self, fault: "_Fault", outcome: Entry, terms: Terms) -> Word:
        """What one judge says it came to, and what that costs."""
        what = outcome.what
        costs: Priced | None = self.costs
        says = Fault.NOT_CORRECTED
        if isinstance(what, Moved) and what.moment is Moment.JUDGE_DID:
            says, costs = Fault.JUDGE_DID, self.judge_did or self.costs
        elif isinstance(what, Moved) and len(fault.tellings) <= self.tries:
            says, costs = Fault.CORRECTED, self.corrected
        if not isinstance(costs, str):
            return Word((outcome,))
        first = terms.categories[costs].rung(1)
        rank = LONGEST if first.disqualifies else first.amount
        return Word((outcome,), says, costs, rank=rank)

    def _faults(self, run: Run) -> list["_Fault"]:
        """What judges told the crew of, one fault after the other.

        A fault lasts until it has an outcome. What another judge then says of it, who told of it
        too or says so at almost the same time, is of the same fault.
        """
        faults: list[_Fault] = []
        for entry in run.seen.get(self.id, ()):
            what = entry.what
            if not isinstance(what, Moved | Mark) or not self.takes(what):
                continue
            is_told = isinstance(what, Moved) and what.moment is Moment.TOLD
            if not faults or not faults[-1].goes_on(entry, told=is_told):
                faults.append(_Fault())
            faults[-1].add(entry, told=is_told)
        return faults


@dataclass(slots=True)
class _Fault:
    """One fault: who told of it how often, and each judge's latest word on what it came to."""

    entries: list[Entry] = field(default_factory=list)
    #: Who told, each time; judges who tell at almost the same time tell once.
    tellings: list[list[Entry]] = field(default_factory=list)
    outcomes: dict[PersonId, Entry] = field(default_factory=dict)

    def goes_on(self, entry: Entry, *, told: bool) -> bool:
        """Whether an entry is still about this fault."""
        if not self.outcomes:
            return True
        spoke = entry.by in judges(self.entries)
        close = entry.at - next(iter(self.outcomes.values())).at <= WINDOW
        return close and not spoke if told else close or spoke

    def add(self, entry: Entry, *, told: bool) -> None:
        """Lay an entry to it."""
        self.entries.append(entry)
        if not told:
            self.outcomes.pop(entry.by, None)
            self.outcomes[entry.by] = entry
        elif self.tellings and is_same_moment(self.tellings[-1], entry):
            self.tellings[-1].append(entry)
        else:
            self.tellings.append([entry])


CorrectableSchema.makes = Correctable
