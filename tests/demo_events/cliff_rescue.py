"""The scripts of demo_events/cliff-rescue: five people, four posts, one cliff, points and time."""

from collections.abc import Iterator
from pathlib import Path
from typing import Final

from tests.demo_events.day import DEMO_EVENTS, LATER, Also, Breaching, Course, Crew, Hold

COURSE: Final = Course(
    event="cliff-rescue",
    rulebook="cliff-rescue",
    folder=DEMO_EVENTS / "cliff-rescue",
    takes={"A2": 20, "B5": 30, "C2": 20, "going-over": 60, "D1": 300, "stop-and-set": 20, "D2": 60},
    walkthrough=220,
)
SEA: Final = {"side": "sea side"}
LAND: Final = {"side": "land side"}
_TWISTED: Final = {"rule": "C5", "moment": "told"}

CREWS: Final = (
    Crew(
        "gannet",
        "1188",
        slips={
            "stop-and-set/2": "missing",
            "B1/a pad wherever a sling runs over an edge": "wrong",
            "A2": LATER,
        },
        also=[
            Also("C4", 40, "ledge", "moved", _TWISTED),
            Also("C4", 52, "ledge", "moved", {"rule": "C5", "moment": "corrected"}),
        ],
        givens=SEA,
        earned=["calm"],
    ),
    Crew(
        "thrift",
        "1300",
        slips={"ready-to-raise": "wrong"},
        lasted={"C2": 8},
        # Off the line twice before both hands were on it again: that is one breach.
        also=[
            Also("D1", 20, "top", "breach", {"rule": "hands-off", "whom": "backup"}),
            Also("D1", 45, "top", "breach", {"rule": "hands-off", "whom": "backup"}),
            Also("D1", 60, "top", "moved", {"rule": "hands-off", "moment": "released"}),
        ],
        returns={"gear": 3},
        givens=LAND,
        rulings=[
            {
                "finding": "C2",
                "stands_on": ["C2"],
                "decision": "uphold",
                "reason": "Eight seconds by the tablet, and the attendant agrees.",
            }
        ],
    ),
    Crew(
        "cairn",
        "1200",
        takes={"B1": 260, "B2": 220},
        breaches=[
            Breaching("helmet", "B5", ["top", "edge"], "main"),
            Breaching("helmet", "D2", ["edge"], "leader"),
            Breaching("dropped", "D2", ["edge"]),
        ],
        hold=Hold("going-over", 95, "A stone came down beside the ledge.", danger="ledge"),
        false_starts=1,
        givens=SEA,
        rulings=[
            {
                "finding": "dropped/{dropped 0}",
                "stands_on": ["dropped"],
                "decision": "strike",
                "reason": "Set down hard on the edge, not dropped: four hands were on it.",
            }
        ],
    ),
    Crew(
        "brine",
        "1251",
        slips={"land-side": "missing", "C4/legs": "missing"},
        breaches=[Breaching("dropped", "D2", ["edge", "ledge"], apart=6)],
        returns={"gear": 14},
        givens=LAND,
        rulings=[
            {
                "finding": "dropped/{dropped 0}",
                "stands_on": ["dropped"],
                "decision": "uphold",
                "reason": "It slid back over the edge until the backup line held it.",
            }
        ],
    ),
    Crew(
        "tern",
        "1812",
        slips={"take-command": "missing", "D3": "missing"},
        takes={"B1": 60, "B2": 60, "D1": 480},
        givens=SEA,
        earned=["calm"],
    ),
    Crew(
        "scree",
        "1380",
        breaches=[
            Breaching("clipped", "A2", ["edge"], "main"),
            Breaching("clipped", "D2", ["edge"], "leader"),
        ],
        also=[
            Also("C4", 30, "ledge", "moved", _TWISTED),
            Also("C4", 75, "ledge", "moved", {"rule": "C5", "moment": "judge did it"}),
        ],
        # The leader went past the edge line last, not first.
        late_taps={"A1/leader": 45},
        watches=(2,),
        givens=LAND,
        rulings=[
            {
                "finding": "A1 first/leader",
                "stands_on": ["A1/leader", "A1/attendant"],
                "decision": "uphold",
                "reason": "The leader was the last to clip, and says so.",
            }
        ],
    ),
)
#: Who does not start, and why.
ABSENT: Final = {"heather": "Called out to a real rescue in the morning."}


def scripts() -> Iterator[tuple[Path, str]]:
    """Each script's file and its text."""
    yield from COURSE.scripts(CREWS, ABSENT)
