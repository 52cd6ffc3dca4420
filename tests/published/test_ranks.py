"""Places beside SciPy's ranks (method "min" is standard competition ranking)."""

from collections.abc import Sequence
from typing import Final

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import rankdata

from scoring import Entrant, Scorecard, TeamId, rank
from tests.published.sheets import finished, places, rulebook, vectors
from tests.scoring.builders import book, breached, missed

METHODS: Final = vectors("rank_methods.json")
PLAIN: Final = rulebook("tapping")
#: As in the rulebook: fewer breaches of the severity "safety", then less time.
BROKEN: Final = book(ties="[{fewer: safety}, {less: time}]")


def _ranked(totals: Sequence[int | None]) -> list[int | None]:
    cards = {str(number): Scorecard(total=total) for number, total in enumerate(totals)}
    found = places(cards, PLAIN)
    return [found[name] for name in cards]


@pytest.mark.parametrize(
    ("totals", "published"),
    [
        (METHODS["x"], METHODS["scipy"]["min"]),
        # SciPy's own example in the reference of rankdata.
        ([0, 2, 3, 2], METHODS["scipy_doc_0232"]["min"]),
    ],
)
def test_places_are_the_published_ranks(totals: list[int], published: list[int]) -> None:
    assert _ranked(totals) == published


@given(st.lists(st.integers(0, 12), min_size=1, max_size=30))
def test_places_are_scipys_ranks(totals: list[int]) -> None:
    assert _ranked(totals) == rankdata(totals, method="min").tolist()


@given(st.lists(st.none() | st.integers(0, 12), min_size=1, max_size=30))
def test_who_has_no_total_has_no_place_and_takes_none(totals: list[int | None]) -> None:
    there = [total for total in totals if total is not None]
    wanted = iter(rankdata(there, method="min").tolist() if there else [])
    assert _ranked(totals) == [None if total is None else next(wanted) for total in totals]


@given(st.lists(st.tuples(st.integers(0, 5), st.sampled_from(["a", "b"])), min_size=1, max_size=20))
def test_a_division_is_ranked_as_if_it_were_alone(rows: list[tuple[int, str]]) -> None:
    results = [
        (Entrant(TeamId(str(number)), "", division), Scorecard(total=total))
        for number, (total, division) in enumerate(rows)
    ]
    found = {row.entrant.team: row.division_place for row in rank(results, PLAIN)}
    for name in {division for _, division in rows}:
        members = [number for number, (_, division) in enumerate(rows) if division == name]
        alone = rankdata([rows[number][0] for number in members], method="min").tolist()
        assert [found[TeamId(str(number))] for number in members] == alone


#: Slips at 10 s, breaches of safety at 30 s, and tens of seconds of time: totals often meet.
_runs: Final = st.tuples(st.integers(0, 3), st.integers(0, 2), st.integers(1, 9))


@given(st.lists(_runs, min_size=1, max_size=8))
def test_tie_breaks_are_lexicographic(runs: list[tuple[int, int, int]]) -> None:
    """SciPy ranks numbers whose leading digits are the total, then the breaches, then the time."""
    cards = {}
    for number, (slips, breaches, tens) in enumerate(runs):
        seen = [missed("A2", item) for item in ("one", "two", "three")[:slips]]
        seen += [breached("gloves", at=turn * 60_000) for turn in range(breaches)]
        cards[str(number)] = finished(BROKEN, tens * 10_000, seen=seen)
    numbers = [(s * 10 + b * 30 + t * 10) * 100 + b * 10 + t for s, b, t in runs]
    found = places(cards, BROKEN)
    assert [found[name] for name in cards] == rankdata(numbers, method="min").tolist()
