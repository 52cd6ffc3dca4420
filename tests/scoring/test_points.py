"""Results in points: what is taken off, what is given, time as a term, the floor."""

from typing import Any, Final

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring import Entrant, Given, Rulebook, RuleId, Scorecard, Stage, TeamId, rank, score
from tests.scoring.builders import (
    book,
    breached,
    card,
    closed,
    counted,
    entry,
    marked,
    missed,
    started,
    stopped,
)

_PENALTIES: Final = "{slip: {points: 10}, grave: {points: 30, severity: safety}}"
_BONUS: Final = """
  - {step: A1, do: Stop the drive, post: north, costs: slip}
  - {conduct: gloves, text: Gloves on, post: north, costs: grave}
  - {bonus: neat, text: Neat work, post: south, gives: slip}
  - {bonus: brisk, text: Brisk work, post: south, gives: slip}"""


def in_points(points: str = "{start: 100}", **more: Any) -> Rulebook:
    return book(**{"result": "points", "penalties": _PENALTIES, "points": points, **more})


def both_closed(at: int = 600_000) -> list[Any]:
    return [closed("north", at=at), closed("south", at=at)]


def test_costs_come_off_and_bonuses_are_added() -> None:
    made = card(in_points(rules=_BONUS), missed("A1"), breached(), marked("neat"))
    assert (made.penalty, made.bonus, made.total) == (40_000, 10_000, 70_000)


def test_where_the_least_are_best_costs_are_added_and_bonuses_come_off() -> None:
    made = card(in_points("{best: least}", rules=_BONUS), missed("A1"), breached(), marked("neat"))
    assert made.total == 30_000


def test_without_a_points_section_points_start_from_nothing() -> None:
    assert card(book(result="points", penalties=_PENALTIES), missed("A1")).total == -10_000


def test_points_have_no_other_end_than_the_floor() -> None:
    breaches = [breached(at=turn * 60_000) for turn in range(5)]
    assert card(in_points("{start: 100}"), *breaches).total == -50_000
    assert card(in_points("{start: 100, floor: 0}"), *breaches).total == 0
    assert card(in_points("{start: 100, floor: -20}"), *breaches).total == -20_000


@given(
    slips=st.integers(0, 3),
    breaches=st.integers(0, 6),
    floor=st.integers(-100, 100),
    best=st.sampled_from(["most", "least"]),
)
def test_the_floor_is_never_undercut(slips: int, breaches: int, floor: int, best: str) -> None:
    rules = in_points(f"{{start: 100, floor: {floor}, best: {best}}}")
    seen = [missed("A2", item) for item in ("one", "two", "three")[:slips]]
    seen += [breached(at=turn * 60_000) for turn in range(breaches)]
    cost = 10_000 * slips + 30_000 * breaches
    exact = 100_000 - cost if best == "most" else 100_000 + cost
    assert card(rules, *seen).total == max(floor * 1_000, exact)


@pytest.mark.parametrize(
    ("time", "took", "cost"),
    [
        ("{points: 1, beyond: 10 min}", 600_000, 0),
        ("{points: 1, beyond: 10 min}", 600_010, 1_000),
        ("{points: 1, beyond: 10 min}", 661_000, 61_000),
        ("{points: 0.4, beyond: 10 min}", 602_500, 1_200),
        ("{points: 1, per: minute, beyond: 10 min}", 660_010, 2_000),
        ("{points: 1, per: second}", 10_500, 11_000),
        ("{points: 1, under: 10 min}", 600_000, 0),
        ("{points: 1, under: 10 min}", 599_990, 0),
        ("{points: 1, under: 10 min}", 597_500, -2_000),
        ("{points: 5, per: minute, under: 10 min}", 470_000, -10_000),
        ("{points: 1, under: 10 min}", 900_000, 0),
    ],
)
def test_time_is_a_term_by_what_is_begun_beyond_or_left_in_full(
    time: str, took: int, cost: int
) -> None:
    made = score((started(), stopped(took)), in_points(f"{{start: 100, time: {time}}}"))
    assert (made.time_cost, made.total) == (cost, 100_000 - cost)


def test_time_is_added_where_the_least_points_are_best() -> None:
    rules = in_points("{best: least, time: {points: 1, beyond: 9 min}}")
    assert card(rules).total == 60_000


def test_costs_in_seconds_go_to_the_time_where_time_is_a_term() -> None:
    rules = in_points(
        "{start: 100, time: {points: 1, beyond: 10 min}}",
        penalties="{slip: {points: 10}, grave: {seconds: 30}}",
    )
    made = card(rules, missed("A1"), breached())
    assert (made.penalty, made.seconds, made.time_cost) == (10_000, 30_000, 30_000)
    assert made.total == 60_000


def test_seconds_mean_something_too_where_a_tie_compares_them() -> None:
    rules = in_points(
        ties="{less: time-and-costs}", penalties="{slip: {points: 10}, grave: {seconds: 30}}"
    )
    quick = Entrant(TeamId("quick"), "Q"), score((started(), stopped(90_000), breached()), rules)
    calm = Entrant(TeamId("calm"), "C"), score((started(), stopped(110_000)), rules)
    rows = rank([quick, calm], rules)
    assert [(row.entrant.team, row.broken_by) for row in rows] == [
        ("calm", "less time-and-costs"),
        ("quick", "less time-and-costs"),
    ]


def test_where_no_time_is_asked_for_points_stand_once_every_post_has_closed_out() -> None:
    rules = in_points()
    assert not rules.timed
    seen = [missed("A1"), closed("north")]
    assert score([], rules).stage is Stage.WAITING
    assert score(seen[:1], rules).stage is Stage.RUNNING
    halfway = score(seen, rules)
    assert (halfway.stage, halfway.total) == (Stage.CLOSING, None)
    done = score([*seen, closed("south")], rules)
    assert (done.stage, done.total, done.official) == (Stage.CLOSED, 90_000, None)


def test_where_no_post_is_asked_anything_all_of_them_close_out() -> None:
    only = "[{conduct: gloves, text: Gloves on, post: north, costs: grave}]"
    rules = in_points(rules=only)
    assert score([breached(), closed("north")], rules).total is None
    assert score([breached(), *both_closed()], rules).total == 70_000


def test_a_run_that_was_timed_all_the_same_ends_with_the_stop() -> None:
    assert card(in_points(), missed("A1")).total == 90_000


@pytest.mark.parametrize("more", [{"clock": "{run: {limit: 35 min}}"}, {"ties": "{less: time}"}])
def test_where_time_is_asked_for_points_wait_for_it(more: dict[str, str]) -> None:
    rules = in_points(**more)
    assert score([missed("A1"), *both_closed()], rules).total is None
    assert card(rules, missed("A1")).total == 90_000


def test_each_run_may_start_from_its_own_points() -> None:
    rules = in_points("{start: carried, best: least}", givens="{carried: {number: '1'}}")
    made = card(rules, missed("A1"), entry(Given("carried", "12.425")))
    assert made.total == 22_425


@pytest.mark.parametrize("carried", [[], [entry(Given("carried", "many"))]])
def test_without_its_own_points_a_run_has_no_result(carried: list[Any]) -> None:
    rules = in_points("{start: carried}", givens="{carried: {number: '1'}}")
    made = card(rules, *carried)
    assert made.total is None
    assert RuleId("given carried") in {question.rule for question in made.questions}


def test_the_most_points_win_unless_the_least_do() -> None:
    def order(points: str) -> list[str]:
        rules = in_points(points)
        runs = {"clean": card(rules), "slipped": card(rules, missed("A1"))}
        return [row.entrant.team for row in rank(_entered(runs), rules)]

    assert order("{start: 100}") == ["clean", "slipped"]
    assert order("{start: 100, best: least}") == ["clean", "slipped"]
    bonus = in_points("{start: 0}", rules=_BONUS)
    runs = {"none": card(bonus), "one": card(bonus, marked("neat"))}
    assert [row.entrant.team for row in rank(_entered(runs), bonus)] == ["one", "none"]


def _entered(runs: dict[str, Scorecard]) -> list[tuple[Entrant, Scorecard]]:
    return [(Entrant(TeamId(name), name), made) for name, made in runs.items()]


def test_more_bonuses_may_break_a_tie() -> None:
    rules = in_points(rules=_BONUS, ties="[{more: bonuses}]")
    runs = {
        "plain": card(rules),
        "lively": card(rules, missed("A1"), marked("neat")),
    }
    rows = rank(_entered(runs), rules)
    assert [row.entrant.team for row in rows] == ["lively", "plain"]
    assert {row.broken_by for row in rows} == {"more bonuses"}


def test_a_bonus_is_no_failure_where_fewer_failures_win() -> None:
    rules = in_points(rules=_BONUS, ties="[{fewer: findings}]")
    runs = {
        "lucky": card(rules, breached(), *[marked(each) for each in ("neat", "brisk")]),
        "slipped": card(rules, missed("A1")),
    }
    lucky, slipped = (rank(_entered(runs), rules)[n] for n in (0, 1))
    assert (lucky.scorecard.total, slipped.scorecard.total) == (90_000, 90_000)
    assert (lucky.place, slipped.place) == (1, 1)


def test_places_may_be_given_by_division_only() -> None:
    rules = in_points(places="division")
    results = [
        (Entrant(TeamId("a"), "A", "novice"), card(rules, missed("A1"))),
        (Entrant(TeamId("b"), "B", "expert"), card(rules)),
        (Entrant(TeamId("c"), "C", "expert"), card(rules)),
        (Entrant(TeamId("d"), "D", "novice"), card(rules)),
    ]
    rows = rank(results, rules)
    assert [(row.entrant.team, row.place, row.division_place, row.tied) for row in rows] == [
        ("b", 1, 1, True),
        ("c", 1, 1, True),
        ("d", 1, 1, False),
        ("a", 2, 2, False),
    ]


def test_a_count_counts_in_points_too() -> None:
    rules = in_points(penalties="{slip: {points: 2.5, per: item}, grave: {points: 30}}")
    assert card(rules, counted("tools", 3)).total == 92_500
