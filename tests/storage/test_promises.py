"""What a record promises, held by both kinds of it."""

import hashlib
import json
from typing import TypeAlias

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring import Outcome, RunId, encode
from tests.storage.entries import mark, marks
from web.errors import BadMessageError
from web.storage.log import SqlLog
from web.storage.memory import MemoryLog
from web.values import Clash, Stored

Log: TypeAlias = SqlLog | MemoryLog


@pytest.fixture(params=["sqlite", "memory"])
def log(request: pytest.FixtureRequest) -> Log:
    """An empty record of either kind."""
    if request.param == "memory":
        return MemoryLog()
    kept: SqlLog = request.getfixturevalue("sql_log")
    return kept


#: What an entry may say, in short.
TEXT = st.text(st.characters(categories=("L", "N", "P", "S")), max_size=3)


def _seqs(answers: list[Stored | Clash]) -> list[int]:
    return [answer.seq for answer in answers if isinstance(answer, Stored)]


def test_an_empty_record_has_its_head_at_zero(log: Log) -> None:
    assert log.head() == (0, "0" * 64)
    assert log.since() == []
    assert log.verify() is None


def test_entries_are_numbered_from_one_without_gaps(log: Log) -> None:
    assert _seqs(log.append(marks(1, 3), 100)) == [1, 2, 3]
    assert _seqs(log.append(marks(4, 5), 101)) == [4, 5]
    assert [stored.seq for stored in log.since()] == [1, 2, 3, 4, 5]


def test_an_entry_comes_back_as_it_was_with_when_it_came(log: Log) -> None:
    entry = mark(1, outcome=Outcome.WRONG, item="säkring e\u0301 \u2009 \\ \" ' % 🧗")
    log.append([entry], 1_700_000_000_123)
    (stored,) = log.since()
    assert (stored.entry, stored.received_at, stored.repeat) == (entry, 1_700_000_000_123, False)


def test_what_is_answered_is_what_is_read(log: Log) -> None:
    assert log.append(marks(1, 20), 5) == log.since()
    assert (log.since()[-1].seq, log.since()[-1].hash) == log.head()


def test_a_repeat_is_answered_with_its_first_number_and_adds_nothing(log: Log) -> None:
    log.append(marks(1, 3), 100)
    head = log.head()
    (again,) = log.append([mark(2)], 999)
    assert isinstance(again, Stored)
    assert (again.seq, again.received_at, again.repeat) == (2, 100, True)
    assert log.head() == head


def test_a_repeat_within_one_batch_is_a_repeat(log: Log) -> None:
    first, again = log.append([mark(1), mark(1)], 100)
    assert isinstance(first, Stored)
    assert isinstance(again, Stored)
    assert (again.seq, first.repeat, again.repeat) == (first.seq, False, True)
    assert len(log.since()) == 1


def test_another_entry_under_a_known_id_clashes_and_is_not_written(log: Log) -> None:
    log.append([mark(1)], 100)
    answers = log.append([mark(2), mark(1, outcome=Outcome.MISSING), mark(3)], 101)
    assert answers[1] == Clash(mark(1).id)
    assert [stored.entry for stored in log.since()] == [mark(1), mark(2), mark(3)]
    assert log.since()[0].received_at == 100


def test_the_same_id_in_another_run_clashes(log: Log) -> None:
    answers = log.append([mark(1, "run-1"), mark(1, "run-2")], 100)
    assert answers[1] == Clash(mark(1).id)
    assert log.since(run=RunId("run-2")) == []


def test_what_follows_a_number_is_in_order_and_of_the_run_asked_for(log: Log) -> None:
    log.append([mark(number, f"run-{number % 2}") for number in range(1, 9)], 100)
    assert [stored.seq for stored in log.since(5)] == [6, 7, 8]
    assert [stored.seq for stored in log.since(3, RunId("run-0"))] == [4, 6, 8]
    assert log.since(0, RunId("run-9")) == []
    assert log.since(99) == []


def test_appending_nothing_changes_nothing(log: Log) -> None:
    log.append([mark(1)], 100)
    head = log.head()
    assert log.append([], 101) == []
    assert log.head() == head


def test_half_a_character_is_refused_and_takes_its_whole_batch_with_it(log: Log) -> None:
    with pytest.raises(BadMessageError, match="'entry-000002' cannot be written down"):
        log.append([mark(1), mark(2, item="\ud83e"), mark(3)], 100)
    assert log.since() == []
    assert _seqs(log.append([mark(3)], 101)) == [1]


def test_the_chain_is_as_defined(log: Log) -> None:
    """The definition of `web.storage.chain`, computed by other means than rfc8785."""
    log.append(marks(1, 3), 100)
    before = b"\0" * 32
    for stored in log.since():
        row = {"seq": stored.seq, "received_at": 100, "entry": encode(stored.entry)}
        said = json.dumps(row, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
        before = hashlib.sha256(before + said.encode()).digest()
        assert stored.hash == before.hex()


def test_a_head_written_down_on_the_way_is_on_the_chain(log: Log) -> None:
    heads = [log.head()]
    for number in range(1, 6):
        log.append([mark(number)], number)
        heads.append(log.head())
    assert log.verify(heads) is None


def test_another_head_than_the_one_written_down_is_found(log: Log) -> None:
    log.append(marks(1, 5), 100)
    assert log.verify([(3, "ab" * 32)]) == (
        3,
        "The record up to entry 3 is another than the one written down.",
    )


def test_a_record_shorter_than_written_down_is_found(log: Log) -> None:
    log.append(marks(1, 5), 100)
    assert log.verify([(7, "ab" * 32)]) == (
        6,
        "The record ends at entry 5; it had reached entry 7.",
    )


def test_both_kinds_make_the_same_chain(sql_log: SqlLog) -> None:
    memory = MemoryLog()
    for log in (sql_log, memory):
        log.append([*marks(1, 4), mark(2), mark(3, outcome=Outcome.UNSEEN)], 100)
    assert sql_log.head() == memory.head()
    assert sql_log.since() == memory.since()


@given(
    st.lists(st.lists(st.builds(mark, st.integers(1, 6), st.sampled_from(["a", "b"]), item=TEXT)))
)
def test_however_batches_fall_numbers_have_no_gap_and_the_chain_holds(
    batches: list[list[object]],
) -> None:
    log = MemoryLog()
    for received_at, batch in enumerate(batches):
        log.append(batch, received_at)  # type: ignore[arg-type] # the strategy makes entries
    kept = log.since()
    assert [stored.seq for stored in kept] == list(range(1, len(kept) + 1))
    assert len({stored.entry.id for stored in kept}) == len(kept)
    assert log.verify() is None
