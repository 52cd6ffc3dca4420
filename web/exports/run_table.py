"""Files of runs, comma-separated or a workbook, to rows of text.

Cells are what somebody typed. A formula is refused: what it last came to may be old or missing.
"""

import csv
import re
import warnings
from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from io import BytesIO, StringIO
from typing import Any, Final
from zipfile import BadZipFile, ZipFile

from openpyxl import load_workbook

from scoring import Problem, TableError, format_duration

#: In bytes: of a file, and of what a workbook's parts may unpack to.
LARGEST: Final = 20_000_000
_LARGEST_UNPACKED: Final = 100_000_000
_MOST_ROWS: Final = 20_001
_MOST_COLUMNS: Final = 1_000
_MOST_SHEETS: Final = 100
_ZIP: Final = b"PK"
_OLD_EXCEL: Final = bytes.fromhex("d0cf11e0")
_DELIMITERS: Final = ",;\t"
#: Quoted text and what is in brackets or escaped in a number format.
_NO_FORMAT: Final = re.compile(r'"[^"]*"|\\.|\[[^\]hms]*\]')


def read_rows(content: bytes, file: str) -> list[list[str]]:
    """The rows of a file of runs; raises `TableError` where it cannot be read."""
    _sized(content, file)
    if content.startswith(_ZIP):
        return next(iter(read_sheets(content, file, most=1).values()))
    if content.startswith(_OLD_EXCEL):
        raise _refused(file, "This is an old or locked workbook; save it as .xlsx or as CSV UTF-8.")
    return _comma(content, file)


def _sized(content: bytes, file: str) -> None:
    if len(content) > LARGEST:
        raise _refused(
            file, f"The file has {len(content):,} bytes; at most {LARGEST:,} are allowed."
        )


def _refused(file: str, says: str, row: int = 1, column: int = 1) -> TableError:
    return TableError(file, (Problem(row, column, "", says),))


def _comma(content: bytes, file: str) -> list[list[str]]:
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        says = "The file is not UTF-8 text; save it as 'CSV UTF-8'."
        raise _refused(file, says, line) from error
    if "\0" in text:
        raise _refused(file, "The file holds zero characters; save it as 'CSV UTF-8'.")
    heads = text.lstrip().partition("\n")[0]
    delimiter = max(_DELIMITERS, key=heads.count)
    reader = csv.reader(StringIO(text, newline=""), delimiter=delimiter, strict=True)
    try:
        return list(reader)
    except csv.Error as error:
        says = f"This is no comma-separated text: {error}."
        raise _refused(file, says, reader.line_num) from error


def read_sheets(content: bytes, file: str, most: int = _MOST_SHEETS) -> dict[str, list[list[str]]]:
    """The rows of a workbook's sheets by name, at most so many; raises `TableError`."""
    _sized(content, file)
    problems: list[Problem] = []
    try:
        _bounded(content, file)
        with warnings.catch_warnings():
            # What a workbook has besides cells is of no interest here.
            warnings.simplefilter("ignore")
            book = load_workbook(BytesIO(content), read_only=True)
            sheets = {
                str(sheet.title): list(_sheet(sheet, file, problems, str(sheet.title) * (most > 1)))
                for sheet in book.worksheets[:most]
            }
    except TableError:
        raise
    except BadZipFile as error:
        raise _refused(file, "This is no workbook; save it as .xlsx or as CSV UTF-8.") from error
    except Exception as error:  # openpyxl raises anything on a file that somebody made up
        says = "The workbook cannot be read; save it anew as .xlsx or as CSV UTF-8."
        raise _refused(file, says) from error
    if problems:
        raise TableError(file, tuple(problems))
    return sheets


def _bounded(content: bytes, file: str) -> None:
    """Refuse a workbook that would fill the memory once it is unpacked."""
    with ZipFile(BytesIO(content)) as parts:
        unpacked = sum(part.file_size for part in parts.infolist())
    if unpacked > _LARGEST_UNPACKED:
        most = f"{_LARGEST_UNPACKED:,}"
        raise _refused(
            file, f"The workbook unpacks to {unpacked:,} bytes; at most {most} are allowed."
        )


def _sheet(sheet: Any, file: str, problems: list[Problem], name: str) -> Iterator[list[str]]:
    """The rows of a sheet; `name` where there are several, to say where a problem is."""
    # What the file says of its size may be wrong, or made up to exhaust us.
    sheet.reset_dimensions()
    filled = 0
    for number, cells in enumerate(sheet.iter_rows(), start=1):
        row = [_text(cell, (number, n, name), problems) for n, cell in enumerate(cells, start=1)]
        while row and not row[-1]:
            row.pop()
        if len(row) > _MOST_COLUMNS:
            says = f"{len(row):,} columns; at most {_MOST_COLUMNS:,} are allowed."
            raise _refused(file, says, number)
        filled += bool(row)
        yield row
        if filled > _MOST_ROWS or len(problems) > _MOST_COLUMNS:
            return


def _text(cell: Any, where: tuple[int, int, str], problems: list[Problem]) -> str:  # noqa: PLR0911 - one a type
    """A cell as somebody would have typed it."""

    def wrong(says: str) -> str:
        problems.append(Problem(*where, says))
        return ""

    match cell.value:
        case None:
            return ""
        case str() if cell.data_type == "f":
            return wrong("A formula stands here; paste its value in its place.")
        case float() as number if number.is_integer():
            return str(int(number))
        case time() | timedelta() if "s" not in _NO_FORMAT.sub("", cell.number_format).lower():
            # Somebody typed 35:07 and meant minutes; the spreadsheet took them for hours.
            return wrong("Hours and minutes stand here; write the time with its hours: 0:35:07.")
        case timedelta() as length:
            return format_duration(round(length / timedelta(milliseconds=1)))
        case time() as clock:
            length = datetime.combine(date.min, clock) - datetime.combine(date.min, time())
            return format_duration(round(length / timedelta(milliseconds=1)))
        case other:
            return str(other)
