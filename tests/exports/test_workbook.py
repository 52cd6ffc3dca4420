from dataclasses import replace
from datetime import timedelta
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook, load_workbook
from openpyxl.worksheet.worksheet import Worksheet

from scoring import Cell, CellKind, Column, Table, TeamSheet, format_duration, standings_table
from scoring import team_sheet as sheet_of
from tests.exports.meet import BOOK, PEOPLE, field, standing
from tests.exports.office import recalculated, shown
from web.exports.workbook import standings_workbook, team_workbook

HEADS, FIRST = 3, 4
HOSTILE = (
    "=1+1",
    "@x",
    "+1",
    "-1",
    "\t=cmd|' /C calc'!A0",
    "bell\x07 and escape\x1b",
    "n" * 300,
    "שלום צוות",
    "🚡🪢 crew",
    "#N/A",
    "_x0041_",
    "&P of &N",
    "two\nlines",
    "<t>&amp;</t>",
    "'quoted",
    "TRUE",
    "1:30",
)


def sheet(name: str = "Anvil") -> TeamSheet:
    rows = field()
    return sheet_of(standing(name, rows), rows, BOOK, PEOPLE, "3, provisional")


def opened(content: bytes) -> Workbook:
    return load_workbook(BytesIO(content))


def ms(cell: Any) -> Any:
    """Read a duration back as whole milliseconds."""
    return round(cell / timedelta(milliseconds=1)) if isinstance(cell, timedelta) else cell


def body(page: Worksheet, table: Table) -> list[tuple[Cell, ...]]:
    """The rows of a table as the workbook holds them, in milliseconds, empty text as ''."""
    rows = page.iter_rows(min_row=FIRST, max_row=HEADS + len(table.rows), values_only=True)
    texts = [column.kind is CellKind.TEXT for column in table.columns]
    return [
        tuple(
            "" if text and cell is None else ms(cell) for text, cell in zip(texts, row, strict=True)
        )
        for row in rows
    ]


@pytest.fixture(scope="module")
def recalculated_book(tmp_path_factory: pytest.TempPathFactory) -> Workbook:
    return recalculated(team_workbook(sheet()), tmp_path_factory.mktemp("office") / "team")


def test_libreoffice_makes_every_cell_the_engines_own(recalculated_book: Workbook) -> None:
    for table in sheet().tables:
        assert body(recalculated_book[table.name.capitalize()], table) == list(table.rows)


def test_libreoffice_makes_every_total_the_engines_own(recalculated_book: Workbook) -> None:
    for table in sheet().tables:
        last = FIRST + len(table.rows)
        row = next(
            recalculated_book[table.name.capitalize()].iter_rows(min_row=last, values_only=True),
            (),
        )
        totals = {
            column.key: ms(cell)
            for column, cell in zip(table.columns, row, strict=False)
            if column.total
        }
        assert totals == {
            column.key: table.total(column.key) for column in table.columns if column.total
        }


def test_libreoffice_makes_the_summary_the_engines_own(recalculated_book: Workbook) -> None:
    cells = recalculated_book["Summary"].iter_rows(min_row=2, values_only=True)
    assert [ms(value) for _, value in cells] == [fact.value for fact in sheet().summary]


def test_what_is_a_total_is_a_live_formula() -> None:
    book = opened(team_workbook(sheet()))
    facts = {fact.key: n for n, fact in enumerate(sheet().summary, start=2)}
    summary = book["Summary"]
    assert summary[f"B{facts['penalty']}"].value == "=SUM(Findings!$G$4:$G$11)"
    assert summary[f"B{facts['bonus']}"].value == "=SUM(Findings!$H$4:$H$11)"
    official, penalty, bonus = (f"B{facts[key]}" for key in ("official", "penalty", "bonus"))
    assert summary[f"B{facts['total']}"].value == f"={official}+{penalty}-{bonus}"
    assert book["Splits"]["F4"].value == "=D4-E4"
    assert book["Splits"]["F6"].value == "=SUM($F$4:$F$5)"


def test_a_run_without_a_total_has_no_formula_for_one() -> None:
    rows = {row[0].value: row[1].value for row in opened(team_workbook(sheet("Dowel")))["Summary"]}
    assert rows["Total"] is None
    assert str(rows["Penalties"]).startswith("=SUM(")


def test_a_workbook_without_findings_still_adds_up(tmp_path: Path) -> None:
    book = recalculated(team_workbook(sheet("Crane")), tmp_path / "clean")
    rows = {row[0].value: ms(row[1].value) for row in book["Summary"]}
    assert (rows["Penalties"], rows["Total"]) == (0, sheet("Crane").fact("total"))


def test_text_stays_text_however_it_looks() -> None:
    for name in HOSTILE:
        rows = field((name, "Beam", "Crane", "Dowel"))
        mine = sheet_of(standing(name, rows), rows, BOOK, PEOPLE, name)
        cell = opened(team_workbook(mine))["Summary"]["B2"]
        assert cell.data_type == "s", name
        assert cell.quotePrefix, name


def test_text_stays_text_in_libreoffice(tmp_path: Path) -> None:
    table = Table("names", "Names", (Column("team", "Team"),), tuple((name,) for name in HOSTILE))
    book = recalculated(standings_workbook(table, BOOK), tmp_path / "hostile")
    cells = [row[0] for row in book["Names"].iter_rows(min_row=FIRST)]
    assert [cell.value for cell in cells] == [
        " =cmd|' /C calc'!A0" if "\t" in name else name.replace("\x07", "").replace("\x1b", "")
        for name in HOSTILE
    ]
    assert {cell.data_type for cell in cells} == {"s"}


@pytest.mark.parametrize("step", [1_000, 100, 10, 1])
def test_libreoffice_shows_times_as_the_pages_do(tmp_path: Path, step: int) -> None:
    times = [n * step for n in (*range(600), 3_500_000 // step, 3_599_999 // step)]
    columns = (Column("took", "Took", CellKind.TIME), Column("cost", "Cost", CellKind.COST))
    table = Table("times", "Times", columns, tuple((time, -time) for time in times))
    rulebook = replace(BOOK, clock=replace(BOOK.clock, step=step))
    assert shown(standings_workbook(table, rulebook), tmp_path / "shown") == [
        format_duration(cell, step) for row in table.rows for cell in row if isinstance(cell, int)
    ]


def test_times_of_hours_show_their_hours(tmp_path: Path) -> None:
    rows = ((5_000,), (3_600_100,), (90_061_100,))
    table = Table("times", "", (Column("took", "", CellKind.TIME),), rows)
    texts = shown(standings_workbook(table, BOOK), tmp_path / "hours")
    assert texts == ["0:00:05.0", "1:00:00.1", "25:01:01.1"]


def test_the_standings_are_the_engines_own(tmp_path: Path) -> None:
    table = standings_table(field(), BOOK, "3, provisional")
    book = recalculated(standings_workbook(table, BOOK), tmp_path / "standings")
    assert body(book["Standings"], table) == list(table.rows)


def test_every_page_says_whose_it_is_and_of_which_rules() -> None:
    rows = field(("A & B " * 20, "Beam", "Crane", "Dowel"))
    mine = sheet_of(rows[2], rows, BOOK, PEOPLE)
    book = opened(team_workbook(mine))
    assert book.sheetnames[:4] == ["Summary", "Findings", "Callouts", "Splits"]
    pages: list[Any] = book.worksheets
    for page in pages:
        header = page.oddHeader
        assert header.left.text.replace("&&", "&") == ("A & B " * 20)[:59] + "…"
        assert header.center.text == "Lifting a bridge bearing, edition 4"
        assert header.right.text == f"Rulebook {BOOK.hash[:12]}"
        assert page.oddFooter.center.text == "Page &P of &N"
        assert page.page_setup.fitToHeight == 0
        assert page.sheet_properties.pageSetUpPr.fitToPage
    for page in pages[1:]:
        assert page.print_title_rows == f"${HEADS}:${HEADS}"
        assert page.freeze_panes == f"A{FIRST}"
        assert page.page_setup.orientation == "landscape"
        assert page.auto_filter.ref.startswith(f"A{HEADS}:")


def test_the_same_sheet_gives_the_same_cells() -> None:
    one, two = (
        [[cell.value for cell in row] for page in opened(team_workbook(sheet())) for row in page]
        for _ in range(2)
    )
    assert one == two
