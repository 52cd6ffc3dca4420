"""The workbook that sheets are keyed into: laid out as they are, and bounded when it is read."""

from io import BytesIO
from typing import Final

import pytest
from openpyxl import Workbook, load_workbook

from scoring import TableError, key_tables, read_rulebook
from tests.scoring.keyed import Sheets, blank, put, put_run
from tests.scoring.papers import RULEBOOK
from web.exports.keying import keying_workbook, read_keying
from web.exports.run_table import LARGEST

CAMP: Final = read_rulebook(RULEBOOK.encode())


def fill(content: bytes, sheets: Sheets) -> bytes:
    """The workbook with the cells of some sheets typed into it."""
    book = load_workbook(BytesIO(content))
    for name, rows in sheets.items():
        for number, row in enumerate(rows, start=1):
            for column, text in enumerate(row, start=1):
                if text:
                    book[name].cell(number, column, text).data_type = "s"
    filled = BytesIO()
    book.save(filled)
    return filled.getvalue()


def test_the_workbook_holds_the_tables_as_they_are_laid_out() -> None:
    book = load_workbook(BytesIO(keying_workbook(CAMP, 4)))
    assert book.sheetnames == ["runs", "clock", "mast", "stove", "decisions"]
    for table in key_tables(CAMP, 4):
        rows = [
            [str(cell or "") for cell in row]
            for row in book[table.name].iter_rows(values_only=True)
        ]
        for number, row in enumerate((*table.heads, *table.rows)):
            assert rows[number][: len(row)] == [str(cell) for cell in row]


def test_what_is_typed_stays_text() -> None:
    book = load_workbook(BytesIO(keying_workbook(CAMP, 2)))
    assert {cell.number_format for sheet in book for row in sheet.iter_rows() for cell in row} == {
        "@"
    }


def test_a_keyed_workbook_is_read_as_it_was_typed() -> None:
    sheets = blank(CAMP, 2)
    put_run(sheets, 1, team="=Larks", **{"watch 1": "12:00", "watch 2": "12:01"})
    put(sheets, "stove", "pegs", 1, "2")
    keyed = read_keying(fill(keying_workbook(CAMP, 2), sheets), CAMP, "one.xlsx")
    [(run, entrant, card)] = keyed.results
    assert (run, entrant.name, card.penalty) == (1, "=Larks", 4_000)


def test_posts_whose_names_are_alike_get_sheets_of_their_own() -> None:
    long = "p" * 40
    text = RULEBOOK.replace("stove:", f"{long}:").replace("stove]", f"{long}]")
    text = text.replace("post: stove", f"post: {long}").replace("task: stove", "task: cook")
    text = text.replace("on: stove", "on: cook").replace("  mast:", f"  {long[:-1]}q:")
    text = text.replace("[mast,", f"[{long[:-1]}q,").replace("post: mast", f"post: {long[:-1]}q")
    book = read_rulebook(text.encode())
    names = load_workbook(BytesIO(keying_workbook(book, 1))).sheetnames
    assert len({name.casefold() for name in names}) == len(names) == 5
    assert max(map(len, names)) <= 31


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"x" * (LARGEST + 1), f"The file has {LARGEST + 1:,} bytes; at most {LARGEST:,}"),
        (b"team,time\n", "This is no workbook"),
        (b"PK\x03\x04broken", "This is no workbook"),
    ],
    ids=["large", "csv", "broken"],
)
def test_what_is_no_workbook_is_refused(content: bytes, says: str) -> None:
    with pytest.raises(TableError, match=says):
        read_keying(content, CAMP, "one.xlsx")


def test_a_formula_is_refused_with_its_sheet() -> None:
    book = load_workbook(BytesIO(keying_workbook(CAMP, 1)))
    book["stove"]["E3"] = "=1+1"
    content = BytesIO()
    book.save(content)
    with pytest.raises(TableError, match=r"one.xlsx:3:5: stove: A formula stands here"):
        read_keying(content.getvalue(), CAMP, "one.xlsx")


def test_a_workbook_of_something_else_is_refused() -> None:
    content = BytesIO()
    Workbook().save(content)
    with pytest.raises(TableError, match="There is no table of the sheet 'runs'"):
        read_keying(content.getvalue(), CAMP, "one.xlsx")
