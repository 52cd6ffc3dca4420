"""The scripts of demo_events/bakery-relay: three bakers, a table, an oven, time and bonuses."""

from collections.abc import Iterator
from pathlib import Path
from typing import Final

from tests.demo_events.day import DEMO_EVENTS, ILLEGIBLE, LATER, Breaching, Course, Crew

COURSE: Final = Course(
    event="bakery-relay",
    rulebook="bakery-relay",
    folder=DEMO_EVENTS / "bakery-relay",
    takes={"A1": 15, "A2": 30, "A3": 90, "C1": 15, "C2": 8, "C3": 620},
    values={"A0": "0 kg", "flour": "1.20 kg"},
    walkthrough=160,
)

CREWS: Final = (
    Crew(
        "bramble",
        "980.0",
        slips={"mine-second": "missing", "B1/four": LATER},
        givens={"oven": "220"},
        values={"flour": "1.21", "heat": "225"},
        centimetres={"B2": 3.4, "B3": 0.5},
        earned=["even"],
    ),
    Crew(
        "ash",
        "1018.4",
        breaches=[Breaching("gloves", "C1", ["oven"], "third")],
        returns={"tools": ["scraper", "string"]},
        false_starts=2,
        givens={"oven": "228"},
        values={"A0": ["0.02 kg", "0 kg"], "heat": "215 °C"},
        lasted={"A3": 52},
        centimetres={"B2": 1, "B3": 6},
        earned=["golden"],
        rulings=[
            {
                "finding": "A3",
                "stands_on": ["A3"],
                "decision": "uphold",
                "reason": "The count was quick, and the tablet says 52 seconds.",
            }
        ],
    ),
    Crew(
        "sieve",
        "1025.3",
        givens={"oven": "235"},
        values={"A0": ["0.12 kg", "0.04 kg"], "flour": ILLEGIBLE, "heat": "255"},
        centimetres={"B2": 12, "B3": 3},
        earned=["even", "golden"],
    ),
    Crew(
        "ember",
        "999.3",
        slips={"A1": "missing"},
        breaches=[
            Breaching("floor", "B1", ["table"]),
            Breaching("floor", "A2", ["table"], "first"),
        ],
        walkthrough=205,
        givens={"oven": "210"},
        values={"heat": "210"},
    ),
    Crew(
        "millrace",
        "1531.7",
        givens={"oven": "205"},
        values={"heat": ""},
        centimetres={"B2": 40},
    ),
    Crew(
        "barley",
        "1004.6",
        slips={"oven-open": "missing"},
        breaches=[Breaching("gloves", "C1", ["oven"], "third")],
        givens={"oven": "222"},
        values={"heat": "222"},
    ),
)


def scripts() -> Iterator[tuple[Path, str]]:
    """Each script's file and its text."""
    yield from COURSE.scripts(CREWS)
