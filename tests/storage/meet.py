"""A small meet to fill a directory with: two rope crews on a cliff."""

from typing import Any, Final

from scoring import PersonId, PostId, RunId, TeamId
from web.values import Event, Link, Person, Role, RunPlan, Standing, Team

CLIFF: Final = Event("cliff", "Cliff rescue", "ab" * 32, b"edition: 1\n", 1000)
ROPEWAY: Final = Event("ropeway", "Stopped ropeway", "cd" * 32, b"\x00\xff", 900)
LARKS: Final = Team(TeamId("larks"), "Larks")
WRENS: Final = Team(TeamId("wrens"), "Wrens", "novice")
HEAD: Final = Person(PersonId("head"), "Head of the day")
JUDGE: Final = Person(PersonId("judge-1"), "Judge at the top")
SECOND: Final = RunPlan(RunId("run-2"), "cliff", WRENS.id, "B", 2)
FIRST: Final = RunPlan(RunId("run-1"), "cliff", LARKS.id, "A", 1)
HEAD_LINK: Final = Link("l-head", HEAD.id, Role.HEAD, "cliff", None, None, 1100)
JUDGE_LINK: Final = Link("l-judge", JUDGE.id, Role.JUDGE, "cliff", PostId("cliff-top"), None, 1050)
TEAM_LINK: Final = Link("l-team", JUDGE.id, Role.CAPTAIN, "cliff", None, LARKS.id, 1200)
MEET: Final = (
    CLIFF,
    ROPEWAY,
    WRENS,
    LARKS,
    JUDGE,
    HEAD,
    SECOND,
    FIRST,
    HEAD_LINK,
    JUDGE_LINK,
    TEAM_LINK,
)


def posting(**other: Any) -> dict[str, Any]:
    """What a posting is made of."""
    return {
        "event": "cliff",
        "standing": Standing.PROVISIONAL,
        "posted_at": 5000,
        "by": HEAD.id,
        "reason": "All runs are in.",
        "rulebook_hash": CLIFF.hash,
        "head_seq": 9,
        "head_hash": "ef" * 32,
        "engine": "0.1.0",
        "content": {"rows": [{"place": 1, "team_name": "Lärchen 🧗", "time": None}]},
    } | other
