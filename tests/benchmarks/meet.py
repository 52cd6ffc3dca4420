"""A meet of many runs for the benchmarks, and judges enough for many tablets."""

import hashlib
from pathlib import Path
from time import time_ns
from typing import Final

from scoring import PersonId, PostId, RunId, TeamId, read_rulebook
from web.data import rulebooks_folder
from web.services.opening import open_event
from web.storage.database import open_database
from web.storage.directory import Directory
from web.values import Event, Person, Placement, Role, RunPlan, Team

POST: Final = PostId("lift")
#: Each judge is one person with one link; the tablets share them.
JUDGES: Final = 20


def judge(n: int) -> PersonId:
    """The n-th judge."""
    return PersonId(f"judge-{n % JUDGES}")


def run_id(n: int) -> RunId:
    """The n-th run."""
    return RunId(f"run-{n}")


def make_meet(database: Path, runs: int) -> None:
    """Write a meet with one event and so many runs into a new database."""
    content = (rulebooks_folder() / "sheave-change.yaml").read_bytes()
    engine = open_database(database)
    open_event(
        Directory(engine),
        lambda: time_ns() // 1_000_000,
        Event("bench", "Bench", hashlib.sha256(content).hexdigest(), content, 0),
        teams=[Team(TeamId(f"team-{n}"), f"Team {n}") for n in range(runs)],
        people=[Person(judge(n), f"Judge {n}") for n in range(JUDGES)],
        placements=[Placement(judge(n), Role.JUDGE, POST) for n in range(JUDGES)],
        plans=[RunPlan(run_id(n), "bench", TeamId(f"team-{n}"), "Bay", n + 1) for n in range(runs)],
    )
    engine.dispose()


def first_step() -> str:
    """A step that the judges' post watches, done once."""
    content = (rulebooks_folder() / "sheave-change.yaml").read_bytes()
    watched = read_rulebook(content).watched_by(POST)
    return next(rule.id for rule in watched if rule.kind == "step" and rule.items == ("",))
