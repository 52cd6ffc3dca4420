"""Tables of typed cells: what they are, whoever shows them."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TypeAlias

Cell: TypeAlias = str | int | None


class CellKind(StrEnum):
    """What a cell holds: text is `str`, all else whole numbers; None leaves it empty."""

    TEXT = "text"
    #: A length of time, in milliseconds.
    TIME = "time"
    #: In milliseconds, told by judges' taps: into the run, or between two; good to a tenth of a
    #: second at best.
    MOMENT = "moment"
    #: What a finding costs, in milliseconds.
    COST = "cost"
    #: In thousandths of a point.
    POINTS = "points"
    COUNT = "count"
    PLACE = "place"


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table.

    `total`: the table ends with its sum. `made_of` names the columns it is made of, each with its
    sign: `(("+", "took"), ("-", "median"))`; where one of them is empty it is empty too, and
    one that the table has not counts for nothing.
    """

    key: str
    title: str
    kind: CellKind = CellKind.TEXT
    total: bool = False
    made_of: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of typed cells, each as long as `columns`; `note` tells how to read them."""

    name: str
    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    note: str = ""

    def column(self, key: str) -> tuple[Cell, ...]:
        """The cells of one column; raises KeyError where there is none."""
        places = {column.key: n for n, column in enumerate(self.columns)}
        return tuple(row[places[key]] for row in self.rows)

    def without(self, key: str) -> "Table":
        """The table without one column."""
        kept = [n for n, column in enumerate(self.columns) if column.key != key]
        return replace(
            self,
            columns=tuple(self.columns[n] for n in kept),
            rows=tuple(tuple(row[n] for n in kept) for row in self.rows),
        )

    def total(self, key: str) -> int:
        """The sum of a column of numbers, empty cells left out."""
        return sum(cell for cell in self.column(key) if isinstance(cell, int))


@dataclass(frozen=True, slots=True)
class Fact:
    """One line of a summary.

    `made_of` names the facts it is made of, each with its sign; `findings.cost` is the total of a
    column of a table.
    """

    key: str
    title: str
    value: Cell
    kind: CellKind = CellKind.TEXT
    made_of: tuple[tuple[str, str], ...] = ()


def stacked(tables: Sequence[Table]) -> Table:
    """The same table of several attempts as one, each row with the number of its attempt."""
    first = next((table for table in tables if table.rows), tables[0])
    return replace(
        first,
        columns=(Column("attempt", "Attempt", CellKind.COUNT), *first.columns),
        rows=tuple(
            (number, *row) for number, table in enumerate(tables, start=1) for row in table.rows
        ),
    )
