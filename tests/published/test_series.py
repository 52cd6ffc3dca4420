"""Series of races after the Racing Rules of Sailing, and a contest by most solved, then time."""

from typing import Final

import pytest

from scoring import Entrant, Given, Meet, OverallStanding, TeamId, overall, rank, read_meet
from tests.published.sheets import finished, rulebook, vectors
from tests.scoring.builders import entry, marked
from tests.scoring.meets import placed, races

# "Misconduct – a Reference for Race Officials", p. 105 (online.flipbuilder.com/rzgo/xtdp): RRS A2.1
# drops the worst score, A8.1 compares the scores from best to worst, A8.2 the last race and back.
TIES: Final = vectors("rrs_a8_ties.json")
BOAT: Final = rulebook("low-point")


def _series(number: int, drop: int = 1) -> Meet:
    races_of_it = ", ".join(f"r{n}: {{rulebook: low-point.yaml}}" for n in range(1, number + 1))
    text = f"""
meet: regatta
title: A series of races
edition: 1
events: {{{races_of_it}}}
overall:
  by: places
  {f"drop: {drop}" if drop else ""}
  # A4.2: who did not start, did not finish, retired or was disqualified.
  missing: entries + 1
  # A7: those who tie share the mean of the places they take.
  shared: mean
  ties: [best-scores, latest-scores]
"""
    return read_meet(text.encode(), {"low-point.yaml": BOAT}, "regatta.yaml")


def _sailed(scores: dict[str, list[int]]) -> tuple[OverallStanding, ...]:
    # Scores of a few boats out of a larger fleet: no two of them share a place in one race.
    return overall(_series(len(scores["A"]), TIES["discards"]), races(scores))


@pytest.mark.parametrize("example", ["example1", "example2"])
def test_ties_of_a_series_are_broken_in_the_published_order(example: str) -> None:
    published = TIES[example]
    found = _sailed(published["scores"])
    assert [row.entrant.team for row in found] == published["order"]
    assert [row.place for row in found] == [*range(1, len(found) + 1)]


def test_without_tie_breaks_the_published_series_is_level() -> None:
    for example in ("example1", "example2"):
        published = TIES[example]
        found = _sailed(published["scores"])
        assert {row.total for row in found} == {1_000 * published["net"]}


def test_the_scores_from_best_to_worst_or_else_the_last_race_broke_the_ties() -> None:
    assert [row.broken_by for row in _sailed(TIES["example1"]["scores"])] == [
        "best scores",
        "best scores",
        # B from A: level from best to worst, and B was better in the last race, which was dropped.
        "latest scores",
    ]
    assert {row.broken_by for row in _sailed(TIES["example2"]["scores"])} == {"latest scores"}


def test_who_did_not_start_among_nine_entries_has_ten_points() -> None:
    # en.wikipedia.org, "Low-point scoring system"; RRS A4.2.
    fleet: dict[str, int | None] = {f"b{n}": n for n in range(1, 9)}
    found = overall(_series(1, drop=0), {"r1": placed({**fleet, "late": None})})
    assert {row.entrant.team: row.total for row in found}[TeamId("late")] == 10_000


# Worked example of a programming contest: hspt.ucfprogrammingteam.org. Penalty minutes count for
# solved problems only, so judges count the wrong tries of those.
CONTEST: Final = {"A": (2, 200), "B": (2, 320), "C": (3, 480)}


def test_most_solved_wins_and_then_the_least_time() -> None:
    rules = rulebook("most-solved")
    results = [
        (
            Entrant(TeamId(team), team),
            finished(
                rules,
                minutes * 60_000,
                seen=[marked(f"p{n}", post="desk") for n in range(1, solved + 1)],
            ),
        )
        for team, (solved, minutes) in CONTEST.items()
    ]
    rows = rank(results, rules)
    assert [row.entrant.team for row in rows] == ["C", "A", "B"]
    assert [row.scorecard.total for row in rows] == [3_000, 2_000, 2_000]
    assert [row.broken_by for row in rows] == ["", "less time-and-costs", "less time-and-costs"]


def test_what_a_run_starts_from_may_be_carried_in() -> None:
    rules = rulebook("show-jumping")
    made = finished(rules, 1_000, seen=[entry(Given("carried", "6.695"))])
    assert made.total == 6_695
