from fractions import Fraction
from statistics import median

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring import Entry, OfficialTime, SignalName, Way, score
from scoring.clock import combine
from tests.scoring.builders import (
    TOOK,
    book,
    gave_back,
    held,
    resumed,
    signalled,
    started,
    stopped,
    watch,
)

POSTS = "{north: {title: North}, south: {title: South}, clock: {title: Clock, watches: 3}}"


def official(how: str, *entries: Entry) -> OfficialTime:
    rules = book(posts=POSTS, clock=f"{{official: {how}}}")
    result = score((started(), stopped(), *entries), rules).official
    assert result is not None
    return result


@pytest.mark.parametrize(
    ("way", "time", "used"),
    [
        ("one watch", 60_100, (60_100,)),
        ("slower of two", 60_300, (60_100, 60_300)),
        ("mean of two", 60_200, (60_100, 60_300)),
        ("mean of all", 60_220, (60_100, 60_300, 60_240)),
        ("middle of three", 60_240, (60_100, 60_300, 60_240)),
    ],
)
def test_each_way_makes_one_time_of_the_watches(way: str, time: int, used: tuple[int, ...]) -> None:
    readings = watch(2, 60_300), watch(3, 60_240), watch(1, 60_100)
    result = official(f"{{from: {way}, round: up}}", *readings)
    assert (result.time, result.readings, result.way) == (time, used, Way(way))


def test_the_first_way_for_which_there_are_watches_enough_is_used() -> None:
    how = "{from: [middle of three, slower of two, one watch]}"
    two = official(how, watch(1, 60_100), watch(3, 60_300))
    assert (two.time, two.way, two.wanted) == (60_300, Way.SLOWER, Way.MIDDLE)
    assert official(how, watch(2, 60_100)).way is Way.ONE


def test_one_watch_stands_in_where_no_way_has_watches_enough() -> None:
    result = official("{from: middle of three}", watch(1, 60_100), watch(2, 60_300))
    assert (result.time, result.way, result.wanted) == (60_100, Way.ONE, Way.MIDDLE)


def test_without_a_watch_the_signals_tell_the_time() -> None:
    result = official("{from: middle of three}")
    assert (result.time, result.way, result.readings) == (TOOK, None, ())


def test_a_run_that_was_not_stopped_has_no_time() -> None:
    assert score((started(), watch(1, 60_100)), book()).official is None
    assert score((stopped(), watch(1, 60_100)), book()).official is None


@pytest.mark.parametrize(
    ("how", "time"),
    [
        ("{to: 0.1 s, round: up}", 60_300),
        ("{to: 0.1 s, round: down}", 60_200),
        ("{to: 0.1 s, round: half up}", 60_300),
        ("{to: 1 s, round: half up}", 60_000),
        ("{to: 5 s, round: up}", 65_000),
        ("{to: 1 ms, round: up}", 60_250),
    ],
)
def test_the_rulebook_rounds_the_time(how: str, time: int) -> None:
    assert official(how, watch(1, 60_250)).time == time


def test_a_mean_is_rounded_from_its_exact_value() -> None:
    readings = watch(1, 60_100), watch(2, 60_100), watch(3, 60_101)
    assert official("{from: mean of all, to: 0.1 s, round: up}", *readings).time == 60_200
    assert official("{from: mean of all, to: 0.1 s, round: half up}", *readings).time == 60_100


def test_holds_come_off_before_the_rounding() -> None:
    hold = held(at=10_000), resumed(at=10_150)
    assert official("{to: 0.1 s, round: up}", watch(1, 60_250), *hold).time == 60_100
    assert official("{to: 0.1 s, round: up}", watch(1, 60_250), *hold).back == 150


def test_time_given_back_comes_off_before_the_rounding_and_adds_up() -> None:
    backs = gave_back(100), gave_back(50)
    assert official("{to: 0.1 s, round: up}", watch(1, 60_250), *backs).time == 60_100


def test_time_taken_is_added() -> None:
    result = official("{to: 0.1 s, round: up}", watch(1, 60_250), gave_back(-10_000))
    assert (result.time, result.back) == (70_300, -10_000)


def test_no_time_is_less_than_none() -> None:
    assert official("{to: 0.1 s}", watch(1, 60_250), gave_back(99_000)).time == 0


def test_an_open_hold_is_no_time_back_until_the_stop() -> None:
    assert official("{to: 0.1 s}", held(at=TOOK - 50_000)).time == TOOK - 50_000


def test_a_danger_stop_holds_the_clock() -> None:
    danger = signalled(SignalName.DANGER, at=100_000), resumed(at=200_000)
    assert official("{to: 0.1 s}", *danger).time == TOOK - 100_000


readings = st.lists(st.integers(1, 10**8), min_size=3, max_size=3).map(tuple)


@given(readings)
def test_the_ways_are_what_the_statistics_say(times: tuple[int, ...]) -> None:
    # Python's statistics module is the reference for the median.
    assert combine(times, Way.MIDDLE) == median(times)
    assert combine(times, Way.MEAN_OF_ALL) == sum(map(Fraction, times)) / 3
    assert combine(times[:2], Way.SLOWER) == max(times[:2])
    assert combine(times[:2], Way.MEAN) == Fraction(times[0] + times[1], 2)


@given(readings, st.permutations([0, 1, 2]), st.sampled_from([Way.MIDDLE, Way.MEAN_OF_ALL]))
def test_which_watch_is_which_changes_nothing_where_all_are_used(
    times: tuple[int, ...], order: list[int], way: Way
) -> None:
    assert combine(tuple(times[n] for n in order), way) == combine(times, way)
