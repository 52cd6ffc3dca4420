"""Rulebooks as workbooks and back, and laid out anew: nothing is lost."""

from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook

from scoring import TableError, read_rulebook
from web.exports.rulebook_book import changed_text, rulebook_workbook
from web.exports.rulebook_file import format_text

ROOT = Path(__file__).parents[2]
RULEBOOKS = sorted((*ROOT.glob("rulebooks/*.yaml"), *ROOT.glob("tests/published/rulebooks/*.yaml")))
SMALL = """\
# Who wrote this, and when.
rulebook: rig
title: "=1+1"
edition: 1
cautions: Contest rules, no work procedure.
posts: {lift: {title: Lift}}
penalties:
  c: {seconds: 5}  # cheap
blocks:
  ends:
    - {callout: say, say: "<what>, done"}
tasks:
  - task: A
    title: Rig
    post: lift
    costs: c
    rules:
      # The first thing.
      - {step: A1, do: Hang it} # on the hook
      - {use: ends, as: A2, with: {what: hung}}
      - {step: A3, do: "Check: twice", after: [A1, A2.say]}
rules:
  - {conduct: gloves, text: Gloves on, post: lift, costs: c}
"""


def _edited(text: str, change: Any) -> str:
    book = load_workbook(BytesIO(rulebook_workbook(text)))
    change(book)
    out = BytesIO()
    book.save(out)
    return changed_text(text, out.getvalue(), "rig.xlsx")


def _column(sheet: Any, key: str) -> int:
    return [cell.value for cell in sheet[1]].index(key) + 1


@pytest.mark.parametrize("path", RULEBOOKS, ids=lambda path: path.stem)
def test_a_workbook_brought_back_unchanged_changes_nothing(path: Path) -> None:
    text = path.read_text("utf-8")
    assert format_text(changed_text(text, rulebook_workbook(text), "x.xlsx")) == format_text(text)


@pytest.mark.parametrize("path", RULEBOOKS, ids=lambda path: path.stem)
def test_laying_out_keeps_every_rule_and_does_nothing_twice(path: Path) -> None:
    text = path.read_text("utf-8")
    laid_out = format_text(text)
    assert format_text(laid_out) == laid_out
    assert read_rulebook(laid_out.encode()).rules == read_rulebook(text.encode()).rules
    assert laid_out.count("#") == text.count("#")


def test_a_changed_cell_changes_one_line_and_keeps_every_comment() -> None:
    def change(book: Any) -> None:
        sheet = book["Rules"]
        sheet.cell(2, _column(sheet, "do")).value = "Hang it up"

    assert _edited(SMALL, change) == SMALL.replace("Hang it}", "Hang it up}")


def test_a_new_row_is_a_new_rule_at_its_place() -> None:
    def change(book: Any) -> None:
        sheet = book["Rules"]
        sheet.insert_rows(3)
        for key, value in {"place": "A", "kind": "step", "id": "A1b", "do": "Look"}.items():
            sheet.cell(3, _column(sheet, key)).value = value

    new = read_rulebook(_edited(SMALL, change).encode())
    assert list(new.tasks[0].rules) == ["A1", "A1b", "A2.say", "A3"]


def test_a_row_taken_out_takes_its_rule_out() -> None:
    def change(book: Any) -> None:
        book["Rules"].delete_rows(4)

    assert "A3" not in read_rulebook(_edited(SMALL, change).encode()).rules


def test_a_list_in_a_cell_stays_a_list() -> None:
    def change(book: Any) -> None:
        sheet = book["Rules"]
        sheet.cell(4, _column(sheet, "after")).value = "[A1]"

    assert read_rulebook(_edited(SMALL, change).encode()).rules["A3"].after.rules == ("A1",)  # type: ignore[index]


def test_what_is_no_rule_is_changed_on_the_other_sheet() -> None:
    def change(book: Any) -> None:
        for row in book["Rulebook"].iter_rows():
            if row[0].value == "penalties > c > seconds":
                row[1].value = "7"

    assert _edited(SMALL, change) == SMALL.replace("seconds: 5", "seconds: 7")


def test_a_title_like_a_formula_stays_text() -> None:
    book = load_workbook(BytesIO(rulebook_workbook(SMALL)))
    values = {row[0].value: row[1] for row in book["Rulebook"].iter_rows()}
    assert (values["title"].value, values["title"].data_type) == ("=1+1", "s")


@pytest.mark.parametrize(
    ("row", "says"),
    [
        (("Z", "step", "Z1"), "row 2, column 1: There is no place 'Z'"),
        (("A", "stp", "A1"), "'stp' is no kind of rule"),
    ],
)
def test_a_row_that_fits_nowhere_is_refused(row: tuple[str, ...], says: str) -> None:
    def change(book: Any) -> None:
        for n, value in enumerate(row, start=1):
            book["Rules"].cell(2, n).value = value

    with pytest.raises(TableError, match=says.rpartition(": ")[2]):
        _edited(SMALL, change)


def test_another_workbook_is_refused() -> None:
    def change(book: Any) -> None:
        del book["Rulebook"]

    with pytest.raises(TableError, match="There is no sheet 'Rulebook'"):
        _edited(SMALL, change)
