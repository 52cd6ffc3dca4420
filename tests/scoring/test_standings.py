from random import Random
from typing import Final

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import rankdata

from scoring import Entrant, Entry, Scorecard, Standing, Status, TeamId, rank, score
from tests.scoring.builders import book, breached, ended, missed, started, stopped

BOOK: Final = book()
TIES: Final = book(ties="[{fewer: safety}, {fewer: slip}, {less: time}]")


def result(
    team: str, *entries: Entry, took: int = 0, division: str = ""
) -> tuple[Entrant, Scorecard]:
    """A team's run that took so long, with these entries on it; without a stop if it took none."""
    whole = (started(), *([stopped(took)] if took else []), *entries)
    return Entrant(TeamId(team), team.title(), division), score(whole, BOOK)


def placed(standings: tuple[Standing, ...]) -> list[tuple[str, int | None]]:
    return [(row.entrant.team, row.place) for row in standings]


def test_the_least_total_wins_penalties_and_all() -> None:
    rows = rank([result("fox", breached(), took=60_000), result("owl", took=80_000)], BOOK)
    assert placed(rows) == [("owl", 1), ("fox", 2)]


def test_equal_totals_share_a_place_and_leave_the_next_one_out() -> None:
    took = {"owl": 60_000, "fox": 60_000, "elk": 70_000}
    rows = rank([result(team, took=time) for team, time in took.items()], BOOK)
    assert placed(rows) == [("fox", 1), ("owl", 1), ("elk", 3)]
    assert [row.tied for row in rows] == [True, True, False]


@given(st.lists(st.integers(1, 9), max_size=12), st.randoms())
def test_places_are_standard_competition_ranks(tens: list[int], chance: Random) -> None:
    # scipy.stats.rankdata(method="min") is the reference.
    results = [result(f"t{n:02d}", took=10_000 * took) for n, took in enumerate(tens)]
    rows = rank(chance.sample(results, len(results)), BOOK)
    expected = [int(place) for place in rankdata(tens, method="min")]
    assert {row.entrant.team: row.place for row in rows} == {
        f"t{n:02d}": place for n, place in enumerate(expected)
    }


@given(
    st.lists(st.tuples(st.integers(1, 4), st.sampled_from(["a", "b", "c"])), max_size=12),
    st.randoms(),
)
def test_places_in_a_division_are_ranks_among_its_own(
    runs: list[tuple[int, str]], chance: Random
) -> None:
    results = [
        result(f"t{n:02d}", took=10_000 * took, division=division)
        for n, (took, division) in enumerate(runs)
    ]
    rows = rank(chance.sample(results, len(results)), BOOK)
    for division in {division for _, division in runs}:
        alone = [each for each in results if each[0].division == division]
        assert [
            (row.entrant.team, row.division_place)
            for row in rows
            if row.entrant.division == division
        ] == placed(rank(alone, BOOK))


def test_statuses_stand_below_every_place_in_their_order_with_their_reason() -> None:
    results = [
        result("no-result"),
        result("disqualified", ended(Status.DISQUALIFIED, "a lock was cut"), took=10_000),
        result("not-finished", ended(Status.DID_NOT_FINISH)),
        result("not-started", ended(Status.DID_NOT_START)),
        result("slow", took=90_000),
    ]
    rows = rank(results, BOOK)
    statuses = [row.scorecard.status for row in rows]
    assert statuses == [None, *Status, None]
    assert [row.place for row in rows] == [1, None, None, None, None]
    assert [row.tied for row in rows] == [False] * 5
    assert rows[3].scorecard.why == "a lock was cut"
    assert rows[4].entrant.team == "no-result"


def level(team: str, *entries: Entry, penalty: int) -> tuple[Entrant, Scorecard]:
    """A run whose time and penalty together are two minutes."""
    whole = (started(), stopped(120_000 - penalty), *entries)
    return Entrant(TeamId(team), team), score(whole, TIES)


def test_a_tie_is_broken_by_each_word_of_the_rulebook_in_turn() -> None:
    grave = level("grave", breached(), penalty=30_000)
    slips = level("slips", missed("A1"), missed("clear"), penalty=20_000)
    clean = level("clean", penalty=0)
    rows = rank([grave, slips, clean], TIES)
    assert placed(rows) == [("clean", 1), ("slips", 2), ("grave", 3)]
    assert [row.broken_by for row in rows] == ["fewer slip", "fewer slip", "fewer safety"]


def test_a_tie_can_be_broken_by_the_time_before_penalties() -> None:
    rules = book(ties="{less: time}")
    quick = Entrant(TeamId("quick"), "Q"), score((started(), stopped(90_000), breached()), rules)
    calm = Entrant(TeamId("calm"), "C"), score((started(), stopped(120_000)), rules)
    rows = rank([calm, quick], rules)
    assert placed(rows) == [("quick", 1), ("calm", 2)]
    assert [row.broken_by for row in rows] == ["less time", "less time"]


def test_a_tie_can_be_broken_by_the_penalties() -> None:
    rules = book(ties="{less: penalties}")
    quick = Entrant(TeamId("quick"), "Q"), score((started(), stopped(90_000), breached()), rules)
    calm = Entrant(TeamId("calm"), "C"), score((started(), stopped(120_000)), rules)
    assert placed(rank([quick, calm], rules)) == [("calm", 1), ("quick", 2)]


def test_those_who_share_a_place_were_parted_from_the_next_by_the_same_word() -> None:
    first = [level(team, penalty=0) for team in ("a", "b", "c")]
    rows = rank([*first, level("d", breached(), penalty=30_000)], TIES)
    assert [row.place for row in rows] == [1, 1, 1, 4]
    assert [row.broken_by for row in rows] == ["fewer safety"] * 4


def test_without_a_tie_break_nothing_broke_the_tie() -> None:
    rows = rank([result("a", took=60_000), result("b", breached(), took=30_000)], BOOK)
    assert [(row.place, row.broken_by) for row in rows] == [(1, ""), (1, "")]


def test_a_run_given_again_stands_for_the_earlier_one() -> None:
    [row] = rank([result("a", took=60_000), result("a", took=70_000)], BOOK)
    assert row.scorecard.total == 70_000
    assert [attempt.counts for attempt in row.scorecard.attempts] == [False, True]


def test_nobody_makes_empty_standings() -> None:
    assert rank([], BOOK) == ()


@pytest.mark.parametrize("seed", range(5))
def test_the_order_of_the_results_changes_nothing(seed: int) -> None:
    results = [result(f"t{n}", took=10_000 + 10_000 * (n % 3)) for n in range(9)]
    assert rank(Random(seed).sample(results, 9), BOOK) == rank(results, BOOK)  # noqa: S311
