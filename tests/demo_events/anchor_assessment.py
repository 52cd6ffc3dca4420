"""The scripts of demo_events/anchor-assessment: five candidates and one assessor, nobody ranked."""

from collections.abc import Iterator
from pathlib import Path
from typing import Final

from tests.demo_events.day import DEMO_EVENTS, Breaching, Course, Crew

_TODAY: Final = {"today": "12.9.2031"}
COURSE: Final = Course(
    event="anchor-assessment",
    rulebook="anchor-assessment",
    folder=DEMO_EVENTS / "anchor-assessment",
    takes={"load": 45, "choose": 60, "weak": 40},
    values={
        "wrench": "40 N·m",
        "angle": "50",
        "date": "12.9.2031",
        "initials": "as written",
        "sheet-signed": "signed",
    },
)

CREWS: Final = (
    Crew(
        "orla",
        "930",
        slips={"choose/sharp edges": "missing", "place/2": "wrong"},
        givens=_TODAY,
        values={"initials": "OF", "angle": "55°"},
        signed=("competent", "Careful, and explains well."),
    ),
    Crew(
        "teo",
        "842",
        givens=_TODAY,
        values={"initials": "TM", "angle": "72°"},
        signed=("not yet", "Quick hands. The angle once more, please."),
    ),
    Crew(
        "jonna",
        "1101",
        slips={"equal": "wrong", "place/1": "wrong", "anchor-good": "missing"},
        breaches=[Breaching("gloves", "load", ["assessor"])],
        givens=_TODAY,
        values={"initials": "JS", "date": "9/12/2031"},
        signed=("competent", "On the mark."),
    ),
    Crew(
        "piet",
        "990",
        breaches=[Breaching("under-load", "load", ["assessor"])],
        givens=_TODAY,
        values={"initials": "PL", "wrench": ["37.1 N·m", "40.4 N·m"]},
        signed=("not yet", "Stood in line with the load."),
    ),
    Crew(
        "wren",
        "1234",
        slips={"equal": "missing", "weak": "missing"},
        breaches=[Breaching("gloves", "load", ["assessor"])],
        givens=_TODAY,
        values={"initials": ""},
        lasted={"load": 21},
        signed=("not yet", "More practice under the clock."),
        rulings=[
            {
                "finding": "load",
                "stands_on": ["load"],
                "decision": "uphold",
                "reason": "Counted too fast; talked through with the candidate.",
            }
        ],
    ),
)


def scripts() -> Iterator[tuple[Path, str]]:
    """Each script's file and its text."""
    yield from COURSE.scripts(CREWS)
