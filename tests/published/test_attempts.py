"""Average of five after the WCA Regulations (thewca/wca-regulations, 2024-01-01, 586f970c).

The rules are read, the figures made for them: 9f8 (one did not finish is the worst, a second one
makes the average did not finish), 9f9, 9f14 and 9f15.
"""

from typing import Final

import pytest

from scoring import Entrant, Scorecard, Standing, Status, TeamId, rank, score
from tests.published.sheets import finished, rulebook
from tests.scoring.builders import breached, ended

CUBE: Final = rulebook("cube-average")


def _solved(*times: int | None) -> list[Scorecard]:
    """Attempts by what the watch showed in milliseconds; None did not finish."""
    return [
        finished(CUBE, time) if time is not None else score([ended(Status.DID_NOT_FINISH)], CUBE)
        for time in times
    ]


def _ranked(**people: tuple[int | None, ...]) -> dict[str, Standing]:
    results = [
        (Entrant(TeamId(name), name), attempt)
        for name, times in people.items()
        for attempt in _solved(*times)
    ]
    return {row.entrant.team: row for row in rank(results, CUBE)}


@pytest.mark.parametrize(
    ("times", "average"),
    [
        # 12.678 is cut to 12.67; (12.67 + 13.00 + 13.01) / 3 = 12.8933…
        ((11_000, 12_678, 13_000, 13_019, 20_000), 12_890),
        ((10_000, 10_000, 10_010, 10_010, 10_010), 10_010),
        # (10.00 + 10.00 + 10.01) / 3 = 10.0033…
        ((9_000, 10_000, 10_000, 10_010, 11_000), 10_000),
        ((None, 10_000, 11_000, 12_000, 9_000), 11_000),
        ((None, 10_000, 11_000, None, 9_000), None),
    ],
)
def test_the_best_and_the_worst_are_left_out(
    times: tuple[int | None, ...], average: int | None
) -> None:
    row = _ranked(one=times)["one"]
    assert row.scorecard.total == average
    assert (row.scorecard.status is Status.DID_NOT_FINISH) is (average is None)


def test_an_attempt_that_its_slips_take_to_the_limit_is_the_worst_and_is_left_out() -> None:
    slipped = finished(CUBE, 598_500, seen=[breached("plus-two")])
    assert slipped.status is Status.DID_NOT_FINISH
    attempts = [slipped, *_solved(10_000, 11_000, 12_000, 9_000)]
    [row] = rank([(Entrant(TeamId("one"), "one"), each) for each in attempts], CUBE)
    assert row.scorecard.total == 11_000


def test_equal_averages_are_parted_by_the_best_attempt_and_else_share_a_place() -> None:
    found = _ranked(
        late=(9_000, 10_000, 11_000, 12_000, 13_000),
        early=(8_000, 10_000, 11_000, 12_000, 13_000),
        same=(9_000, 10_000, 11_000, 12_000, 20_000),
    )
    assert [found[name].place for name in ("early", "late", "same")] == [1, 2, 2]
