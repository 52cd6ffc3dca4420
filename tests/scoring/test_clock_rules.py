"""What the clock's own rules make of a run: false starts, limits of every sort, other times."""

from itertools import permutations
from typing import Final

import pytest

from scoring import FALSE_START, Entry, Fault, Rulebook, Scorecard, Status, score
from tests.scoring.builders import (
    book,
    breached,
    card,
    false_started,
    marked,
    started,
    stopped,
    struck,
    watch,
)


def clock(text: str, **sections: str) -> Rulebook:
    return book(clock=text, **sections)


# False starts.

LADDER: Final = clock("{run: {false-start: {seconds: 0, then: [10, disqualify]}}}")


def false(*times: int) -> list[Entry]:
    """False starts, each begun anew a second later."""
    return [each for at in times for each in (false_started(at=at), started(at=at + 1_000))]


def restarted(*entries: Entry) -> Scorecard:
    return score((started(), *entries, stopped()), LADDER)


@pytest.mark.parametrize(
    ("times", "costs", "status"),
    [
        ((), [], None),
        ((1_000,), [0], None),
        ((1_000, 5_000), [0, 10_000], None),
        ((1_000, 5_000, 9_000), [0, 10_000, 0], Status.DISQUALIFIED),
    ],
)
def test_false_starts_climb_their_ladder(
    times: tuple[int, ...], costs: list[int], status: Status | None
) -> None:
    result = restarted(*false(*times))
    assert [each.cost for each in result.findings] == costs
    assert all(each.failure.fault is Fault.FALSE_START for each in result.findings)
    assert (result.status, result.why) == (status, FALSE_START if status else "")


def test_the_nth_false_start_is_the_nth_in_time_whatever_came_first() -> None:
    calls = [false_started(at=at) for at in (1_000, 5_000, 9_000)]
    run = started(), started(at=10_000), stopped()
    cards = [score((*order, *run), LADDER) for order in permutations(calls)]
    assert all(each == cards[0] for each in cards)
    assert [each.failure.stands_on for each in cards[0].findings] == [(c.id,) for c in calls]


def test_a_false_start_struck_out_frees_its_step() -> None:
    entries = false(1_000, 5_000)
    ruling = struck(f"false start/{entries[0].id}")
    assert [each.cost for each in restarted(*entries, ruling).findings] == [0, 0]


def test_where_the_rules_price_no_false_start_it_costs_nothing() -> None:
    assert score((started(), *false(1_000), stopped()), book()).findings == ()


# A limit that ends the run.


def ended(took: int, of: str, when: str, *entries: Entry) -> Status | None:
    limit = f"{{run: {{limit: 10 min, over: did not finish, of: {of}, when: {when}}}}}"
    return score((started(), stopped(took), *entries), clock(limit)).status


@pytest.mark.parametrize(
    ("took", "when", "status"),
    [
        (599_990, "reached", None),
        (600_000, "reached", Status.DID_NOT_FINISH),
        (600_000, "passed", None),
        (600_010, "passed", Status.DID_NOT_FINISH),
    ],
)
def test_a_limit_ends_a_run_when_it_is_reached_or_only_when_it_is_passed(
    took: int, when: str, status: Status | None
) -> None:
    assert ended(took, "time", when) is status


@pytest.mark.parametrize(
    ("of", "took", "status"),
    [
        ("time", 580_000, None),
        ("total", 570_000, None),
        ("total", 570_010, Status.DID_NOT_FINISH),
    ],
)
def test_a_limit_is_held_against_the_time_or_against_the_total(
    of: str, took: int, status: Status | None
) -> None:
    assert ended(took, of, "passed", breached()) is status


def test_a_warning_before_the_limit_costs_nothing() -> None:
    warned = clock("{run: {limit: 11 min, over: slip, warn: [5 min, 1 min]}}")
    assert card(warned, marked("A1")).findings == ()
    assert warned.clock.limit is not None
    assert warned.clock.limit.warn == (300_000, 60_000)


# How the time is made.

POSTS: Final = "{north: {title: North}, south: {title: South, watches: 3}}"
AUTOMATIC: Final = clock("{official: {from: [automatic, middle of three]}}", posts=POSTS)


def official(rules: Rulebook, *entries: Entry) -> int:
    result = card(rules, *entries).official
    assert result is not None
    return result.time


BY_HAND: Final = (watch(1, 61_230), watch(2, 61_250), watch(3, 61_290))


def test_hand_times_are_the_reserve_of_automatic_timing() -> None:
    assert official(AUTOMATIC, *BY_HAND, watch(0, 61_100)) == 61_100
    assert official(AUTOMATIC, *BY_HAND) == 61_250
    assert official(AUTOMATIC, BY_HAND[0]) == 61_230
    assert official(AUTOMATIC) == 600_000


def test_an_automatic_time_that_the_rules_do_not_ask_for_is_no_watch() -> None:
    rules = clock("{official: {from: one watch}}", posts=POSTS)
    assert official(rules, watch(0, 61_100), watch(1, 61_230)) == 61_230


@pytest.mark.parametrize(
    ("elapsed", "expected"),
    [
        (59_999, 60_000),
        (60_001, 60_010),
        (599_999, 600_000),
        (600_000, 600_000),
        (600_001, 601_000),
    ],
)
def test_long_times_are_rounded_their_own_way(elapsed: int, expected: int) -> None:
    rules = clock("{official: {to: 0.01 s, long: {from: 10 min, to: 1 s}}}")
    assert official(rules, watch(1, elapsed)) == expected
