"""How long each task of a run took, from the judges' marks."""

from collections.abc import Iterator
from dataclasses import dataclass

from scoring.fold import Run
from scoring.ids import TaskId
from scoring.kinds.base import Terms


@dataclass(frozen=True, slots=True)
class Split:
    """A task's part of the run, in milliseconds into the run and of its length.

    A task takes from the later of the start and the end of the tasks before it until its own last
    mark; none where nobody marked it as it happened.
    """

    task: TaskId
    ended: int | None
    took: int | None


def splits(run: Run, terms: Terms) -> Iterator[Split]:
    """The parts of a run, in the order of the tasks."""
    reached = 0
    for task, rules in terms.tasks.items():
        moments = [
            max(0, into)
            for rule in rules
            for time in terms.rules[rule].moments(run)
            if (into := run.into(time)) is not None
        ]
        if not moments:
            yield Split(task, None, None)
            continue
        ended = max(moments)
        yield Split(task, ended, max(0, ended - reached))
        reached = max(reached, ended)
