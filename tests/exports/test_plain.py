import csv
import re
from io import StringIO

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring import CellKind, Column, Table
from web.exports.comma import table_csv
from web.exports.plain import csv_text, safe_name

NAMES = st.text() | st.sampled_from(
    ["=1+1", "@x", "CON", "aux.", "..", "a/b\\c:d", "🚡", "שלום", ""]
)
#: What Windows refuses in a file's name.
REFUSED = re.compile(r'[<>:"/\\|?*\x00-\x1f\x7f]')


@given(NAMES, NAMES)
def test_a_file_name_is_safe_on_every_file_system(name: str, unique: str) -> None:
    made = safe_name(name, unique, ".xlsx")
    assert len(made.encode()) <= 80
    assert not REFUSED.search(made)
    assert made[0] not in ".-"
    assert made.count(".") == 1
    assert re.fullmatch(r".+-[a-z0-9_]+\.xlsx", made)


@given(NAMES, NAMES, st.tuples(NAMES, NAMES).filter(lambda ids: ids[0] != ids[1]))
def test_two_ids_never_share_a_file(one: str, two: str, ids: tuple[str, str]) -> None:
    names = {safe_name(one, ids[0]).casefold(), safe_name(two, ids[1]).casefold()}
    assert len(names) == 2


@pytest.mark.parametrize(
    ("name", "unique", "made"),
    [
        ("Nord Seil", "t1", "Nord-Seil-t1"),
        ("=1+1", "t-2", "1-1-t_2"),
        ("🚡", "t3", "team-t3"),
        ("שלום צוות", "t4", "שלום-צוות-t4"),
        ("../../etc", "t5", "etc-t5"),
        ("é" * 100, "t6", "é" * 24 + "-t6"),
        ("a-b", "c", "a-b-c"),
        ("a", "b-c", "a-b_c"),
    ],
)
def test_a_file_name_stays_readable(name: str, unique: str, made: str) -> None:
    assert safe_name(name, unique) == made


@pytest.mark.parametrize("begin", ["=", "+", "-", "@", "\t", "\r", "\n", "\uff1d"])
def test_comma_separated_text_never_begins_a_formula(begin: str) -> None:
    """The characters are those of OWASP's page on CSV injection, from memory."""
    assert csv_text(f"{begin}1+1").startswith("'")


def test_a_table_comes_through_as_comma_separated_text() -> None:
    columns = (
        Column("team", "Team"),
        Column("took", "Took", CellKind.TIME),
        Column("cost", "Cost", CellKind.COST),
        Column("place", "Place", CellKind.PLACE),
    )
    table = Table(
        "t", "T", columns, (('=1+1 "x", y', 3_662_500, -2_500, 1), ("Beam", None, None, None))
    )
    content = table_csv(table, step=100)
    assert content.startswith(b"\xef\xbb\xbf")
    assert list(csv.reader(StringIO(content.decode("utf-8-sig"), newline=""))) == [
        ["Team", "Took", "Cost", "Place"],
        ['\'=1+1 "x", y', "1:01:02.5", "-2.5 s", "1"],
        ["Beam", "", "", ""],
    ]
