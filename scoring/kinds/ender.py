"""A run ender: what ends a crew's rank, proposed by a judge, confirmed by the head judge.

A danger stop is no rule: it is given at once, on every tablet, and holds the clock.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any, ClassVar, Final

from scoring.entries import Breach, Entry, Observation, Status
from scoring.fields import Name, OneOf, Text
from scoring.fold import Run
from scoring.kinds.base import (
    Control,
    Doubt,
    Failure,
    Fault,
    Rule,
    RuleSchema,
    Terms,
    failure_id,
)
from scoring.kinds.breaches import judges, same_moments, whom


class Ends(StrEnum):
    """How it ends the run."""

    DISQUALIFIED = "disqualified"
    DID_NOT_FINISH = "did not finish"


_STATUS: Final = {
    Ends.DISQUALIFIED: Status.DISQUALIFIED,
    Ends.DID_NOT_FINISH: Status.DID_NOT_FINISH,
}


class EnderSchema(RuleSchema):
    """A run ender as it is written: it ends the run and costs nothing."""

    class Meta:
        """The keys of every kind that mean nothing here."""

        exclude = ("costs",)

    id = Name(required=True, data_key="ender")
    text = Text(required=True)
    ends = OneOf(Ends, required=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ender(Rule):
    """Each time is a proposal of its own; the run ends when the head judge upholds one.

    So one that was struck out hides no later one.
    """

    kind: ClassVar[str] = "ender"
    schema: ClassVar[type[RuleSchema]] = EnderSchema

    ends: Ends = Ends.DISQUALIFIED

    @property
    def costed(self) -> bool:
        """Never: it ends the run."""
        return False

    @property
    def control(self) -> Control:
        """Among the breaches."""
        return Control.BREACH

    @property
    def asked(self) -> bool:
        """Never: no mark is no breach."""
        return False

    def says(self, terms: Terms) -> Iterator[str]:  # noqa: ARG002 - it has no terms
        """What becomes of the run."""
        yield f"Once the head judge upholds it, it ends the run: {self.ends}."

    def shown(self) -> Mapping[str, Any]:
        """How it ends the run."""
        return {"ends": self.ends}

    def takes(self, said: Observation) -> bool:
        """A breach."""
        return isinstance(said, Breach)

    def added(self, entry: Entry, count: int) -> Failure:
        """The head judge ends the run by it."""
        return replace(Rule.added(self, entry, count), ends=_STATUS[self.ends])

    def failures(self, run: Run, terms: Terms) -> Iterator[Failure]:  # noqa: ARG002 - it has no terms
        """One proposal for each time, whoever marked it."""
        for seen in same_moments(run.seen.get(self.id, ())):
            lone = len(self.posts) > len(judges(seen)) == 1
            yield Failure(
                id=failure_id(self.id, seen[0].id),
                rule=self.id,
                fault=Fault.RUN_ENDER,
                costs=self.costs,
                item=whom(seen),
                at=seen[0].at,
                stands_on=tuple(entry.id for entry in seen),
                proposed=True,
                doubts=(Doubt.UNCORROBORATED,) if lone else (),
                ends=_STATUS[self.ends],
            )


EnderSchema.makes = Ender
