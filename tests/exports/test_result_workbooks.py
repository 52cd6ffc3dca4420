"""LibreOffice comes to the engine's own numbers for results in points and for overall standings."""

from datetime import timedelta
from pathlib import Path
from typing import Any, Final

import pytest
from openpyxl.worksheet.worksheet import Worksheet

from scoring import (
    Cell,
    CellKind,
    Entrant,
    Rulebook,
    Standing,
    Table,
    TeamId,
    overall,
    overall_table,
    rank,
    standings_table,
    team_sheet,
)
from tests.exports.office import recalculated
from tests.scoring.builders import book, breached, card, marked, missed
from tests.scoring.meets import races, series
from web.exports.workbook import standings_workbook, team_workbook

FIRST = 4
_PENALTIES: Final = "{slip: {points: 2.5}, grave: {seconds: 30}}"
_RULES: Final = """
  - {step: A1, do: Stop the drive, post: north, costs: slip}
  - {conduct: gloves, text: Gloves on, post: north, costs: grave}
  - {bonus: neat, text: Neat work, post: south, gives: slip}"""


def of(points: str, **more: str) -> Rulebook:
    return book(result="points", penalties=_PENALTIES, rules=_RULES, points=points, **more)


def field(rules: Rulebook) -> tuple[Standing, ...]:
    runs = {
        "clean": card(rules),
        "mixed": card(rules, missed("A1"), breached(), marked("neat")),
    }
    return rank([(Entrant(TeamId(name), name.title()), run) for name, run in runs.items()], rules)


def thousandths(cell: Any, kind: CellKind) -> Cell:
    """What a cell holds, as the engine has it."""
    value: Cell = "" if cell is None and kind is CellKind.TEXT else cell
    if isinstance(cell, timedelta):
        value = round(cell / timedelta(milliseconds=1))
    elif kind is CellKind.POINTS and cell is not None:
        value = round(cell * 1_000)
    return value


def held(page: Worksheet, table: Table) -> list[tuple[Cell, ...]]:
    rows = page.iter_rows(min_row=FIRST, max_row=FIRST - 1 + len(table.rows), values_only=True)
    kinds = [column.kind for column in table.columns]
    return [tuple(map(thousandths, row, kinds)) for row in rows]


@pytest.mark.parametrize(
    "points",
    [
        "{start: 100, time: {points: 0.5, beyond: 9 min}}",
        "{start: 100, floor: 90, time: {points: 0.5, beyond: 9 min}}",
        "{best: least, time: {points: 1, beyond: 9 min}}",
    ],
)
def test_a_summary_in_points_comes_to_the_engines_own_numbers(tmp_path: Path, points: str) -> None:
    rules = of(points)
    rows = field(rules)
    sheet = team_sheet(rows[1], rows, rules, {})
    opened = recalculated(team_workbook(sheet), tmp_path / "team")
    cells = opened["Summary"].iter_rows(min_row=2, values_only=True)
    shown = [
        thousandths(value, fact.kind) for (_, value), fact in zip(cells, sheet.summary, strict=True)
    ]
    assert shown == [fact.value for fact in sheet.summary]


def test_standings_in_points_come_to_the_engines_own_numbers(tmp_path: Path) -> None:
    rules = of("{start: 100, time: {points: 0.5, beyond: 9 min}}")
    table = standings_table(field(rules), rules)
    opened = recalculated(standings_workbook(table, rules), tmp_path / "standings")
    assert held(opened["Standings"], table) == list(table.rows)


def test_overall_totals_are_live_sums_that_come_out_right(tmp_path: Path) -> None:
    meet = series(3, "{by: places, missing: entries + 1, drop: 1, shared: mean}")
    table = overall_table(overall(meet, races({"a": (1, 3, 2), "b": (2, 2, 2)})), meet)
    rules = meet.events["r1"].rulebook
    opened = recalculated(standings_workbook(table, rules), tmp_path / "overall")
    assert held(opened["Overall"], table) == list(table.rows)
