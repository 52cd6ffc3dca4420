"""Tables to workbooks: one for each team, one for the standings.

Times are real durations on the 1904 calendar, which alone shows those below nothing. Totals are
live formulas; they come to the engine's own numbers, to the millisecond.
"""

from collections.abc import Iterable
from io import BytesIO
from typing import Final
from unicodedata import east_asian_width

from openpyxl import Workbook
from openpyxl.utils import get_column_letter
from openpyxl.utils.datetime import CALENDAR_MAC_1904
from openpyxl.worksheet.properties import PageSetupProperties
from openpyxl.worksheet.worksheet import Worksheet

from scoring import Cell, CellKind, Fact, Meet, Rulebook, Table, TeamSheet
from web.exports.look import LINE, TIMES, Look, Part, StyledCell
from web.exports.plain import cell_text, page_text

_DAY: Final = 86_400_000
_POINT: Final = 1_000
_HOUR: Final = 3_600_000
#: Rows of a table's sheet, from 1: title, note, heads, then the rows.
_HEADS: Final = 3
_FIRST: Final = _HEADS + 1
_A4: Final = 9
_SHORT: Final = 12
_WIDTHS: Final = {
    "task": 8,
    "rule": 13,
    "text": 38,
    "title": 30,
    "fault": 24,
    "how": 22,
    "seen": 22,
    "state": 15,
    "ruling": 24,
    "item": 15,
    "by": 14,
    "answer": 22,
    "reason": 40,
    "what": 15,
    "team": 36,
    "division": 16,
    "remark": 44,
    "count": 8,
    "place": 8,
}
_USUAL: Final = 10.5
_SUMMARY: Final = (26, 70)
#: The facts that the rest of a summary leads to.
_MAIN: Final = {"team", "official", "penalty", "bonus", "total", "place"}


def team_workbook(sheet: TeamSheet) -> bytes:
    """A team's workbook: Summary, Findings, Callouts, Splits, Steps, and what else its run has."""
    book = _workbook()
    look = Look(book, sheet.step, hours=_hours(sheet.tables, *sheet.summary))
    page = _Page(sheet.name, f"{sheet.event}, edition {sheet.edition}", sheet.hash)
    _summary(book, sheet, look, page)
    for table in sheet.tables:
        _table(book, table, f"{table.title}: {sheet.name}", look, page)
    return _bytes(book)


def standings_workbook(table: Table, rulebook: Rulebook) -> bytes:
    """The standings as a workbook of one sheet."""
    book = _workbook()
    look = Look(book, rulebook.clock.step, hours=_hours([table]))
    event = f"{rulebook.title}, edition {rulebook.edition}"
    _table(book, table, table.title, look, _Page(table.note, event, rulebook.hash))
    return _bytes(book)


def overall_workbook(table: Table, meet: Meet) -> bytes:
    """Overall standings as a workbook of one sheet."""
    book = _workbook()
    page = _Page(table.note, f"{meet.title}, edition {meet.edition}", meet.hash, "Meet")
    _table(book, table, table.title, Look(book, 1, hours=False), page)
    return _bytes(book)


def _workbook() -> Workbook:
    book = Workbook()
    book.epoch = CALENDAR_MAC_1904
    book.properties.creator = "Fairlead"
    return book


def _bytes(book: Workbook) -> bytes:
    file = BytesIO()
    book.remove(book.worksheets[0])
    book.save(file)
    return file.getvalue()


def _hours(tables: Iterable[Table], *facts: Fact) -> bool:
    """Whether a workbook will show a time of an hour or more."""
    cells = [(fact.kind, (fact.value,)) for fact in facts] + [
        (column.kind, table.column(column.key))
        for table in tables
        for column in table.columns
        if column.kind in TIMES
    ]
    return any(
        isinstance(value, int) and abs(value) >= _HOUR
        for kind, values in cells
        for value in values
        if kind in TIMES
    )


class _Page:
    """What stands at the edge of every printed page."""

    def __init__(self, left: str, middle: str, digest: str, file: str = "Rulebook") -> None:
        self._left, self._middle = page_text(left), page_text(middle)
        self._right = f"{file} {digest[:_SHORT]}"

    def set_up(self, sheet: Worksheet, heads: int, *, landscape: bool) -> None:
        """Prepare a sheet for the printer: repeat its heads, fit its width, number its pages."""
        header, footer = sheet.oddHeader, sheet.oddFooter
        if header is not None and footer is not None:
            for part, text in (
                (header.left, self._left),
                (header.center, self._middle),
                (header.right, self._right),
                (footer.center, "Page &P of &N"),
            ):
                if part is not None:
                    part.text = text
        sheet.page_setup.orientation = "landscape" if landscape else "portrait"
        sheet.page_setup.paperSize = _A4
        sheet.page_setup.fitToHeight = 0
        sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
        sheet.page_margins.left = sheet.page_margins.right = 0.4
        if heads:
            sheet.print_title_rows = f"{heads}:{heads}"
            sheet.freeze_panes = f"A{heads + 1}"


def _cell(sheet: Worksheet, value: Cell | float, style: int) -> StyledCell:
    """A cell of a text or a number, or an empty one."""
    if not value or not isinstance(value, str):
        return StyledCell(sheet, None if value == "" else value, style)
    cell = StyledCell(sheet, cell_text(value) or None, style)
    # openpyxl takes what begins with '=' for a formula and '#N/A' for an error.
    cell.data_type = "s"
    return cell


def _counted(kind: CellKind, value: Cell) -> Cell | float:
    """A time as the part of a day that a spreadsheet counts in, points as points."""
    if not isinstance(value, int):
        return value
    if kind is CellKind.POINTS:
        return value / _POINT
    return value / _DAY if kind in TIMES else value


def _formula(sheet: Worksheet, formula: str, style: int) -> StyledCell:
    return StyledCell(sheet, formula, style)


def _lines(text: Cell, width: float) -> int:
    """How many lines a text takes in a column, as far as its letters' average width tells.

    Not every program makes rows high enough by itself.
    """
    if not text or not isinstance(text, str) or (len(text) < 1.2 * width - 1 and "\n" not in text):
        return 1
    return sum(1 + int(_wide(line) // (1.2 * width - 1)) for line in text.split("\n"))


def _wide(line: str) -> int:
    """A line's width in narrow letters; those of East Asia and most emoji take two."""
    if line.isascii():
        return len(line)
    return len(line) + sum(east_asian_width(each) in "WF" for each in line)


def _summary(book: Workbook, team: TeamSheet, look: Look, page: _Page) -> None:
    sheet = book.create_sheet("Summary")
    for letter, width in zip("AB", _SUMMARY, strict=True):
        sheet.column_dimensions[letter].width = width
    sheet.append([_cell(sheet, "Penalty sheet", look.style(Part.TITLE))])
    sheet.row_dimensions[1].height = 2 * LINE
    rows = {fact.key: n for n, fact in enumerate(team.summary, start=2)}
    names = {key: f"B{row}" for key, row in rows.items()} | {
        f"{table.name}.{column.key}": f"SUM({table.name.capitalize()}!{_range(table, column.key)})"
        for table in team.tables
        for column in table.columns
    }
    for number, fact in enumerate(team.summary, start=2):
        part = Part.MAIN if fact.key in _MAIN else Part.FACT
        style = look.style(part, fact.kind, (fact.value,))
        sheet.append(
            [
                _cell(sheet, fact.title, look.style(Part.MAIN)),
                _formula(sheet, _sum(fact.made_of, names), style)
                if fact.made_of
                else _cell(sheet, _counted(fact.kind, fact.value), style),
            ]
        )
        if (high := _lines(fact.value, _SUMMARY[1])) > 1:
            sheet.row_dimensions[number].height = LINE * high
    page.set_up(sheet, 0, landscape=False)


def _table(book: Workbook, table: Table, title: str, look: Look, page: _Page) -> None:
    sheet = book.create_sheet(table.name.capitalize())
    columns, last = table.columns, get_column_letter(len(table.columns))
    widths = [_WIDTHS.get(column.key, _USUAL) for column in columns]
    letters = {column.key: get_column_letter(n) for n, column in enumerate(columns, start=1)}
    for letter, width in zip(letters.values(), widths, strict=True):
        sheet.column_dimensions[letter].width = width
    for number, text, style in (
        (1, title, look.style(Part.TITLE)),
        (2, table.note, look.style(Part.NOTE)),
    ):
        sheet.append([_cell(sheet, text, style)])
        # merge_cells() would also style every cell of the range, for a tenth of the whole time.
        sheet.merged_cells.add(f"A{number}:{last}{number}")
    sheet.row_dimensions[1].height = 1.5 * LINE
    sheet.row_dimensions[2].height = LINE * _lines(table.note, sum(widths))
    sheet.append(
        [_cell(sheet, column.title, look.style(Part.HEAD, column.kind)) for column in columns]
    )
    sheet.row_dimensions[_HEADS].height = LINE * max(
        _lines(column.title, width) for column, width in zip(columns, widths, strict=True)
    )
    styles = [look.style(Part.CELL, column.kind, table.column(column.key)) for column in columns]
    for number, row in enumerate(table.rows, start=_FIRST):
        sheet.append(
            [
                _formula(sheet, _sum(column.made_of, letters, number), style)
                if column.made_of and value is not None
                else _cell(sheet, _counted(column.kind, value), style)
                for column, value, style in zip(columns, row, styles, strict=True)
            ]
        )
        if (high := max(map(_lines, row, widths))) > 1:
            sheet.row_dimensions[number].height = LINE * high
    sheet.auto_filter.ref = f"A{_HEADS}:{last}{_last(table)}"
    if any(column.total for column in columns):
        _totals(sheet, table, look)
    page.set_up(sheet, _HEADS, landscape=True)


def _sum(made_of: tuple[tuple[str, str], ...], names: dict[str, str], row: int | str = "") -> str:
    """The formula of what is made of other cells; what is not there counts for nothing."""
    parts = [f"{sign}{names[key]}{row}" for sign, key in made_of if key in names]
    return f"={''.join(parts).removeprefix('+')}"


def _totals(sheet: Worksheet, table: Table, look: Look) -> None:
    """The last row: the sums of the columns that have one."""
    if not table.rows:
        sheet.append([None])
    sheet.append(
        [
            _formula(
                sheet,
                f"=SUM({_range(table, column.key)})",
                look.style(Part.SUM, column.kind, table.column(column.key)),
            )
            if column.total
            else _cell(sheet, "Total" if n == 0 else None, look.style(Part.SUM, CellKind.TEXT))
            for n, column in enumerate(table.columns)
        ]
    )


def _last(table: Table) -> int:
    """The last row of a table's cells; an empty table keeps one empty row, so that it has a sum."""
    return _HEADS + max(1, len(table.rows))


def _range(table: Table, key: str) -> str:
    """The cells of a column, whichever sheet asks."""
    letter = get_column_letter([column.key for column in table.columns].index(key) + 1)
    return f"${letter}${_FIRST}:${letter}${_last(table)}"
