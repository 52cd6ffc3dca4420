from concurrent.futures import ThreadPoolExecutor

from tests.storage.entries import mark
from web.storage.log import SqlLog


def test_threads_may_share_a_record(sql_log: SqlLog) -> None:
    def append(number: int) -> None:
        sql_log.append([mark(number)], number)
        sql_log.head()

    with ThreadPoolExecutor(8) as threads:
        list(threads.map(append, range(400)))
    assert sql_log.head()[0] == 400
    assert sql_log.verify() is None


def test_a_closed_record_can_still_be_read_and_written(sql_log: SqlLog) -> None:
    sql_log.append([mark(1)], 100)
    sql_log.close()
    sql_log.close()
    sql_log.append([mark(2)], 100)
    assert [stored.entry for stored in sql_log.since()] == [mark(1), mark(2)]


def test_a_record_larger_than_one_question_may_name_is_appended_whole(sql_log: SqlLog) -> None:
    """SQLite takes 32,766 values in one statement."""
    entries = [mark(number) for number in range(33_000)]
    assert sql_log.append(entries, 100)[-1] == sql_log.since(32_999)[0]
    assert sql_log.append(entries[-2:], 100)[1].seq == 33_000  # type: ignore[union-attr] # no clash
