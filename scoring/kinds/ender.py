"""A run ender: what ends a crew's rank, proposed by a judge, confirmed by the head judge.

A danger stop is no rule: it is given at once, on every tablet, and holds the clock.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import ClassVar, Final

from scoring.entries import Breach, Observation, Status
from scoring.fields import Name, OneOf, Text
from scoring.fold import Run
from scoring.kinds.base import Control, Failure, Fault, Rule, RuleSchema, Terms, failure_id


class Ends(StrEnum):
    """How it ends the run."""

    DISQUALIFIED = "disqualified"
    DID_NOT_FINISH = "did not finish"


_STATUS: Final = {
    Ends.DISQUALIFIED: Status.DISQUALIFIED,
    Ends.DID_NOT_FINISH: Status.DID_NOT_FINISH,
}


class EnderSchema(RuleSchema):
    """A run ender as it is written."""

    id = Name(required=True, data_key="ender")
    text = Text(required=True)
    ends = OneOf(Ends, required=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ender(Rule):
    """Each mark is a proposal; the run ends when the head judge upholds it."""

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

    def takes(self, said: Observation) -> bool:
        """A breach."""
        return isinstance(said, Breach)

    def failures(self, run: Run, terms: Terms) -> Iterator[Failure]:  # noqa: ARG002 - it has no terms
        """One proposal for all marks of it."""
        marks = [entry for entry in run.seen.get(self.id, ()) if isinstance(entry.what, Breach)]
        if marks:
            yield Failure(
                id=failure_id(self.id),
                rule=self.id,
                fault=Fault.RUN_ENDER,
                costs=self.costs,
                at=marks[0].at,
                stands_on=tuple(entry.id for entry in marks),
                proposed=True,
                ends=_STATUS[self.ends],
            )


EnderSchema.makes = Ender
