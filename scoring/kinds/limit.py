"""A time limit on a task; the limits of the walkthrough and the run stand in the clock section."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, ClassVar

from marshmallow import ValidationError, validates_schema

from scoring.durations import speak_duration
from scoring.entries import Entry, Moment, Moved, Observation
from scoring.fields import WARNS_IN_TIME, Duration, Name, Several, Text, YesNo
from scoring.fold import Run
from scoring.ids import RuleId, TaskId
from scoring.kinds.base import (
    Control,
    Failure,
    Fault,
    Path,
    Rule,
    RuleSchema,
    Terms,
    failure_id,
)
from scoring.kinds.splits import splits
from scoring.penalties import CHARGED_BY_TIME, Per


class LimitSchema(RuleSchema):
    """A task's limit as it is written."""

    id = Name(required=True, data_key="limit")
    text = Text(required=True)
    on = Name(required=True, data_key="task")
    time = Duration(required=True)
    since = Name(data_key="from")
    warn = Several(Duration(), distinct=True)
    cut = YesNo()

    @validates_schema(skip_on_field_errors=True)
    def _warns_in_time(self, data: Mapping[str, Any], **_: Any) -> None:
        if any(warn >= data["time"] for warn in data.get("warn", ())):
            raise ValidationError(WARNS_IN_TIME, "warn")


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit(Rule):
    """The task `on` may take `time` milliseconds, from the end of the tasks before it.

    `since` names the rule from whose beginning on it is counted instead, where tasks go on side by
    side. `warn` is how long before the end the crew is told. With `cut` the judge stops the task
    there, says so, and the crew goes on with the next.
    """

    kind: ClassVar[str] = "limit"
    schema: ClassVar[type[RuleSchema]] = LimitSchema

    on: TaskId
    time: int
    since: RuleId | None = None
    warn: tuple[int, ...] = ()
    cut: bool = False

    @property
    def control(self) -> Control:
        """The clock watches it; with `cut` the judge taps once, when the task was stopped."""
        return Control.CLOCK

    @property
    def asked(self) -> bool:
        """Never: the marks of the task answer it."""
        return False

    def says(self, terms: Terms) -> Iterator[str]:  # noqa: ARG002 - it needs none
        """How long, from when on, and what happens then."""
        since = f"the beginning of {self.since}" if self.since else "the end of the tasks before it"
        yield f"Task {self.on} may take {speak_duration(self.time)}, counted from {since}."
        if self.warn:
            warned = " and ".join(speak_duration(warn) for warn in self.warn)
            yield f"The crew is told {warned} before the end."
        if self.cut:
            yield "Then the judge stops the task, and the crew goes on with the next."

    def shown(self) -> Mapping[str, Any]:
        """The task, and whether the judge stops it."""
        return {"task": self.on, "cut": self.cut}

    def takes(self, said: Observation) -> bool:
        """With `cut`, that the task was stopped."""
        return self.cut and isinstance(said, Moved) and said.moment is Moment.END

    def references(self) -> Iterator[tuple[str, RuleId]]:
        """Also the rule from which on it is counted."""
        yield from Rule.references(self)
        if self.since is not None:
            yield "from", self.since

    def problems(self, terms: Terms) -> Iterator[tuple[Path, str]]:
        """A cost that no time can be charged by."""
        category = terms.categories[self.costs]
        if not category.fits_time:
            yield ("costs",), CHARGED_BY_TIME
        elif self.cut and category.per is not Per.OCCURRENCE:
            yield ("costs",), f"A task that is cut off costs once, not per {category.per}."

    def lets_go(self, run: Run) -> TaskId | None:
        """The task, once the judge has stopped it."""
        return self.on if self._stops(run) else None

    def failures(self, run: Run, terms: Terms) -> Iterator[Failure]:
        """One finding where the task was stopped, or for the time over the limit."""
        over = self._took(run, terms) - self.time
        stops = self._stops(run)
        if not stops and over <= 0:
            return
        last = stops[0] if stops else max(_marks(run, terms, self.on), key=lambda each: each.when)
        yield Failure(
            id=failure_id(self.id),
            rule=self.id,
            fault=Fault.OVER_LIMIT,
            costs=self.costs,
            count=1 if stops else terms.categories[self.costs].begun(over),
            at=last.at,
            margin=None if stops else over,
            stands_on=(last.id,),
            detail="stopped by the judge" if stops else "",
        )

    def _stops(self, run: Run) -> list[Entry]:
        """The judges' word that they stopped it."""
        return [
            entry
            for entry in run.seen.get(self.id, ())
            if isinstance(entry.what, Moved) and self.takes(entry.what)
        ]

    def _took(self, run: Run, terms: Terms) -> int:
        """How long the task took; 0 where nobody can tell."""
        [split] = [split for split in splits(run, terms) if split.task == self.on]
        if self.since is None or split.ended is None:
            return split.took or 0
        begun = terms.rules[self.since].begun(run)
        into = run.into(begun.at) if begun is not None else None
        return split.ended - max(0, into) if into is not None else 0


def _marks(run: Run, terms: Terms, task: TaskId) -> list[Entry]:
    """When what belongs to a task was done."""
    return [item[0] for rule in terms.tasks[task] for item in terms.rules[rule].done(run) if item]


LimitSchema.makes = Limit
