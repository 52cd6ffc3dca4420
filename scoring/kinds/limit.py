"""A time limit on a task; the limits of the walkthrough and the run stand in the clock section."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar, Final

from scoring.fields import Duration, Name, Several, Text, YesNo
from scoring.fold import Run
from scoring.ids import EntryId, TaskId
from scoring.kinds.base import (
    Control,
    Failure,
    Fault,
    Rule,
    RuleSchema,
    Terms,
    failure_id,
)
from scoring.kinds.splits import splits
from scoring.penalties import Per

_UNITS: Final = {Per.SECOND: 1_000, Per.MINUTE: 60_000}


class LimitSchema(RuleSchema):
    """A task's limit as it is written."""

    id = Name(required=True, data_key="limit")
    text = Text(required=True)
    on = Name(required=True)
    time = Duration(required=True)
    warn = Several(Duration())
    cut = YesNo()


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit(Rule):
    """The task `on` may take `time` milliseconds, from the end of the tasks before it.

    `warn` is how long before the end the crew is told. With `cut` the judge stops the task there
    and the crew goes on with the next.
    """

    kind: ClassVar[str] = "limit"
    schema: ClassVar[type[RuleSchema]] = LimitSchema

    on: TaskId
    time: int
    warn: tuple[int, ...] = ()
    cut: bool = False

    @property
    def control(self) -> Control:
        """Nothing to tap: the clock watches it."""
        return Control.CLOCK

    @property
    def asked(self) -> bool:
        """Never: the marks of the task answer it."""
        return False

    def failures(self, run: Run, terms: Terms) -> Iterator[Failure]:
        """One finding for the time over the limit, in started seconds or minutes."""
        took = next((split.took for split in splits(run, terms) if split.task == self.on), None)
        over = 0 if took is None else took - self.time
        if over > 0:
            unit = _UNITS.get(terms.categories[self.costs].per, over)
            yield Failure(
                id=failure_id(self.id),
                rule=self.id,
                fault=Fault.OVER_LIMIT,
                costs=self.costs,
                count=-(-over // unit),
                margin=over,
                stands_on=_last_mark(run, terms, self.on),
            )


def _last_mark(run: Run, terms: Terms, task: TaskId) -> tuple[EntryId, ...]:
    """The mark that says when the task was over."""
    marks = [item[0] for rule in terms.tasks[task] for item in terms.rules[rule].done(run) if item]
    return (max(marks, key=lambda entry: entry.when).id,) if marks else ()


LimitSchema.makes = Limit
