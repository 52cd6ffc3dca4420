"""Each task's time against the field's."""

from collections.abc import Mapping
from fractions import Fraction
from typing import Final

from scoring.durations import Rounding, round_to
from scoring.ids import TaskId
from scoring.kinds.splits import Split
from scoring.rulebook import Rulebook
from scoring.scorecard import Scorecard
from scoring.sheets.cells import Cell, CellKind, Column, Table

_SPLITS: Final = (
    Column("task", "Task"),
    Column("title", "Title"),
    Column("ended", "Ended at", CellKind.MOMENT),
    Column("took", "Took", CellKind.MOMENT, total=True),
    Column("median", "Median of the field", CellKind.MOMENT, total=True),
    Column(
        "over_median",
        "Over the median",
        CellKind.MOMENT,
        total=True,
        made_of=(("+", "took"), ("-", "median")),
    ),
    Column("best", "Best of the field", CellKind.MOMENT, total=True),
    Column(
        "over_best",
        "Over the best",
        CellKind.MOMENT,
        total=True,
        made_of=(("+", "took"), ("-", "best")),
    ),
)


def splits_table(card: Scorecard, ranked: list[Scorecard], book: Rulebook) -> Table:
    """The splits of a run against those of the `ranked` ones."""
    fields: dict[TaskId, list[int]] = {}
    for split in (split for other in ranked for split in other.splits):
        if split.took is not None:
            fields.setdefault(split.task, []).append(split.took)
    titles = {task.id: task.title for task in book.tasks}
    return Table(
        "splits",
        "Splits",
        _SPLITS,
        tuple(_split(split, titles, fields.get(split.task, [])) for split in card.splits),
        "A task takes until its last mark. The field is who has a result "
        f"({len(ranked)} of them); of an even number the median is the mean of the middle two, "
        "half a millisecond rounded up. Less than nothing is quicker.",
    )


def _split(split: Split, titles: Mapping[TaskId, str], field: list[int]) -> tuple[Cell, ...]:
    median, best = _median(field), min(field, default=None)
    return (
        split.task,
        titles[split.task],
        split.ended,
        split.took,
        median,
        split.took - median if split.took is not None and median is not None else None,
        best,
        split.took - best if split.took is not None and best is not None else None,
    )


def _median(times: list[int]) -> int | None:
    """The middle time; of an even number the mean of the middle two, half a millisecond up."""
    if not times:
        return None
    ordered = sorted(times)
    middle = ordered[(len(ordered) - 1) // 2] + ordered[len(ordered) // 2]
    return round_to(Fraction(middle, 2), 1, Rounding.HALF_UP)
