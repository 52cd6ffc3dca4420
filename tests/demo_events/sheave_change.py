"""The scripts of demo_events/sheave-change: four people, four posts, two bays, time."""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from tests.demo_events.day import (
    DEMO_EVENTS,
    LATER,
    MISTAKEN,
    UNSEEN,
    Breaching,
    Course,
    Crew,
    Hold,
)

#: Seconds that a middling crew takes over each step; a callout takes 3.
_SECONDS: Final = {
    rule: int(seconds)
    for rule, seconds in re.findall(
        r"(\S+) (\d+)",
        """
        A1 8  A2 10  A3 6  A4 25  A5 12  A6 40  A7 10  A8 20  A9 60  A10 18  A11 75  A12 20
        B1 60  B2 60  gear-good 12  B3 35  B4 35  B5 40  hook-seated 6  B6 12  B7 40  B8 25  B9 60
        B10 16  C1 25  C2 35  C3 40  C4 60  C5 25  C6 40  C7 25
        D1 12  D2 50  D3 45  D4 50  D5 45  D6 24  bearing 6  D7 50  D8 55  D9 20  D10 50  D11 12
        D12 70  D13 12  D14 80  D15 30  D16 25  D17 8
        E1 30  E2 45  E3 45  E4 45  E5 30  E6 20  E7 25  E8 60  E9 20  E10 50  E11 30  E12 15
        F1 20  all-clear 6  F2 40  F3 10  F4 20  F5 6  F6 45  F7 40  F8 40  F9 20
        """,
    )
}
COURSE: Final = Course(
    event="sheave-change",
    rulebook="sheave-change",
    folder=DEMO_EVENTS / "sheave-change",
    takes=_SECONDS,
    begins={"A": 0, "B": 20, "C": 0, "D": 0, "E": 0, "F": 0},
    walkthrough=340,
)

CREWS: Final = (
    Crew(
        "heron",
        bay=1,
        seconds="1752.4",
        slips={
            "gear-good/hoist two": "missing",
            "first-round": "wrong",
            "E4": MISTAKEN,
            "A12": LATER,
        },
        breaches=[Breaching("helmet", "C6", ["lift"], "fitter")],
    ),
    Crew(
        "fox",
        bay=2,
        seconds="1618.7",
        slips={
            "B8/downhill anchor": "missing",
            "C3": "wrong",
            "weight-on": "missing",
            "rope-clear": "missing",
            "hook-seated/downhill": "wrong",
            "D9": "wrong",
            "D14/3": "wrong",
            "D14/7": "wrong",
            "D16": "missing",
            "D17": LATER,
        },
        breaches=[
            Breaching("under-load", "C6", ["lift", "bench"], "fitter"),
            Breaching("gloves", "B5", ["lift"], "rigger"),
            Breaching("gloves", "B9", ["lift"], "fitter"),
        ],
        returns={"shadow-board": 3},
        swapped=[("D7", "D8")],
        rulings=[
            {
                "finding": "D8 after/D7",
                "stands_on": ["D7", "D8"],
                "decision": "uphold",
                "reason": "The liner was in before the grease; the captain agrees.",
            }
        ],
    ),
    Crew(
        "owl",
        bay=1,
        seconds="1805.2",
        slips={
            "axle-in": "missing",
            "stopped": "wrong",
            "D12/2": "wrong",
            "D12/5": "wrong",
            "F3": UNSEEN,
        },
        breaches=[Breaching("advice", "D6", ["bench", "lift"])],
        returns={"floor": 2},
        late_taps={"E3": 60},
        false_starts=1,
        rulings=[
            {
                "finding": "E4 after/E3",
                "stands_on": ["E3", "E4"],
                "decision": "strike",
                "reason": "The lift judge tapped the axle late; the work was in order.",
            }
        ],
    ),
    Crew(
        "pine",
        bay=2,
        seconds="1775.2",
        slips={
            "A7": "missing",
            "C7": "wrong",
            "D3": "wrong",
            "E10/downhill": "wrong",
            "B1": LATER,
        },
        breaches=[Breaching("before-dead", "A4", ["lift"], "rigger")],
        rulings=[
            {
                "finding": "before-dead/{before-dead 0}",
                "stands_on": ["before-dead"],
                "decision": "strike",
                "reason": "The power judge stood nearer and saw no hand on the rope.",
            }
        ],
    ),
    Crew(
        "anvil",
        bay=1,
        seconds="1880.0",
        slips={
            "no-start": "missing",
            "backup-on": "missing",
            "load-down": "wrong",
            "second-round": "wrong",
            "D6/left": "wrong",
            "D11": "missing",
            "F9": "missing",
            "C1": LATER,
        },
        breaches=[Breaching("tools", "C4", ["lift"]), Breaching("tools", "D10", ["bench"])],
        returns={"rack": 2},
        hold=Hold("D4", 100, "The lamps of the bay went out."),
        watches=(1, 3),
        walkthrough=394,
        rulings=[
            {
                "finding": "D6/left",
                "stands_on": ["D6/left"],
                "decision": "change",
                "cost": 5_000,
                "reason": "Turned, but not listened to; a step half done.",
            }
        ],
    ),
    Crew(
        "lantern",
        bay=2,
        seconds="2201.3",
        slips={
            "ask-stop": "missing",
            "brake-set": "missing",
            "locks-on": "wrong",
            "gear-good/sling": "missing",
            "clear-to-lift": "wrong",
            "rope-seated": "missing",
            "A5": "wrong",
            "B6": "missing",
            "E12": "missing",
            "A11/V to W": "wrong",
            "D2": "wrong",
            "E5/lower": "wrong",
            "E2": MISTAKEN,
            "F5": LATER,
        },
        breaches=[Breaching("rope-and-groove", "E8", ["lift", "bench"], "rigger", apart=6)],
        returns={"shadow-board": 14, "floor": 2},
    ),
    Crew(
        "marten",
        bay=1,
        seconds="1700.9",
        slips={
            "A6/rigger": "missing",
            "axle-out": "missing",
            "turns-free": "missing",
            "A1": "wrong",
            "D1": LATER,
        },
        breaches=[
            Breaching("hand-on-load", "C5", ["lift"], "fitter"),
            Breaching("under-load", "E2", ["lift"], "rigger"),
        ],
    ),
)
#: Who does not start, and why.
ABSENT: Final = {"gorse": "The crew's van broke down on the way."}


def scripts() -> Iterator[tuple[Path, str]]:
    """Each script's file and its text."""
    yield from COURSE.scripts(CREWS, ABSENT)
