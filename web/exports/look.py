"""How a workbook looks: plain, and fit for a black-and-white printer."""

from collections.abc import Iterable
from enum import Enum
from typing import Final

from openpyxl import Workbook
from openpyxl.cell import Cell as SheetCell
from openpyxl.styles import Alignment, Border, Font, NamedStyle, PatternFill, Side
from openpyxl.styles.cell_style import StyleArray
from openpyxl.worksheet.worksheet import Worksheet

from scoring import Cell, CellKind

#: The kinds whose cells are milliseconds.
TIMES: Final = frozenset({CellKind.TIME, CellKind.COST, CellKind.MOMENT})
#: How high one line of text is, in points.
LINE: Final = 14.5

_TEXT: Final = Alignment(vertical="top", horizontal="left", wrap_text=True, indent=1)
_NUMBER: Final = Alignment(vertical="top", horizontal="right", wrap_text=True)
_FONT: Final = "Arial"
_PLAIN: Final = Font(_FONT, 10)
_BOLD: Final = Font(_FONT, 10, bold=True)
_NONE: Final = Border()
_BELOW: Final = Border(bottom=Side(style="hair"))
_ABOVE: Final = Border(top=Side(style="medium"))
_AROUND: Final = Border(top=Side(style="medium"), bottom=Side(style="medium"))
_EMPTY: Final = PatternFill()
_SHADE: Final = PatternFill("solid", fgColor="E6E6E6")


class Part(Enum):
    """What a cell is for: its font and border, and its alignment where the kind does not say."""

    TITLE = (Font(_FONT, 14, bold=True), _NONE, Alignment(vertical="top"))
    NOTE = (Font(_FONT, 10, italic=True), _NONE, Alignment("left", "top", wrap_text=True))
    HEAD = (_BOLD, _AROUND, None)
    CELL = (_PLAIN, _BELOW, None)
    SUM = (_BOLD, _ABOVE, None)
    FACT = (_PLAIN, _BELOW, _TEXT)
    MAIN = (_BOLD, _BELOW, _TEXT)


class StyledCell(SheetCell):
    """A cell that knows its style's number; openpyxl's own looks it up anew for every cell."""

    __slots__ = ("_number",)
    has_style = True

    def __init__(self, sheet: Worksheet, value: str | float | None, style: int) -> None:
        super().__init__(sheet, 1, 1, value)
        self._number = style

    @property
    def style_id(self) -> int:
        """The style's number in its workbook."""
        return self._number


class Look:
    """The styles of one workbook, each made once, when first asked for.

    `step` is the finest step of the official time in milliseconds; with `hours` times show them.
    """

    def __init__(self, book: Workbook, step: int, *, hours: bool) -> None:
        self._book, self._step = book, step
        self._whole = "[h]:mm:ss" if hours else "[m]:ss"
        self._made: dict[tuple[Part, str], int] = {}

    def style(self, part: Part, kind: CellKind = CellKind.TEXT, values: Iterable[Cell] = ()) -> int:
        """The number of the style of cells of a kind that shall hold `values`."""
        form = self._form(kind, values)
        if (part, form) not in self._made:
            # A style set cell by cell doubles the time to write a workbook.
            self._made[part, form] = self._make(part, form, is_text=kind is CellKind.TEXT)
        return self._made[part, form]

    def _form(self, kind: CellKind, values: Iterable[Cell]) -> str:
        if kind is CellKind.TEXT:
            return "@"
        if kind is CellKind.POINTS:
            return "0" + _decimals([points for points in values if isinstance(points, int)])
        if kind not in TIMES:
            return "0"
        if kind is CellKind.MOMENT:
            return f"{self._whole}.0"
        return self._whole + _decimals([self._step, *(ms for ms in values if isinstance(ms, int))])

    def _make(self, part: Part, form: str, *, is_text: bool) -> int:
        font, border, aligned = part.value
        named = NamedStyle(
            f"{part.name.capitalize()} {len(self._made)}",
            font,
            _SHADE if part is Part.HEAD else _EMPTY,
            border,
            aligned or (_TEXT if is_text else _NUMBER),
            form,
        )
        self._book.add_named_style(named)
        style = StyleArray(named.as_tuple())
        # Text keeps its leading sign when somebody edits it.
        style.quotePrefix = int(is_text)
        return SheetCell(self._book.worksheets[0], 1, 1, style_array=style).style_id


def _decimals(thousandths: list[int]) -> str:
    """The part of a number format that shows each exactly: nothing, `.0`, `.00`, `.000`."""
    places = next(n for n in range(4) if all(ms % 10 ** (3 - n) == 0 for ms in thousandths))
    return f".{'0' * places}" if places else ""
