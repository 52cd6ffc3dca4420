"""What a comparison of two editions says of results, attempts and places."""

from typing import Any, Final

import pytest

from scoring.compare import compare
from tests.scoring.builders import book

_POINTS: Final = {"result": "points", "penalties": "{slip: {points: 10}, grave: {points: 30}}"}
_ASSESSED: Final = {**_POINTS, "result": "assessment", "points": "{start: 100}"}


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        (
            {**_POINTS, "points": "{start: 100}"},
            {**_POINTS, "points": "{start: 100, floor: 0, time: {points: 1, beyond: 10 min}}"},
            (
                "The result is now points from 100, the most win, never less than 0; "
                "time: 1 for each second beyond 10:00 (was points from 100, the most win)."
            ),
        ),
        (
            {**_POINTS, "points": "{best: least, time: {points: 2, per: minute}}"},
            {**_POINTS, "points": "{start: 5, time: {points: 2, per: minute, under: 90 s}}"},
            (
                "The result is now points from 5, the most win; time: 2 for each minute left under "
                "1:30 (was points from 0, the least win; time: 2 for each minute)."
            ),
        ),
        (
            {**_ASSESSED, "assessment": "{pass: 80 %, must: [A1, grave]}"},
            {**_ASSESSED, "assessment": "{pass: 75, again: task}"},
            (
                "The result is now an assessment (75 points to pass; the task again), points from "
                "100, the most win (was an assessment (80 % to pass; A1, grave without fail; the "
                "rules again), points from 100, the most win)."
            ),
        ),
        (
            {},
            {"attempts": "{count: 5, take: mean, drop-best: 1, drop-worst: 1, failed: 90}"},
            (
                "What counts of several runs is now the mean of 5 attempts without the best and "
                "the worst, a failed one counting as 90 s (was the only one)."
            ),
        ),
        (
            {},
            {"places": "division"},
            "Who is ranked together is now each division by itself (was everybody).",
        ),
    ],
)
def test_a_change_of_the_result_is_told(
    old: dict[str, Any], new: dict[str, Any], says: str
) -> None:
    before, after = book(**old, edition="1"), book(**new, edition="2")
    assert says in [change.says for change in compare(before, after)]


def test_turning_a_time_into_points_is_told() -> None:
    told = [change.says for change in compare(book(), book(**_POINTS, edition="2"))]
    assert "The result is now points from 0, the most win (was a time)." in told
