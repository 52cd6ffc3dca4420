"""Somebody opens the file with other means and changes the record: it shows."""

import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from tests.storage.entries import marks
from web.errors import DamagedDatabaseError
from web.storage.chain import START, Row, draft, first_break, hash_of
from web.storage.log import SqlLog

Tamper = Callable[[str], None]
#: The posting once more under another number.
AGAIN = (
    "SELECT event, {}, standing, posted_at, by, reason, rulebook_hash, head_seq, head_hash,"
    " engine, content FROM postings"
)


@pytest.fixture
def log(sql_log: SqlLog) -> SqlLog:
    """A record of nine entries."""
    sql_log.append(marks(1, 9), 100)
    return sql_log


@pytest.fixture
def tamper(path: Path) -> Tamper:
    """Change the file past Fairlead, with the triggers out of the way."""

    def change(script: str) -> None:
        with closing(sqlite3.connect(path)) as connection:
            triggers = connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")
            for (name,) in triggers.fetchall():
                connection.execute(f"DROP TRIGGER {name}")
            connection.executescript(script)

    return change


@pytest.mark.parametrize(
    "script",
    [
        "UPDATE entries SET payload = replace(payload, 'good', 'wrong') WHERE seq = 5",
        "UPDATE entries SET payload = payload || ' ' WHERE seq = 5",
        "UPDATE entries SET payload = 'no entry' WHERE seq = 5",
        "UPDATE entries SET payload = replace(payload, '00005', '00004') WHERE seq = 5",
        "UPDATE entries SET received_at = 99 WHERE seq = 5",
        "UPDATE entries SET hash = upper(hash) WHERE seq = 5",
        "UPDATE entries SET hash = 'no hash' WHERE seq = 5",
        "UPDATE entries SET hash = (SELECT hash FROM entries WHERE seq = 4) WHERE seq = 5",
        "UPDATE entries SET payload = (SELECT payload FROM entries WHERE seq = 6) WHERE seq = 5",
    ],
)
def test_an_altered_row_is_found(log: SqlLog, tamper: Tamper, script: str) -> None:
    tamper(script)
    assert log.verify() == (5, "Entry 5 of the record is not as it was written.")


def test_an_altered_number_is_found_where_it_is_missing(log: SqlLog, tamper: Tamper) -> None:
    tamper("UPDATE entries SET seq = 50 WHERE seq = 5")
    assert log.verify() == (5, "Entry 5 is missing from the record.")


def test_a_shifted_tail_is_found(log: SqlLog, tamper: Tamper) -> None:
    tamper("DELETE FROM entries WHERE seq = 5; UPDATE entries SET seq = seq - 1 WHERE seq > 5")
    assert log.verify() == (5, "Entry 5 of the record is not as it was written.")


@pytest.mark.parametrize("seq", [1, 5])
def test_a_deleted_row_is_found(log: SqlLog, tamper: Tamper, seq: int) -> None:
    tamper(f"DELETE FROM entries WHERE seq = {seq}")  # noqa: S608 (our own number)
    assert log.verify() == (seq, f"Entry {seq} is missing from the record.")


def test_swapped_rows_are_found(log: SqlLog, tamper: Tamper) -> None:
    tamper(
        "UPDATE entries SET seq = 50 WHERE seq = 5; UPDATE entries SET seq = 5 WHERE seq = 6;"
        " UPDATE entries SET seq = 6 WHERE seq = 50"
    )
    assert log.verify() == (5, "Entry 5 of the record is not as it was written.")


@pytest.mark.parametrize("change", ["id = 'another'", "run = 'another'"])
def test_a_row_filed_elsewhere_is_found(log: SqlLog, tamper: Tamper, change: str) -> None:
    tamper(f"UPDATE entries SET {change} WHERE seq = 5")  # noqa: S608 (our own change)
    assert log.verify() == (5, "Entry 5 of the record is filed under another id or run.")


def test_a_row_put_in_before_the_first_is_found(log: SqlLog, tamper: Tamper) -> None:
    tamper(
        "INSERT INTO entries SELECT 0, 'x', run, received_at, payload, hash FROM entries LIMIT 1"
    )
    assert log.verify() == (1, "Entry 1 is missing from the record.")


def test_a_tail_cut_off_shows_only_against_a_head_written_down(log: SqlLog, tamper: Tamper) -> None:
    head = log.head()
    tamper("DELETE FROM entries WHERE seq > 6")
    assert log.verify() is None
    assert log.verify([head]) == (7, "The record ends at entry 6; it had reached entry 9.")


def test_a_record_written_anew_shows_only_against_a_head_written_down(
    log: SqlLog, tamper: Tamper
) -> None:
    head = log.head()
    seq, before = START
    script = "DELETE FROM entries;"
    for entry in marks(11, 19):
        made = draft(entry, 100)
        seq, before = seq + 1, hash_of(before, seq + 1, 100, made.payload)
        row = Row(seq, entry.id, entry.run, 100, made.payload, before)
        script += f"INSERT INTO entries VALUES {tuple(row)};"  # noqa: S608 (our own row)
    tamper(script)
    assert log.verify() is None
    assert log.verify([head]) == (
        9,
        "The record up to entry 9 is another than the one written down.",
    )


@pytest.mark.parametrize("payload", ["no entry", "[]", "{}"])
def test_a_row_that_says_no_id_is_found_though_its_hash_is_right(payload: str) -> None:
    row = Row(1, "entry-000001", "run-1", 100, payload, hash_of(START[1], 1, 100, payload))
    assert first_break([row]) == (
        1,
        "Entry 1 of the record is filed under another id or run.",
    )


def test_a_row_that_is_no_entry_is_refused_when_read(log: SqlLog, tamper: Tamper) -> None:
    tamper("UPDATE entries SET payload = '{}' WHERE seq = 5")
    with pytest.raises(DamagedDatabaseError, match="Entry 5 of the record cannot be read"):
        log.since()


def test_bytes_that_are_no_text_are_damage(log: SqlLog, tamper: Tamper) -> None:
    tamper("UPDATE entries SET payload = CAST(x'ff' AS TEXT) WHERE seq = 5")
    with pytest.raises(DamagedDatabaseError, match="could not read the record"):
        log.verify()


@pytest.mark.parametrize(
    ("statement", "says"),
    [
        ("UPDATE entries SET run = 'run-2'", "only ever added to"),
        ("DELETE FROM entries", "only ever added to"),
        ("DELETE FROM entries WHERE seq = 9", "only ever added to"),
        ("INSERT INTO entries VALUES (11, 'x', 'r', 1, '{}', '')", "only added to at their end"),
        ("INSERT INTO entries VALUES (9, 'x', 'r', 1, '{}', '')", "only added to at their end"),
        ("REPLACE INTO entries VALUES (9, 'x', 'r', 1, '{}', '')", "only added to at their end"),
        (
            "REPLACE INTO entries SELECT 10, id, run, 1, payload, '' FROM entries WHERE seq = 3",
            "only added to at their end",
        ),
        ("UPDATE postings SET content = '[]'", "only ever added to"),
        ("DELETE FROM postings", "only ever added to"),
        ("INSERT INTO postings " + AGAIN.format(3), "only added to at their end"),
        ("REPLACE INTO postings " + AGAIN.format(1), "only added to at their end"),
    ],
)
@pytest.mark.usefixtures("posted")
def test_the_triggers_let_nobody_change_what_is_kept(
    log: SqlLog, path: Path, statement: str, says: str
) -> None:
    """By any program's connection, also one that knows nothing of our settings."""
    head = log.head()
    with closing(sqlite3.connect(path)) as connection:
        before = connection.execute("SELECT * FROM postings").fetchall()
        with pytest.raises(sqlite3.IntegrityError, match=says):
            connection.execute(statement)
        assert connection.execute("SELECT * FROM postings").fetchall() == before
    assert log.head() == head
    assert log.verify() is None
