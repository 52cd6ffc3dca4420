"""Overall standings: what each event gives, what is dropped, what is missing, what breaks ties."""

from collections.abc import Mapping, Sequence
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import rankdata

from scoring import EventScore, Meet, OverallStanding, Standing, Status, overall
from tests.scoring.meets import meet, placed, races, series, standings

PLACES = "{by: places, missing: entries + 1}"


def rows(of: Meet, held: Mapping[str, Sequence[Standing]]) -> dict[str, OverallStanding]:
    return {row.entrant.team: row for row in overall(of, held)}


def scores(row: OverallStanding) -> list[int | None]:
    return [each.score for each in row.scores]


def table(of: Meet, held: Mapping[str, Sequence[Standing]]) -> list[tuple[str, int | None, int]]:
    return [(row.entrant.team, row.place, row.total or 0) for row in overall(of, held)]


def test_by_places_the_least_sum_wins() -> None:
    held = races({"a": (1, 3), "b": (2, 1), "c": (3, 2)})
    assert table(series(2, PLACES), held) == [("b", 1, 3_000), ("a", 2, 4_000), ("c", 3, 5_000)]


def test_by_points_the_table_says_what_each_place_gives() -> None:
    of = series(2, "{by: points, table: [10, 6.5, 3], missing: 0}")
    held = races({"a": (1, 4), "b": (2, 1), "c": (3, 2), "d": (4, 3)})
    assert table(of, held) == [
        ("b", 1, 16_500),
        ("a", 2, 10_000),
        ("c", 3, 9_500),
        ("d", 4, 3_000),
    ]


@pytest.mark.parametrize(
    ("file", "totals", "expected"),
    [
        ("lift.yaml", {"a": 60_000, "b": 80_000, "c": 90_000}, [100_000, 75_000, 66_667]),
        ("rescue.yaml", {"a": 80_000, "b": 60_000, "c": -10_000}, [100_000, 75_000, 0]),
        ("faults.yaml", {"a": 4_000, "b": 8_000, "c": 12_000}, [100_000, 50_000, 33_333]),
        ("faults.yaml", {"a": 0, "b": 0, "c": 4_000}, [100_000, 100_000, 0]),
    ],
)
def test_scores_are_normalised_to_the_best(
    file: str, totals: dict[str, int], expected: list[int]
) -> None:
    of = meet(events=f"{{only: {{rulebook: {file}}}}}", overall="{by: scores, missing: 0}")
    ranks = dict(zip(totals, (1, 1 if totals["a"] == totals["b"] else 2, 3), strict=True))
    found = rows(of, {"only": standings(totals, ranks)})
    assert [found[team].total for team in totals] == expected


def test_scores_may_be_out_of_another_number_and_weigh_differently() -> None:
    of = meet(
        events="{lift: {rulebook: lift.yaml, weight: 2}, rescue: {rulebook: rescue.yaml}}",
        overall="{by: scores, full: 1000, missing: 0}",
    )
    found = rows(
        of,
        {
            "lift": standings({"a": 60_000, "b": 80_000}, {"a": 1, "b": 2}),
            "rescue": standings({"a": 50_000, "b": 100_000}, {"a": 2, "b": 1}),
        },
    )
    assert scores(found["a"]) == [2_000_000, 500_000]
    assert scores(found["b"]) == [1_500_000, 1_000_000]
    assert [found[team].place for team in "ab"] == [1, 1]


def test_a_weight_multiplies_places_too() -> None:
    of = meet(events="{lift: {rulebook: lift.yaml, weight: 1.5}}")
    assert rows(of, {"lift": placed({"a": 3})})["a"].total == 4_500


@pytest.mark.parametrize(
    ("by", "shared", "expected"),
    [
        ("places, missing: unranked", "place", [1_000, 2_000, 2_000, 4_000]),
        ("places, missing: unranked", "mean", [1_000, 2_500, 2_500, 4_000]),
        ("points, table: [9, 6, 5], missing: 0", "place", [9_000, 6_000, 6_000, 0]),
        ("points, table: [9, 6, 5], missing: 0", "mean", [9_000, 5_500, 5_500, 0]),
    ],
)
def test_a_shared_place_counts_as_itself_or_as_the_mean_of_those_it_takes(
    by: str, shared: str, expected: list[int]
) -> None:
    of = series(1, f"{{by: {by}, shared: {shared}}}")
    found = rows(of, {"r1": placed({"a": 1, "b": 2, "c": 2, "d": 4})})
    assert [found[team].total for team in "abcd"] == expected


def test_the_worst_result_is_dropped_the_earliest_of_equals() -> None:
    of = series(4, "{by: places, missing: unranked, drop: 1}")
    found = rows(of, races({"a": (1, 3, 3, 2), "b": (2, 1, 1, 1)}))
    assert [each.dropped for each in found["a"].scores] == [False, True, False, False]
    assert (found["a"].total, found["b"].total) == (6_000, 3_000)


def test_nobody_loses_the_last_event_to_dropping() -> None:
    of = series(4, "{by: places, missing: unranked, drop: 3}")
    assert rows(of, {"r1": placed({"a": 1, "b": 2})})["b"].total == 2_000
    held = {f"r{n}": placed({"a": 1, "b": 2}) for n in (1, 2)}
    assert rows(of, held)["b"].total == 2_000


_HELD = {
    "r1": standings(
        {"a": 1_000, "b": 2_000, "c": None, "d": None, "e": None},
        {"a": 1, "b": 2, "c": None, "d": None, "e": None},
        {
            "c": Status.DID_NOT_FINISH,
            "d": Status.DID_NOT_START,
            "e": Status.DISQUALIFIED,
        },
    ),
    "r2": placed({"a": 1, "b": 2, "c": 3, "d": 4, "e": 5, "f": 6}),
}


@pytest.mark.parametrize(
    ("missing", "expected"),
    [
        # Six teams stand in the meet; five are entered in the first race, four start, two finish.
        ("entries + 1", [7_000, 7_000, 7_000, 7_000]),
        ("starters + 1", [5_000, 5_000, 5_000, 5_000]),
        ("finishers+2", [4_000, 4_000, 4_000, 4_000]),
        ("unranked", [None, None, None, None]),
        (
            "{otherwise: entries + 1, did-not-finish: finishers + 1, disqualified: entries + 2}",
            [3_000, 7_000, 8_000, 7_000],
        ),
        (
            "{otherwise: unranked, did-not-start: starters + 1}",
            [None, 5_000, None, None],
        ),
    ],
)
def test_what_is_missing_counts_by_the_stated_rule(
    missing: str, expected: list[int | None]
) -> None:
    found = rows(series(2, f"{{by: places, missing: {missing}}}"), _HELD)
    assert [scores(found[team])[0] for team in "cdef"] == expected
    assert [found[team].scores[0].why for team in "cdef"] == [
        "did not finish",
        "did not start",
        "disqualified",
        "not entered",
    ]


def test_a_place_beyond_the_table_gives_nothing_where_a_result_is_missing() -> None:
    of = series(2, "{by: points, table: [9, 6], missing: finishers + 1}")
    assert scores(rows(of, _HELD)["c"]) == [0, 0]
    amount = series(2, "{by: points, table: [9, 6], missing: 1.5}")
    assert scores(rows(amount, _HELD)["c"]) == [1_500, 0]


def test_who_lacks_an_event_that_counts_has_no_overall_place() -> None:
    of = series(2, "{by: places, missing: unranked}")
    found = overall(of, _HELD)
    assert [(row.entrant.team, row.place) for row in found] == [
        ("a", 1),
        ("b", 2),
        ("c", None),
        ("d", None),
        ("e", None),
        ("f", None),
    ]
    assert found[2].total is None
    dropping = series(2, "{by: places, missing: unranked, drop: 1}")
    assert rows(dropping, _HELD)["c"].total == 3_000


def test_a_run_without_a_result_yet_is_missing_so_far() -> None:
    held = {"r1": standings({"a": 1_000, "b": None}, {"a": 1, "b": None}, {"b": None})}
    found = rows(series(1, PLACES), held)["b"]
    assert found.scores == (EventScore("r1", None, 3_000, "no result"),)


def test_an_event_that_was_not_held_is_left_out_for_everybody() -> None:
    found = rows(series(3, PLACES), {"r2": placed({"a": 1, "b": 2})})
    assert [each.event for each in found["a"].scores] == ["r2"]
    assert overall(series(3, PLACES), {}) == ()


def test_without_a_tie_break_equal_sums_share_a_place() -> None:
    found = overall(series(2, PLACES), races({"a": (1, 2), "b": (2, 1), "c": (3, 3)}))
    assert [(row.place, row.tied) for row in found] == [(1, True), (1, True), (3, False)]


@pytest.mark.parametrize(
    ("tie", "order"),
    [
        ("most-firsts", ["b", "a"]),
        ("best-scores", ["b", "a"]),
        ("latest-scores", ["a", "b"]),
    ],
)
def test_each_tie_break_parts_equal_sums(tie: str, order: list[str]) -> None:
    held = races({"a": (3, 3, 2), "b": (1, 4, 3), "c": (2, 1, 5)})
    found = overall(series(3, f"{{{PLACES[1:-1]}, ties: {tie}}}"), held)
    both = [row for row in found if row.entrant.team in order]
    assert [row.entrant.team for row in both] == order
    assert {row.broken_by for row in both} == {tie.replace("-", " ")}


def test_ties_are_broken_in_the_order_written() -> None:
    held = races({"a": (2, 1, 3), "b": (1, 3, 2), "c": (3, 2, 1)})
    of = series(3, "{by: places, missing: unranked, ties: [best-scores, latest-scores]}")
    found = overall(of, held)
    assert [row.entrant.team for row in found] == ["c", "b", "a"]
    assert {row.broken_by for row in found} == {"latest scores"}


def test_divisions_are_ranked_as_if_they_were_alone() -> None:
    divisions = {"a": "guides", "b": "novices", "c": "guides", "d": "novices"}
    ranks = {"a": 1, "b": 2, "c": 3, "d": 4}
    held = {"r1": standings({team: n * 1_000 for team, n in ranks.items()}, ranks, None, divisions)}
    found = rows(series(1, PLACES), held)
    assert [(found[team].place, found[team].division_place) for team in "abcd"] == [
        (1, 1),
        (2, 1),
        (3, 2),
        (4, 2),
    ]


def test_an_event_with_places_by_division_gives_each_division_its_own() -> None:
    divisions = {"a": "guides", "b": "novices", "c": "novices"}
    of = meet(events="{halls: {rulebook: halls.yaml}}", overall="{by: scores, missing: 0}")
    totals = {"a": 30_000, "b": 60_000, "c": 120_000}
    held = {"halls": standings(totals, {"a": 1, "b": 1, "c": 2}, None, divisions)}
    found = rows(of, held)
    assert [found[team].total for team in "abc"] == [100_000, 100_000, 50_000]


_places = st.lists(st.integers(1, 4), min_size=3, max_size=3)


@given(st.lists(_places, min_size=1, max_size=6))
def test_the_places_of_a_series_are_scipys_ranks_of_its_sums(field: list[list[int]]) -> None:
    names = [f"t{n}" for n in range(len(field))]
    found = rows(series(3, PLACES), races(dict(zip(names, map(tuple, field), strict=True))))
    expected = rankdata([sum(each) for each in field], method="min").tolist()
    assert [found[name].place for name in names] == expected


@given(st.lists(_places, min_size=1, max_size=6), st.integers(0, 2))
def test_dropping_never_makes_a_sum_worse(field: list[list[int]], drop: int) -> None:
    held = races({f"t{n}": tuple(each) for n, each in enumerate(field)})
    dropping = f"{{by: places, missing: unranked{f', drop: {drop}' if drop else ''}}}"
    for name, row in rows(series(3, dropping), held).items():
        kept = sorted(field[int(name[1:])])[: 3 - drop]
        assert row.total == 1_000 * sum(kept)


@given(st.lists(_places, min_size=2, max_size=6), st.integers(0, 1 << 16))
def test_the_order_of_the_rows_changes_nothing(field: list[list[int]], seed: int) -> None:
    of = series(3, "{by: places, missing: unranked, drop: 1, ties: [best-scores]}")
    held = races({f"t{n}": tuple(each) for n, each in enumerate(field)})
    mixed = {race: Random(seed).sample(each, len(each)) for race, each in held.items()}  # noqa: S311
    assert overall(of, mixed) == overall(of, held)
