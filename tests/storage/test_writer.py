"""Many greenlets append at once; one thread commits for all of them."""

import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from threading import Event

import gevent
import pytest
from sqlalchemy import Engine

from scoring import Entry, Outcome
from tests.storage.entries import mark, marks
from web.errors import BadMessageError, StorageError
from web.storage.chain import Draft
from web.storage.database import writing
from web.storage.log import SqlLog
from web.storage.memory import MemoryLog
from web.storage.writer import MOST, GroupWriter
from web.values import Clash, Stored


class HeldLog(MemoryLog):
    """A record whose commits last until they are let go, and fail when told to."""

    def __init__(self) -> None:
        super().__init__()
        self.go = Event()
        self.fail: Exception | None = None
        self.batches: list[int] = []

    def write(self, drafts: Sequence[Draft]) -> list[Stored | Clash]:
        """Commit, or fail, once it is let go."""
        assert self.go.wait(20)
        self.batches.append(len(drafts))
        if self.fail:
            raise self.fail
        return super().write(drafts)


@pytest.fixture
def held() -> HeldLog:
    """A record that does not commit yet."""
    return HeldLog()


@pytest.fixture
def writer(held: HeldLog) -> Iterator[GroupWriter]:
    """A writer to the held record, at 100 ms after the epoch."""
    writer = GroupWriter(held, lambda: 100)
    yield writer
    held.go.set()
    writer.close()


@dataclass
class Waiting:
    """A caller who waits for an answer."""

    greenlet: "gevent.Greenlet[..., list[Stored | Clash]]"

    def answers(self) -> list[Stored | Clash]:
        """What was answered."""
        return self.greenlet.get(timeout=20)

    def stored(self) -> list[Stored]:
        """What was answered, where nothing clashes."""
        return [answer for answer in self.answers() if isinstance(answer, Stored)]

    def seqs(self) -> list[int]:
        """The numbers that were answered."""
        return [stored.seq for stored in self.stored()]


Call = Callable[[Sequence[Entry]], Waiting]


@pytest.fixture
def call(writer: GroupWriter) -> Call:
    """Append in a greenlet of its own; it has queued when this returns."""

    def begin(entries: Sequence[Entry]) -> Waiting:
        greenlet = gevent.spawn(writer.append, entries)
        gevent.sleep(0)
        return Waiting(greenlet)

    return begin


def test_what_came_during_a_commit_is_committed_together(held: HeldLog, call: Call) -> None:
    calls = [call([mark(number)]) for number in range(1, 51)]
    held.go.set()
    assert [seq for each in calls for seq in each.seqs()] == list(range(1, 51))
    assert held.batches == [1, 49]


def test_everybody_is_answered_for_their_own_entries_in_order(held: HeldLog, call: Call) -> None:
    first = call(marks(1, 3))
    second = call([mark(9), mark(2), mark(3, outcome=Outcome.WRONG)])
    none = call([])
    held.go.set()
    assert first.seqs() == [1, 2, 3]
    assert [(stored.seq, stored.repeat) for stored in second.stored()] == [(4, False), (2, True)]
    assert second.answers()[2] == Clash(mark(3).id)
    assert none.answers() == []


def test_the_time_is_when_it_came_not_when_it_was_committed(held: HeldLog) -> None:
    now = [100]
    writer = GroupWriter(held, lambda: now[0])
    calls = []
    for number in (1, 2):
        now[0] = 100 * number
        calls.append(Waiting(gevent.spawn(writer.append, [mark(number)])))
        gevent.sleep(0)
    now[0] = 900
    held.go.set()
    assert [each.stored()[0].received_at for each in calls] == [100, 200]
    writer.close()


def test_the_other_greenlets_run_on_during_a_commit(held: HeldLog, call: Call) -> None:
    waiting = call([mark(1)])
    ticks = 0
    for _ in range(100):
        gevent.sleep(0)
        ticks += 1
    assert not waiting.greenlet.ready()
    held.go.set()
    assert waiting.seqs() == [1]
    assert ticks == 100


def test_a_batch_is_bounded_and_nobody_is_overtaken(held: HeldLog, call: Call) -> None:
    calls = [call(marks(start, start + 199)) for start in range(1, 20 * 200, 200)]
    small = call([mark(99_999)])
    held.go.set()
    assert small.seqs() == [20 * 200 + 1]
    assert [each.seqs()[0] for each in calls] == list(range(1, 20 * 200, 200))
    assert held.batches == [200, MOST, 4001 - 200 - MOST]


def test_one_who_brings_more_than_a_batch_is_taken_whole(held: HeldLog, call: Call) -> None:
    before, large, after = call([mark(1)]), call(marks(2, MOST + 2)), call([mark(99_999)])
    held.go.set()
    assert [each.seqs()[0] for each in (before, large, after)] == [1, 2, MOST + 3]
    assert held.batches == [1, MOST + 1, 1]


@pytest.mark.parametrize(
    "error", [StorageError("The disk is full."), RuntimeError("The disk is full.")]
)
def test_a_failed_commit_is_told_to_everybody_and_the_writer_lives_on(
    held: HeldLog, call: Call, error: Exception
) -> None:
    held.fail = error
    calls = [call([mark(number)]) for number in range(1, 4)]
    held.go.set()
    for each in calls:
        with pytest.raises(StorageError, match=r"The disk is full\."):
            each.answers()
    assert held.since() == []
    held.fail = None
    assert call([mark(2)]).seqs() == [1]


def test_half_a_character_is_refused_without_harm_to_the_others(held: HeldLog, call: Call) -> None:
    good, bad, also = call([mark(1)]), call([mark(2, item="\udfff")]), call([mark(3)])
    held.go.set()
    with pytest.raises(BadMessageError):
        bad.answers()
    assert [*good.seqs(), *also.seqs()] == [1, 2]


def test_a_caller_who_is_gone_leaves_the_others_their_answers(held: HeldLog, call: Call) -> None:
    gone, stays = call([mark(1)]), call([mark(2)])
    gone.greenlet.kill()
    held.go.set()
    assert stays.seqs() == [2]


def test_closing_commits_and_answers_what_waits(
    held: HeldLog, writer: GroupWriter, call: Call
) -> None:
    calls = [call([mark(number)]) for number in range(1, 6)]
    closing = gevent.spawn(writer.close)
    gevent.sleep(0)
    assert not closing.ready()
    held.go.set()
    closing.get(timeout=20)
    assert [seq for each in calls for seq in each.seqs()] == [1, 2, 3, 4, 5]


def test_a_closed_writer_refuses(held: HeldLog, writer: GroupWriter) -> None:
    held.go.set()
    writer.close()
    with pytest.raises(StorageError, match="stopping"):
        writer.append([mark(1)])
    writer.close()


def test_a_full_disk_keeps_nothing_of_a_batch_and_is_got_over(
    engine: Engine, sql_log: SqlLog
) -> None:
    """SQLite's own limit on pages gives the error that a full disk gives."""
    writer = GroupWriter(sql_log, lambda: 100)
    writer.append(marks(1, 10))
    head = sql_log.head()
    # The log's own connection is limited: the limit is a connection's.
    limited = sql_log._connection()  # noqa: SLF001
    with limited.begin():
        pages = limited.exec_driver_sql("PRAGMA page_count").scalar_one()
        limited.exec_driver_sql(f"PRAGMA max_page_count = {pages}")
    with pytest.raises(StorageError, match=r"disk is full.*Nothing of it was kept"):
        writer.append(marks(11, 1000))
    assert sql_log.head() == head
    assert sql_log.verify() is None
    assert writer.append(marks(11, 1000)) == sql_log.since(10)
    writer.close()
    with engine.connect() as connection:
        assert connection.exec_driver_sql("PRAGMA integrity_check").scalar_one() == "ok"


def test_a_database_locked_for_too_long_is_told_and_got_over(
    engine: Engine, sql_log: SqlLog
) -> None:
    writer = GroupWriter(sql_log, lambda: 100)
    writer.append([mark(1)])
    impatient = sql_log._connection()  # noqa: SLF001
    with impatient.begin():
        impatient.exec_driver_sql("PRAGMA busy_timeout = 1")
    with writing(engine), pytest.raises(StorageError, match="database is locked"):
        writer.append([mark(2)])
    assert writer.append([mark(2)])[0] == sql_log.since()[-1]
    writer.close()


def test_two_hundred_greenlets_make_one_unbroken_record(sql_log: SqlLog) -> None:
    writer = GroupWriter(sql_log, lambda: time.time_ns() // 1_000_000)

    def client(number: int) -> list[int]:
        answers = [
            answer
            for turn in range(5)
            for answer in writer.append([mark(number * 5 + turn, f"run-{number % 7}")])
        ]
        return [answer.seq for answer in answers if isinstance(answer, Stored)]

    clients = [gevent.spawn(client, number) for number in range(200)]
    gevent.joinall(clients, timeout=60, raise_error=True)
    seqs = [each.get() for each in clients]
    assert all(own == sorted(own) for own in seqs)
    assert sorted(seq for own in seqs for seq in own) == list(range(1, 1001))
    assert sql_log.verify() is None
    writer.close()
