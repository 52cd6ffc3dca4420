from collections.abc import Callable
from datetime import time, timedelta
from io import BytesIO
from zipfile import ZIP_DEFLATED, ZipFile

import pytest
from openpyxl import Workbook

from scoring import TableError
from web.exports.run_table import LARGEST, read_rows

PARTS = "xl/worksheets/sheet1.xml"


def workbook(*rows: list[object], as_shown: str = "") -> bytes:
    book = Workbook()
    sheet = book.worksheets[0]
    for row in rows:
        sheet.append(row)
    if as_shown:
        for row_of_cells in sheet:
            for cell in row_of_cells:
                cell.number_format = as_shown
    file = BytesIO()
    book.save(file)
    return file.getvalue()


def altered(content: bytes, change: Callable[[bytes], bytes]) -> bytes:
    """A workbook with the XML of its first sheet changed by hand."""
    file = BytesIO()
    with ZipFile(BytesIO(content)) as old, ZipFile(file, "w", ZIP_DEFLATED) as new:
        for name in old.namelist():
            part = old.read(name)
            new.writestr(name, change(part) if name == PARTS else part)
    return file.getvalue()


def refusal(content: bytes) -> str:
    with pytest.raises(TableError) as error:
        read_rows(content, "runs")
    return str(error.value)


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_comma_separated_text_is_read_however_a_spreadsheet_saves_it(
    delimiter: str, mark: bytes
) -> None:
    text = f'team{delimiter}time\r\n"Alder{delimiter} ""A"""{delimiter}9:00\r\n'
    assert read_rows(mark + text.encode(), "runs") == [
        ["team", "time"],
        [f'Alder{delimiter} "A"', "9:00"],
    ]


@pytest.mark.parametrize(
    ("content", "says"),
    [
        ("team\nÄlder".encode("latin-1"), "runs:2:1: The file is not UTF-8 text"),
        ("team\nAlder".encode("utf-16"), "The file is not UTF-8 text; save it as 'CSV UTF-8'."),
        (b"team\nAl\0der", "The file holds zero characters"),
        (b'team\n"Alder', "runs:2:1: This is no comma-separated text: unexpected end of data."),
        (b"team\n" + b"x" * 200_000, "This is no comma-separated text: field larger than"),
        (b"PK\x03\x04 but no workbook", "This is no workbook; save it as .xlsx or as CSV UTF-8."),
        (b"\xd0\xcf\x11\xe0old", "This is an old or locked workbook; save it as .xlsx"),
        (b"x" * (LARGEST + 1), "The file has 20,000,001 bytes; at most 20,000,000 are allowed."),
    ],
)
def test_what_is_no_table_is_refused_with_what_to_do(content: bytes, says: str) -> None:
    assert says in refusal(content)


def test_a_workbooks_cells_are_read_as_somebody_typed_them() -> None:
    content = workbook(
        ["team", "time", "A1", "watch 1", "watch 2"],
        ["Alder", "9:00.5", 2, timedelta(minutes=35, milliseconds=7_400), time(1, 2, 3)],
        [None, None, 2.0, 0.5],
    )
    assert read_rows(content, "runs") == [
        ["team", "time", "A1", "watch 1", "watch 2"],
        ["Alder", "9:00.5", "2", "35:07.400", "1:02:03.000"],
        ["", "", "2", "0.5"],
    ]


def test_a_formula_is_refused_where_it_stands() -> None:
    content = workbook(["team", "time"], ["Alder", "=A1"], ["=1+1", "9:00"])
    assert refusal(content).splitlines() == [
        "runs:2:2: A formula stands here; paste its value in its place.",
        "runs:3:1: A formula stands here; paste its value in its place.",
    ]


@pytest.mark.parametrize("as_shown", ["h:mm", "[h]:mm", '[h]:mm" hours"'])
def test_minutes_that_a_spreadsheet_took_for_hours_are_refused(as_shown: str) -> None:
    assert "Hours and minutes stand here" in refusal(
        workbook([time(9, 30)], [0.3], as_shown=as_shown)
    )


def test_a_workbook_that_unpacks_to_too_much_is_refused_before_it_is_opened() -> None:
    content = altered(workbook(["team"]), lambda part: part + b" " * 100_000_001)
    assert len(content) < LARGEST
    assert "The workbook unpacks to" in refusal(content)


def test_a_workbook_that_lies_about_its_size_is_read_as_it_is() -> None:
    content = altered(
        workbook(["team"], ["Alder"]),
        lambda part: part.replace(b'ref="A1:A2"', b'ref="A1:XFD1048576"'),
    )
    assert read_rows(content, "runs") == [["team"], ["Alder"]]


def test_a_workbook_with_too_many_columns_is_refused() -> None:
    assert "1,001 columns; at most 1,000 are allowed." in refusal(workbook(["x"] * 1_001))


@pytest.mark.parametrize(
    "change",
    [
        lambda part: part[: len(part) // 2],
        lambda part: part.replace(b'r="A1"', b'r="?"'),
        lambda part: part.replace(b't="inlineStr"', b't="s"').replace(b"<is>", b"<v>99</v><is>"),
        lambda _: (
            b'<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa">'
            + b"".join(b'<!ENTITY %c "%s">' % (98 + n, b"&%c;" % (97 + n) * 10) for n in range(12))
            + b"]><worksheet>&m;</worksheet>"
        ),
    ],
    ids=["cut off", "no cell", "no text", "entities"],
)
def test_a_broken_workbook_is_refused_in_a_sentence(change: Callable[[bytes], bytes]) -> None:
    content = altered(workbook(["team"], ["Alder"]), change)
    assert refusal(content) == (
        "runs:1:1: The workbook cannot be read; save it anew as .xlsx or as CSV UTF-8."
    )
