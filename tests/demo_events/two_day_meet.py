"""The scripts of demo_events/two-day-meet: knots on the first day, a stretcher on the second."""

from collections.abc import Iterator
from pathlib import Path
from typing import Final

from tests.demo_events.day import DEMO_EVENTS, Breaching, Course, Crew

FOLDER: Final = DEMO_EVENTS / "two-day-meet"
KNOTS: Final = Course(event="knots", rulebook="knot-rail", folder=FOLDER / "knots", start=60)
CARRY: Final = Course(event="carry", rulebook="stretcher-carry", folder=FOLDER / "carry", start=60)

KNOT_CREWS: Final = (
    Crew("otter", "161.3", slips={"knots/clove hitch": "wrong"}),
    Crew("lynx", "150.0", slips={"knots/double fisherman's bend": "missing"}),
    Crew("swift", "185.2"),
    Crew("badger", "370.0"),
    Crew("fern", "170.0", breaches=[Breaching("own-rope", "knots", ["rail"], "left")]),
    Crew("flint", "178.8", returns={"ropes": 2}, watches=(2,)),
    Crew("moth", "200.0"),
    Crew(
        "reed",
        "165.2",
        slips={"knots/friction hitch": "missing", "knots/clove hitch": "wrong"},
    ),
)
CARRY_CREWS: Final = (
    Crew("otter", "280", slips={"obstacles/log": "wrong", "obstacles/gate": "wrong"}),
    Crew("lynx", "290", slips={"down": "missing"}, earned=["full"]),
    Crew(
        "swift",
        "280",
        slips={"obstacles/low wire": "missing"},
        breaches=[Breaching("level", "obstacles", ["course"])],
        earned=["full"],
    ),
    Crew("badger", "330", slips={"obstacles/slope": "wrong"}, earned=["full"]),
    Crew("fern", "290", slips={"obstacles/ditch": "wrong", "lift": "missing"}, earned=["full"]),
    Crew("flint", "290", slips={"obstacles/gate": "wrong", "down": "wrong"}, earned=["full"]),
    Crew("reed", "305", breaches=[Breaching("under", "obstacles", ["course"], "sides")]),
)


def scripts() -> Iterator[tuple[Path, str]]:
    """Each script's file and its text."""
    yield from KNOTS.scripts(KNOT_CREWS)
    yield from CARRY.scripts(CARRY_CREWS)
