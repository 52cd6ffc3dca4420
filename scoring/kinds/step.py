"""A step: an action of the procedure, done by someone, watched by a post."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar, Final

from scoring.entries import Outcome
from scoring.fields import Name, Text
from scoring.kinds.base import Fault, RuleSchema
from scoring.kinds.repeated import Repeated, RepeatedSchema

_FAULTS: Final = {Outcome.MISSING: Fault.NOT_DONE, Outcome.WRONG: Fault.DONE_WRONGLY}
_ANSWERS: Final = {
    Outcome.GOOD: "done",
    Outcome.WRONG: "done wrongly",
    Outcome.MISSING: "not done",
    Outcome.UNSEEN: "not seen",
}


class StepSchema(RepeatedSchema):
    """A step as it is written."""

    id = Name(required=True, data_key="step")
    text = Text(required=True, data_key="do")


@dataclass(frozen=True, slots=True, kw_only=True)
class Step(Repeated):
    """An action of the procedure; missing or done wrongly, it is one finding."""

    kind: ClassVar[str] = "step"
    schema: ClassVar[type[RuleSchema]] = StepSchema
    faults: ClassVar[Mapping[Outcome, Fault]] = _FAULTS
    answers: ClassVar[Mapping[Outcome, str]] = _ANSWERS


StepSchema.makes = Step
