from dataclasses import replace
from random import Random
from typing import Final

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring import Entry, SignalName, Withdrawal, fold
from scoring.fold import Oddity, Span
from scoring.ids import PostId
from tests.scoring.builders import (
    TOOK,
    ZERO,
    book,
    breached,
    closed,
    ended,
    false_started,
    held,
    marked,
    resumed,
    signalled,
    started,
    stopped,
    struck,
    upheld,
    watch,
    withdrew,
)
from tests.scoring.strategies import records

BOOK: Final = book()


def oddities(*entries: Entry) -> list[Oddity]:
    return [anomaly.oddity for anomaly in fold(entries).anomalies]


@given(records(BOOK), st.randoms())
def test_any_order_of_arrival_folds_to_the_same_run(record: list[Entry], chance: Random) -> None:
    arrived = chance.sample(record, len(record))
    assert fold(arrived) == fold(record)


@given(records(BOOK), st.data())
def test_repeats_change_nothing(record: list[Entry], data: st.DataObject) -> None:
    again = data.draw(st.lists(st.sampled_from(record), max_size=9)) if record else []
    assert fold(record + again) == fold(record)


@given(records(BOOK), st.data())
def test_a_withdrawn_entry_might_as_well_never_have_been_made(
    record: list[Entry], data: st.DataObject
) -> None:
    known = {each.id: each for each in fold(record).entries}
    targets = [each for each in known.values() if not isinstance(each.what, Withdrawal)]
    if not targets:
        return
    target = data.draw(st.sampled_from(targets))
    taken_back = withdrew(target, id="last")
    without = [each for each in record if each.id != target.id]
    after, never = fold([*record, taken_back]), fold([*without, withdrew(target, id="last")])
    assert target in after.withdrawn
    blank = {"entries": (), "withdrawn": (), "anomalies": ()}
    assert replace(after, **blank) == replace(never, **blank)  # type: ignore[arg-type]
    assert {each.id for each in after.entries} == {each.id for each in never.entries}


@given(records(BOOK))
def test_nothing_is_lost(record: list[Entry]) -> None:
    run = fold(record)
    kept = [each.id for each in (*run.entries, *run.withdrawn)]
    assert sorted(kept) == sorted({each.id for each in record})


@pytest.mark.parametrize(
    ("record", "oddity"),
    [
        ((started(), started(at=5)), Oddity.STARTED_TWICE),
        ((stopped(),), Oddity.STOP_WITHOUT_START),
        ((started(), stopped(at=5), stopped(at=9)), Oddity.STOPPED_TWICE),
        ((started(), held(at=5), held(at=6)), Oddity.HELD_TWICE),
        ((started(), held(at=5), signalled(SignalName.DANGER, at=6)), Oddity.HELD_TWICE),
        ((started(), resumed(at=5)), Oddity.RESUMED_UNHELD),
        ((held(), started(at=5)), Oddity.OUT_OF_PLACE),
        ((started(), stopped(at=5), held(at=9)), Oddity.OUT_OF_PLACE),
        ((started(), signalled(SignalName.WALKTHROUGH, at=5)), Oddity.OUT_OF_PLACE),
        ((signalled(SignalName.WALKTHROUGH_OVER),), Oddity.OUT_OF_PLACE),
        (
            (signalled(SignalName.WALKTHROUGH), signalled(SignalName.WALKTHROUGH, at=5)),
            Oddity.OUT_OF_PLACE,
        ),
        ((watch(1, 5_000), watch(1, 5_010)), Oddity.WATCH_READ_TWICE),
        ((withdrew("nothing"),), Oddity.WITHDRAWS_NOTHING),
    ],
)
def test_what_does_not_fit_together_is_an_oddity(record: tuple[Entry, ...], oddity: Oddity) -> None:
    assert oddities(*record) == [oddity]


def test_a_withdrawal_cannot_be_withdrawn() -> None:
    mark = marked("A1")
    back = withdrew(mark)
    run = fold((mark, back, withdrew(back)))
    assert run.withdrawn == (mark,)
    assert [each.oddity for each in run.anomalies] == [Oddity.WITHDRAWS_A_WITHDRAWAL]


def test_a_withdrawal_that_arrives_first_still_holds() -> None:
    mark = marked("A1", at=9_000)
    assert fold((withdrew(mark, at=1_000), mark)).withdrawn == (mark,)


def test_two_entries_under_one_id_are_one_and_an_oddity_whichever_came_first() -> None:
    one, other = marked("A1", id="same"), marked("A2", id="same")
    assert fold((one, other)) == fold((other, one))
    assert oddities(one, other) == [Oddity.TWO_UNDER_ONE_ID]
    assert len(fold((one, other)).entries) == 1


def test_a_watch_read_twice_alike_is_no_oddity() -> None:
    assert oddities(watch(1, 5_000), watch(1, 5_000, at=TOOK + 1)) == []


def test_the_later_reading_of_a_watch_counts() -> None:
    late = watch(1, 5_010, at=TOOK + 9)
    assert fold((late, watch(1, 5_000))).watches == {1: late}


def test_a_hold_lasts_until_it_is_let_go() -> None:
    run = fold((started(), held(at=10), resumed(at=35), stopped()))
    assert run.holds == (Span(ZERO + 10, ZERO + 35),)
    assert run.held == 25


def test_a_stop_ends_an_open_hold() -> None:
    run = fold((started(), held(at=10), stopped(at=50)))
    assert run.held == 40


def test_a_danger_stop_holds_the_clock_and_says_so() -> None:
    run = fold((started(), signalled(SignalName.DANGER, at=10), stopped(at=50)))
    assert run.holds == (Span(ZERO + 10, ZERO + 50, "danger stop"),)


def test_a_danger_stop_outside_a_run_is_kept_and_no_oddity() -> None:
    danger = signalled(SignalName.DANGER)
    run = fold((danger, started(at=10)))
    assert (run.dangers, run.holds, run.anomalies) == ((danger,), (), ())


def test_moments_are_told_from_the_start_without_the_holds() -> None:
    run = fold((started(), held(at=100), resumed(at=300)))
    assert [run.into(ZERO + at) for at in (50, 100, 200, 300, 450)] == [50, 100, 100, 100, 250]


def test_while_the_clock_is_held_no_moment_goes_on() -> None:
    run = fold((started(), held(at=100)))
    assert [run.into(ZERO + at) for at in (100, 5_000)] == [100, 100]


def test_before_a_start_no_moment_is_told() -> None:
    assert fold((marked("A1"),)).into(ZERO) is None


def test_a_false_start_clears_start_stop_and_holds() -> None:
    record = (started(), held(at=5), resumed(at=7), stopped(at=9), false_started(at=20))
    run = fold(record)
    assert (run.start, run.stop, run.holds, run.restarted) == (None, None, (), ZERO + 20)
    again = started(at=30)
    assert fold((*record, again)).start == again


def test_watches_read_before_a_false_start_are_of_no_attempt() -> None:
    record = (started(), watch(1, 5_000, at=9), false_started(at=20), watch(2, 6_000, at=40))
    run = fold(record)
    assert list(run.watches) == [2]
    assert run.anomalies == ()


def test_a_close_out_before_a_false_start_closes_nothing() -> None:
    record = (closed("north", at=9), false_started(at=20), closed("south", at=40))
    assert fold(record).closed == {PostId("south")}


def test_the_latest_ruling_on_a_finding_holds() -> None:
    first, last = struck("gloves/x", at=5), upheld("gloves/x", at=6)
    assert list(fold((last, first)).rulings.values()) == [last]


def test_the_latest_word_on_the_status_holds() -> None:
    first, last = ended(None, at=5), ended(None, at=6)
    assert fold((last, first)).status == last


def test_entries_at_one_moment_stand_in_the_order_of_their_ids() -> None:
    one, two = breached(id="a"), breached(id="b")
    assert fold((two, one)).entries == (one, two)
