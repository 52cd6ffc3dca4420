"""A step: an action of the procedure, done by someone, watched by a post."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, ClassVar, Final

from marshmallow import ValidationError, validates_schema

from scoring.entries import Entry, Mark, Observation, Outcome
from scoring.fields import Name, Several, Text
from scoring.fold import Run
from scoring.kinds.base import Control, Failure, Fault, RuleSchema, Terms, latest, or_of_the_whole
from scoring.kinds.repeated import Repeated, RepeatedSchema
from scoring.penalties import SeenBy

_MOST_POINTS: Final = 30
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
    points = Several(Text(longest=200), distinct=True)

    @validates_schema(skip_on_field_errors=True)
    def _points_stand_alone(self, data: Mapping[str, Any], **_: Any) -> None:
        if "points" in data and ("times" in data or "each" in data):
            raise ValidationError("Give 'points', or 'times' or 'each', not both.", "points")
        if len(data.get("points", ())) > _MOST_POINTS:
            raise ValidationError(f"At most {_MOST_POINTS} points are allowed.", "points")


@dataclass(frozen=True, slots=True, kw_only=True)
class Step(Repeated):
    """An action of the procedure; missing or done wrongly, it is one finding.

    With `points` it is a checklist: each point that failed is a finding. A judge's word on the
    whole step is their word on every point they say nothing else of. While nobody speaks of the
    points, a whole step that is missing or done wrongly is one finding.
    """

    kind: ClassVar[str] = "step"
    schema: ClassVar[type[RuleSchema]] = StepSchema
    faults: ClassVar[Mapping[Outcome, Fault]] = _FAULTS
    answers: ClassVar[Mapping[Outcome, str]] = _ANSWERS

    points: tuple[str, ...] = ()

    @property
    def items(self) -> tuple[str, ...]:
        """The points, where there are any."""
        return self.points or self.repeats

    @property
    def control(self) -> Control:
        """All good in one tap, or point by point."""
        return Control.CHECKLIST if self.points else self.tapped

    def takes(self, said: Observation) -> bool:
        """A mark on the whole step, too, where it has points."""
        whole = bool(self.points) and isinstance(said, Mark) and not said.item
        return whole or Repeated.takes(self, said)

    def failures(self, run: Run, terms: Terms) -> Iterator[Failure]:
        """One failure for each point, or one where the whole step failed."""
        if self.points and self._whole_fails(run):
            yield from replace(self, points=()).failures(run, terms)
        else:
            yield from Repeated.failures(self, run, terms)

    def done(self, run: Run) -> list[list[Entry]]:
        """A checklist is one act, done when the first mark says so of the whole or of a point."""
        if not self.points:
            return Repeated.done(self, run)
        whole = replace(self, points=())
        parts = (replace(self, points=(), each=(point,)) for point in self.points)
        marks = [mark for rule in (whole, *parts) for mark in rule.done(run)[0]]
        return [sorted(marks, key=lambda entry: entry.when)]

    def _words(self, run: Run, item: str) -> list[Entry]:
        """Each judge's word on a point: their own mark of it, else what they said of the whole."""
        marks = run.seen.get(self.id, ())
        return or_of_the_whole(marks, item) if self.points else latest(marks, item)

    def _whole_fails(self, run: Run) -> bool:
        """Whether a judge says it of the whole step, and nobody anything of a point."""
        marks = [entry.what for entry in run.seen.get(self.id, ()) if isinstance(entry.what, Mark)]
        if any(mark.item in self.points and mark.outcome is not Outcome.UNSEEN for mark in marks):
            return False
        return replace(self, points=()).verdict(run, "", SeenBy.ANY).fails


StepSchema.makes = Step
