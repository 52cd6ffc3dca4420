"""The generators of the demo events' scripts."""

from typing import Final

from tests.demo_events import (
    anchor_assessment,
    bakery_relay,
    cliff_rescue,
    sheave_change,
    two_day_meet,
)

SCRIPTS: Final = (
    sheave_change.scripts,
    cliff_rescue.scripts,
    bakery_relay.scripts,
    anchor_assessment.scripts,
    two_day_meet.scripts,
)
