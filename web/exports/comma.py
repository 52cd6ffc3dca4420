"""Tables to comma-separated text that no spreadsheet takes for formulas."""

import csv
from io import StringIO

from scoring import Cell, CellKind, Table, format_duration, format_seconds, format_thousandths
from web.exports.plain import csv_text


def table_csv(table: Table, step: int = 1) -> bytes:
    """A table as UTF-8 with a byte order mark; `step` is how fine times are written, in ms."""
    text = StringIO()
    rows = csv.writer(text)
    rows.writerow(column.title for column in table.columns)
    kinds = [column.kind for column in table.columns]
    for row in table.rows:
        rows.writerow(_say(kind, cell, step) for kind, cell in zip(kinds, row, strict=True))
    return text.getvalue().encode("utf-8-sig")


def _say(kind: CellKind, cell: Cell, step: int) -> str:
    """A cell as people write it; empty where there is nothing."""
    match cell:
        case None:
            return ""
        case str():
            return csv_text(cell)
        case int() if kind is CellKind.COST:
            return format_seconds(cell)
        case int() if kind in {CellKind.TIME, CellKind.MOMENT}:
            return format_duration(cell, step)
        case int() if kind is CellKind.POINTS:
            return format_thousandths(cell)
    return str(cell)
