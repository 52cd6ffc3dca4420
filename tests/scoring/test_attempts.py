"""Several runs of one team: which of them make its result."""

from collections.abc import Sequence
from fractions import Fraction
from random import Random
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring import (
    Entrant,
    OfficialTime,
    Rulebook,
    Scorecard,
    Stage,
    Standing,
    Status,
    TeamId,
    rank,
)
from scoring.clock import Way
from tests.scoring.builders import book


def run(total: int | None, status: Status | None = None) -> Scorecard:
    """A run that is over, or one still to come where there is neither total nor status."""
    over = total is not None or status is not None
    official = OfficialTime(total, Way.ONE, (), 0, Way.ONE) if total is not None else None
    return Scorecard(
        stage=Stage.CLOSED if over else Stage.WAITING,
        total=total,
        status=status,
        why="a flat tyre" if status is not None else "",
        official=official,
    )


FAILED = run(None, Status.DID_NOT_FINISH)
AWAY = run(None, Status.DID_NOT_START)
TO_COME = run(None)


def rules(attempts: str, **more: Any) -> Rulebook:
    return book(attempts=attempts, **more)


def row(attempts: str, *runs: Scorecard, **more: Any) -> Standing:
    of = rules(attempts, **more)
    [made] = rank([(Entrant(TeamId("a"), "A"), each) for each in runs], of)
    return made


def made(attempts: str, *runs: Scorecard, **more: Any) -> Scorecard:
    return row(attempts, *runs, **more).scorecard


def counting(card: Scorecard) -> list[bool]:
    return [attempt.counts for attempt in card.attempts]


@pytest.mark.parametrize(
    ("attempts", "total", "counts"),
    [
        ("{count: 3}", 9_000, [False, True, False]),
        ("{count: 3, take: best}", 9_000, [False, True, False]),
        ("{count: 3, take: last}", 14_000, [False, False, True]),
        ("{count: 3, take: middle}", 10_000, [True, False, False]),
        ("{count: 3, take: sum}", 33_000, [True, True, True]),
        ("{count: 3, take: sum, drop-worst: 1}", 19_000, [True, True, False]),
        ("{count: 3, take: sum, drop-best: 1}", 24_000, [True, False, True]),
        ("{count: 3, take: mean}", 11_000, [True, True, True]),
        ("{count: 3, take: mean, drop-best: 1, drop-worst: 1}", 10_000, [True, False, False]),
    ],
)
def test_each_way_takes_what_it_says(attempts: str, total: int, counts: list[bool]) -> None:
    card = made(attempts, run(10_000), run(9_000), run(14_000))
    assert (card.total, counting(card)) == (total, counts)


def test_the_most_points_are_the_best_attempt() -> None:
    points = {"result": "points", "penalties": "{slip: {points: 1}, grave: {points: 2}}"}
    card = made("{count: 2}", run(5_000), run(8_000), **points)
    assert card.total == 8_000
    least = made("{count: 2}", run(5_000), run(8_000), points="{best: least}", **points)
    assert least.total == 5_000


@pytest.mark.parametrize("take", ["best", "last", "sum"])
def test_a_team_with_attempts_has_one_row(take: str) -> None:
    of = rules(f"{{count: 2, take: {take}}}")
    entrants = [Entrant(TeamId(name), name.upper()) for name in ("a", "b", "a", "b")]
    cards = [run(10_000), run(12_000), run(13_000), run(11_000)]
    rows = rank(zip(entrants, cards, strict=True), of)
    assert len(rows) == 2


def test_a_mean_is_rounded_to_the_step_of_the_official_time() -> None:
    # Common practice, no source: a mean is no finer than what it is made of.
    assert made("{count: 3, take: mean}", run(10_000), run(10_010), run(10_000)).total == 10_000
    assert made("{count: 2, take: mean}", run(10_000), run(10_010)).total == 10_010


def test_a_mean_is_rounded_as_the_rulebook_says() -> None:
    runs = run(10_000), run(10_010)
    assert made("{count: 2, take: mean, round: down}", *runs).total == 10_000
    assert made("{count: 2, take: mean, to: 0.001}", *runs).total == 10_005
    assert made("{count: 2, take: mean, to: 0.1, round: up}", *runs).total == 10_100


@pytest.mark.parametrize(
    ("attempts", "total", "status"),
    [
        ("{count: 3}", 9_000, None),
        ("{count: 3, take: last}", None, Status.DID_NOT_FINISH),
        ("{count: 3, take: middle}", 14_000, None),
        ("{count: 3, take: sum}", None, Status.DID_NOT_FINISH),
        ("{count: 3, take: sum, drop-worst: 1}", 23_000, None),
        ("{count: 3, take: mean, drop-best: 1, drop-worst: 1}", 14_000, None),
        ("{count: 3, take: sum, failed: 60}", 83_000, None),
        ("{count: 3, take: last, failed: 60}", 60_000, None),
    ],
)
def test_a_failed_attempt_is_worse_than_any(
    attempts: str, total: int | None, status: Status | None
) -> None:
    card = made(attempts, run(9_000), run(14_000), FAILED)
    assert (card.total, card.status) == (total, status)
    assert card.why == ("a flat tyre" if status else "")


def test_a_failed_attempt_may_count_as_better_than_a_slow_one() -> None:
    assert made("{count: 2, take: best, failed: 60}", run(90_000), FAILED).total == 60_000


def test_who_failed_every_time_has_failed() -> None:
    card = made("{count: 2}", AWAY, FAILED)
    assert (card.total, card.status) == (None, Status.DID_NOT_FINISH)


@pytest.mark.parametrize("take", ["middle", "sum", "mean"])
def test_what_all_attempts_make_is_waited_for(take: str) -> None:
    attempts = f"{{count: 3, take: {take}}}"
    for runs in ([run(9_000), run(8_000)], [run(9_000), run(8_000), TO_COME]):
        card = made(attempts, *runs)
        assert (card.total, card.status) == (None, None)
        assert row(attempts, *runs).place is None


def test_the_best_and_the_last_so_far_stand_while_more_are_to_come() -> None:
    assert made("{count: 3}", run(9_000), run(8_000), TO_COME).total == 8_000
    assert made("{count: 3, take: last}", run(9_000), run(8_000), TO_COME).total == 8_000


def test_who_failed_and_has_an_attempt_to_come_has_not_failed_yet() -> None:
    card = made("{count: 2}", FAILED, TO_COME)
    assert (card.total, card.status) == (None, None)
    assert made("{count: 2, take: last}", TO_COME, TO_COME).stage is Stage.WAITING


def test_of_more_runs_than_attempts_the_latest_count() -> None:
    card = made("{count: 2, take: sum}", run(1_000), run(2_000), run(3_000))
    assert (card.total, counting(card)) == (5_000, [False, True, True])


def test_equal_attempts_are_dropped_the_earlier_as_better() -> None:
    card = made("{count: 3, take: sum, drop-worst: 1}", run(9_000), run(9_000), run(8_000))
    assert counting(card) == [True, False, True]


@pytest.mark.parametrize(
    ("better", "first"), [("attempt", ["a", "b", "c"]), ("attempts", ["a", "c", "b"])]
)
def test_better_attempts_break_ties(better: str, first: list[str]) -> None:
    of = rules("{count: 3, take: sum}", ties=f"{{better: {better}}}")
    totals = {"a": (1, 9, 20), "b": (2, 14, 14), "c": (2, 13, 15)}
    results = [
        (Entrant(TeamId(name), name), run(1_000 * total))
        for name, all_three in totals.items()
        for total in all_three
    ]
    rows = rank(results, of)
    assert [each.entrant.team for each in rows] == first
    assert [each.place for each in rows] == ([1, 2, 2] if better == "attempt" else [1, 2, 3])


def test_less_time_is_that_of_the_attempts_that_count() -> None:
    of = rules("{count: 2, take: last, failed: 10}", ties="{less: time}")
    one = [(Entrant(TeamId("a"), "A"), each) for each in (run(1_000), run(10_000))]
    other = [(Entrant(TeamId("b"), "B"), each) for each in (run(20_000), run(10_000))]
    assert [each.place for each in rank([*one, *other], of)] == [1, 1]


_totals = st.lists(st.none() | st.integers(1, 40), min_size=5, max_size=5)


def _runs(totals: Sequence[int | None]) -> list[Scorecard]:
    return [FAILED if total is None else run(1_000 * total) for total in totals]


@given(_totals)
def test_the_best_is_no_worse_than_any_attempt(totals: list[int | None]) -> None:
    best = made("{count: 5}", *_runs(totals)).total
    there = [1_000 * total for total in totals if total is not None]
    assert best == min(there, default=None)


@given(_totals, st.integers(0, 1 << 16))
@pytest.mark.parametrize(
    "attempts",
    [
        "{count: 5}",
        "{count: 5, take: middle}",
        "{count: 5, take: sum, drop-worst: 2}",
        "{count: 5, take: mean, drop-best: 1, drop-worst: 1, to: 0.001}",
    ],
)
def test_the_order_of_attempts_changes_no_total(
    attempts: str, totals: list[int | None], seed: int
) -> None:
    mixed = Random(seed).sample(totals, 5)  # noqa: S311
    assert made(attempts, *_runs(totals)).total == made(attempts, *_runs(mixed)).total


@given(st.lists(st.integers(1, 40), min_size=5, max_size=5))
def test_a_mean_without_best_and_worst_is_exact(totals: list[int]) -> None:
    card = made("{count: 5, take: mean, drop-best: 1, drop-worst: 1, to: 0.001}", *_runs(totals))
    exact = Fraction(1_000 * sum(sorted(totals)[1:4]), 3)
    assert card.total is not None
    assert abs(card.total - exact) <= Fraction(1, 2)
