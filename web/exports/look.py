"""How a workbook looks: one plain style a kind of cell, fit for a black-and-white printer."""

from collections.abc import Iterable
from typing import Final

from openpyxl import Workbook
from openpyxl.styles import Alignment, Border, Font, NamedStyle, PatternFill, Side
from openpyxl.styles.cell_style import StyleArray

from scoring import Cell, CellKind

_HOUR: Final = 3_600_000
_BELOW: Final = Border(bottom=Side(style="hair"))
_ABOVE: Final = Border(top=Side(style="medium"))
_AROUND: Final = Border(top=Side(style="medium"), bottom=Side(style="medium"))
_SHADE: Final = PatternFill("solid", fgColor="E6E6E6")
_TOP_LEFT: Final = Alignment(vertical="top", horizontal="left", wrap_text=True, indent=1)
_TOP_RIGHT: Final = Alignment(vertical="top", horizontal="right", wrap_text=True)
_FONT: Final = "Arial"
_SIZE: Final = 10
_USUAL: Final = Font(_FONT, _SIZE)
_BOLD: Final = Font(_FONT, _SIZE, bold=True)
#: How high one line of text is, in points.
LINE: Final = 14.5
_TIMES: Final = frozenset({CellKind.TIME, CellKind.COST, CellKind.MOMENT})

#: Cells of these kinds and values decide how fine the workbook shows times.
Typed = Iterable[tuple[CellKind, Cell]]


class Look:
    """The styles of one workbook, each made once; a cell is given one when it is made."""

    def __init__(self, book: Workbook, cells: Typed, step: int) -> None:
        times = [(kind, ms) for kind, ms in cells if kind in _TIMES and isinstance(ms, int)]
        fine = [step, *(ms for kind, ms in times if kind is not CellKind.MOMENT)]
        whole = "[h]:mm:ss" if any(abs(ms) >= _HOUR for _, ms in times) else "[m]:ss"
        decimals = _decimals(fine)
        self._formats = {
            CellKind.TEXT: "@",
            CellKind.TIME: whole + decimals,
            CellKind.MOMENT: whole + ".0",
            CellKind.COST: whole + decimals,
            CellKind.COUNT: "0",
            CellKind.PLACE: "0",
        }
        self._book = book
        self.title = self._style(Font(_FONT, 14, bold=True), Alignment(vertical="top"))
        self.note = self._style(
            Font(_FONT, _SIZE, italic=True), Alignment("left", "top", wrap_text=True)
        )
        self.label = self._style(_BOLD, _TOP_LEFT, _BELOW)
        self.head = {
            kind: self._style(_BOLD, _aligned(kind), _AROUND, fill=_SHADE) for kind in CellKind
        }
        self.cell = {kind: self._style(_USUAL, _aligned(kind), _BELOW, kind) for kind in CellKind}
        self.sum = {kind: self._style(_BOLD, _aligned(kind), _ABOVE, kind) for kind in CellKind}
        self.fact = {kind: self._style(_USUAL, _TOP_LEFT, _BELOW, kind) for kind in CellKind}
        self.main = {kind: self._style(_BOLD, _TOP_LEFT, _BELOW, kind) for kind in CellKind}

    def _style(
        self,
        font: Font,
        aligned: Alignment,
        border: Border | None = None,
        kind: CellKind = CellKind.TEXT,
        fill: PatternFill | None = None,
    ) -> StyleArray:
        number = len(self._book.named_styles)
        named = NamedStyle(
            f"Sheet {number}", font, fill or PatternFill(), border or Border(), aligned
        )
        named.number_format = self._formats[kind]
        self._book.add_named_style(named)
        style = StyleArray(named.as_tuple())
        # Text keeps its leading sign when somebody edits it.
        style.quotePrefix = int(kind is CellKind.TEXT)
        return style


def _aligned(kind: CellKind) -> Alignment:
    return _TOP_LEFT if kind is CellKind.TEXT else _TOP_RIGHT


def _decimals(times: Iterable[int]) -> str:
    """The part of a number format that shows every time exactly: nothing, `.0`, `.00`, `.000`."""
    known = list(times)
    places = next(n for n in range(4) if all(ms % 10 ** (3 - n) == 0 for ms in known))
    return f".{'0' * places}" if places else ""
