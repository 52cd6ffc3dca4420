"""What the shells hand each other: plain frozen values, no behaviour.

Storage makes them, services decide by them, pages and messages show them. Times are milliseconds
since 1970-01-01T00:00Z.
"""

from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from scoring import Entry, EntryId, PersonId, PostId, RunId, TeamId


class Role(StrEnum):
    """What a sign-in link lets its holder be."""

    HEAD = "head judge"
    TIMEKEEPER = "timekeeper"
    JUDGE = "judge"
    CAPTAIN = "captain"
    BOARD = "board"


class Standing(StrEnum):
    """How final a posting is."""

    PROVISIONAL = "provisional"
    OFFICIAL = "official"


@dataclass(frozen=True, slots=True)
class Event:
    """One rulebook run by every team: the file's bytes, and their SHA-256 in hex."""

    id: str
    title: str
    hash: str
    rulebook: bytes
    opened_at: int


@dataclass(frozen=True, slots=True)
class Team:
    """A crew that competes, and the division it is ranked in."""

    id: TeamId
    name: str
    division: str = ""


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who signs entries."""

    id: PersonId
    name: str


@dataclass(frozen=True, slots=True)
class Placement:
    """What a person is at an event: judges and timekeepers have a post, captains a team."""

    person: PersonId
    role: Role
    post: PostId | None = None
    team: TeamId | None = None


@dataclass(frozen=True, slots=True)
class RunPlan:
    """A team's run at an event in a bay; `turn` is its place in the order of the day, from 1."""

    id: RunId
    event: str
    team: TeamId
    bay: str
    turn: int


@dataclass(frozen=True, slots=True)
class Link:
    """A sign-in link: who it makes its holder, and where. Dead once `revoked_at` is set.

    `post` is set for judges and timekeepers, `team` for captains.
    """

    id: str
    person: PersonId
    role: Role
    event: str
    post: PostId | None
    team: TeamId | None
    made_at: int
    revoked_at: int | None = None


@dataclass(frozen=True, slots=True)
class Stored:
    """An entry on the record: its number on the log, when it came, and the chain's hash up to it.

    `repeat` tells that it had been stored before; it keeps its first number.
    """

    seq: int
    entry: Entry
    received_at: int
    hash: str
    repeat: bool = False


@dataclass(frozen=True, slots=True)
class Clash:
    """A different entry is already stored under this id; nothing was written."""

    id: EntryId


@dataclass(frozen=True, slots=True)
class Posting:
    """One numbered, frozen publication of an event's standings.

    `content` is plain JSON: the rows as posted. `head_seq` and `head_hash` say up to where the
    record was read; `engine` is the version that scored it.
    """

    number: int
    event: str
    standing: Standing
    posted_at: int
    by: PersonId
    reason: str
    rulebook_hash: str
    head_seq: int
    head_hash: str
    engine: str
    content: dict[str, Any]
