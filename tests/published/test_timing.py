"""Official times as published rules make them of up to three watches, in whole milliseconds."""

import statistics
from collections.abc import Sequence
from fractions import Fraction
from typing import Any, Final

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring import Rulebook, Signal, SignalName, Status, score
from tests.published.sheets import finished, rulebook, seconds, vectors
from tests.scoring.builders import book, entry, started, stopped, watch

VECTORS: Final = vectors("timing_vectors.json")
_POSTS: Final = "{north: {title: North, watches: 3}, south: {title: South}}"


def _timed_by(*, ways: str, to: str, rounding: str) -> Rulebook:
    clock = f"{{official: {{from: [{ways}], to: {to}, round: {rounding}}}}}"
    return book(posts=_POSTS, clock=clock)


#: Each rulebook names its source.
_RULES: Final = {
    "World Athletics": rulebook("track-by-hand"),
    "World Aquatics": rulebook("pool-by-hand"),
}
#: Whose roundings a whole rulebook says; the others are built here.
_ROUNDED_BY: Final = {
    "athletics track hand": rulebook("track-by-hand"),
    "athletics outside stadium": rulebook("road-by-hand"),
    "WCA result <10 min": rulebook("cube-long"),
    "WCA result >10 min": rulebook("cube-long"),
}
_ROUNDINGS: Final = {"ceil": "up", "floor": "down", "half_up": "half up"}


def _official(by: Rulebook, readings: Sequence[int]) -> int:
    official = finished(by, *readings).official
    assert official is not None
    return official.time


def _rule(vector: dict[str, Any]) -> Rulebook:
    return next(rule for name, rule in _RULES.items() if vector["rule"].startswith(name))


@pytest.mark.parametrize(
    "vector", VECTORS["watches"], ids=lambda vector: f"{vector['rule'][:15]} {vector['watches']}"
)
def test_watches_make_the_published_official_time(vector: dict[str, Any]) -> None:
    readings = [seconds(written) for written in vector["watches"]]
    assert _official(_rule(vector), readings) == seconds(vector["official"])


@pytest.mark.parametrize(
    "vector", VECTORS["conversions"], ids=lambda vector: f"{vector['case']} {vector['value_s']}"
)
def test_a_time_is_rounded_as_published(vector: dict[str, str]) -> None:
    rounding = _ROUNDINGS[vector["mode"]]
    by = _ROUNDED_BY.get(vector["case"])
    if by is None:
        by = _timed_by(ways="one watch", to=f"{vector['step_s']} s", rounding=rounding)
    assert _official(by, [seconds(vector["value_s"])]) == seconds(vector["expected_s"])


def test_the_automatic_time_goes_before_the_watches() -> None:
    """SW 11 (from memory)."""
    watches = [watch(number, 57_400 + number) for number in range(1, 4)]
    card = score([started(), stopped(), watch(0, 57_361), *watches], _RULES["World Aquatics"])
    assert card.total == 57_360


def test_a_false_start_on_the_track_disqualifies() -> None:
    """TR16 (from memory)."""
    early = entry(Signal(SignalName.FALSE_START), at=500)
    card = score(
        [started(at=0), early, started(at=60_000), stopped(at=70_200)], _RULES["World Athletics"]
    )
    assert (card.status, card.total) == (Status.DISQUALIFIED, None)


TENTHS_UP: Final = _timed_by(ways="one watch", to="0.1 s", rounding="up")
HUNDREDTHS_DOWN: Final = _timed_by(ways="one watch", to="0.01 s", rounding="down")


@pytest.mark.parametrize(
    "trap",
    VECTORS["float_traps"]["elapsed_by_float_subtraction_then_ceil_tenth"],
    ids=lambda trap: f"{trap['stop']} less {trap['start']}",
)
def test_two_tenths_subtracted_are_no_tenth_too_long(trap: dict[str, float]) -> None:
    """Faux & Godolphin, Am. J. Phys. 89, 815 (2021), describe the error; the pairs are computed."""
    begin, end = (seconds(str(trap[key])) for key in ("start", "stop"))
    official = score([started(at=begin), stopped(at=end)], TENTHS_UP).official
    assert official is not None
    assert official.time == seconds(str(trap["right"])) != seconds(str(trap["wrong"]))


@pytest.mark.parametrize("trap", VECTORS["float_traps"]["truncate_to_hundredth_via_x_times_100"])
def test_a_whole_hundredth_is_cut_to_itself(trap: float) -> None:
    exact = seconds(str(trap))
    assert int(trap * 100) * 10 != exact
    assert _official(HUNDREDTHS_DOWN, [exact]) == exact


@given(st.integers(600_000, 1_400_000), st.integers(1, 36_000))
def test_any_two_tenths_subtracted_are_exact(begin: int, tenths: int) -> None:
    begin -= begin % 100
    moments = [started(at=begin), stopped(at=begin + tenths * 100)]
    official = score(moments, TENTHS_UP).official
    assert official is not None
    assert official.time == tenths * 100


@given(st.lists(st.integers(1, 360_000), min_size=3, max_size=3))
def test_three_watches_give_the_median_rounded_before_or_after(readings: list[int]) -> None:
    """Two that agree, or else the middle one, is the median; rounding up commutes with it."""
    rounded = [(reading + 99) // 100 * 100 for reading in readings]
    found = _official(_RULES["World Athletics"], readings)
    assert found == (statistics.median(readings) + 99) // 100 * 100 == statistics.median(rounded)


@given(st.lists(st.integers(1, 360_000), min_size=2, max_size=2))
def test_two_averaged_watches_are_rounded_once(readings: list[int]) -> None:
    exact = Fraction(sum(readings), 2)
    assert _official(_RULES["World Aquatics"], readings) == exact // 10 * 10
