"""The workbook that the sheets of an event kept on paper are keyed into, and back."""

from io import BytesIO
from typing import Final

from openpyxl import Workbook
from openpyxl.styles import Alignment, Border, Font, NamedStyle, Side
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from scoring import Keyed, KeyTable, Rulebook, key_tables, read_keyed
from web.exports.plain import cell_text
from web.exports.run_table import read_sheets

#: Excel takes no longer name for a sheet, and none of these characters in it.
_LONGEST: Final = 31
_WIDTHS: Final = (16, 18, 48, 34)
_USUAL: Final = 13
_HEADS: Final = 2
_MORE_ROWS: Final = 60
_FONT: Final = "Arial"
#: Everything is text: what is keyed stays as it was typed, `7:10` too.
_STYLES: Final = {
    "Printed": (Font(_FONT, 10), Alignment(vertical="top", wrap_text=True), Border()),
    "Head": (Font(_FONT, 10, bold=True), Alignment(vertical="top"), Border()),
    "Keyed": (
        Font(_FONT, 10),
        Alignment(vertical="top"),
        Border(*(Side(style="hair"),) * 4),
    ),
}


def keying_workbook(book: Rulebook, runs: int) -> bytes:
    """One sheet for the runs, one for each post and one for the head judge's decisions."""
    workbook = Workbook()
    workbook.properties.creator = "Fairlead"
    for name, (font, alignment, border) in _STYLES.items():
        workbook.add_named_style(
            NamedStyle(name, font, alignment=alignment, border=border, number_format="@")
        )
    first = workbook.worksheets[0]
    for table in key_tables(book, runs):
        _sheet(workbook.create_sheet(_title(workbook, table.name)), table)
    workbook.remove(first)
    content = BytesIO()
    workbook.save(content)
    return content.getvalue()


def _title(workbook: Workbook, name: str) -> str:
    """A name for a sheet that no other has, whatever the case of letters."""
    taken = {title.casefold() for title in workbook.sheetnames}
    titles = (name[:_LONGEST], *(f"{name[: _LONGEST - 4]} {n}" for n in range(2, 200)))
    return next(title for title in titles if title.casefold() not in taken)


def _sheet(sheet: Worksheet, table: KeyTable) -> None:
    width = len(table.heads[1])
    more = _MORE_ROWS if not table.rows else 0
    for number, row in enumerate((*table.heads, *table.rows, *((),) * more), start=1):
        for column in range(max(width, len(row))):
            text = row[column] if column < len(row) else ""
            cell = sheet.cell(number, column + 1)
            cell.style = (
                "Head" if number <= _HEADS else ("Printed" if column < table.keyed else "Keyed")
            )
            if text:
                cell.value = cell_text(text)
                # What begins with '=' is no formula.
                cell.data_type = "s"
    printed = table.keyed > 1
    for column in range(width):
        wide = _WIDTHS[column] if printed and column < table.keyed else _USUAL
        sheet.column_dimensions[get_column_letter(column + 1)].width = wide
    sheet.freeze_panes = f"{get_column_letter(table.keyed + 1)}{_HEADS + 1}"
    sheet.print_title_rows = f"1:{_HEADS}"


def read_keying(content: bytes, book: Rulebook, file: str) -> Keyed:
    """The runs of a keyed workbook, each scored; raises `TableError`."""
    return read_keyed(read_sheets(content, file), book, file)
