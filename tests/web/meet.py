"""A small meet on real parts: two crews at a cliff, and a second event that must never show up.

The second event, the noise, has its own people, crew, run and record in the same database, and a
posting. Its rulebook has the same posts and rules, so that only the event tells them apart.
"""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from itertools import count
from typing import Any, Final, Protocol

from scoring import (
    CloseOut,
    Count,
    Entry,
    EntryId,
    Mark,
    Outcome,
    PersonId,
    PostId,
    RuleId,
    RunId,
    Signal,
    SignalName,
    TeamId,
    What,
    encode,
)
from tests.scoring.builders import rulebook_text
from web.live.handlers import Desk
from web.services.access import Actor, actor_of
from web.services.intake import Answer, Intake
from web.services.opening import open_event
from web.services.postings import Postings
from web.services.runs import Runs
from web.services.sheets import Sheets
from web.storage.directory import Directory
from web.values import Clash, Event, Person, Placement, Role, RunPlan, Standing, Stored, Team

#: In the small rulebook: rules of post `north`, of post `south`, and of the timekeeper.
NORTH: Final = ("A1", "A2", "clear", "gloves")
SOUTH: Final = ("tools",)
_BOOK: Final = {
    "posts": "{clock: {title: Clock, watches: 2}, north: {title: North}, south: {title: South}}",
    "clock": "{official: {from: [slower of two, one watch], to: 0.1 s, round: up}}",
    "rules": """
  - {step: A1, do: Stop the drive, post: north, costs: slip}
  - {step: A2, do: Hang the locks, post: north, costs: slip, each: [one, two, three]}
  - {callout: clear, say: Line clear, post: north, costs: slip}
  - {conduct: gloves, text: Gloves on, post: north, costs: grave}
  - {returns: tools, text: Tools back, post: south, costs: slip}
  - {callout: ready, say: Crew ready, post: clock, costs: slip}""",
}
#: The day begins here, on the server's clock.
NOW: Final = 1_800_000_000_000
LARKS: Final = RunId("cliff.larks")
WRENS: Final = RunId("cliff.wrens")
STRANGE: Final = RunId("noise.crew")
#: Each person's role, post and team, by id; `noise-` people are at the other event.
PLACES: Final[dict[str, tuple[Role, str | None, str | None]]] = {
    "head": (Role.HEAD, None, None),
    "timer": (Role.TIMEKEEPER, "clock", None),
    "north-1": (Role.JUDGE, "north", None),
    "north-2": (Role.JUDGE, "north", None),
    "south-1": (Role.JUDGE, "south", None),
    "larks-captain": (Role.CAPTAIN, None, "larks"),
    "wrens-captain": (Role.CAPTAIN, None, "wrens"),
    "board": (Role.BOARD, None, None),
}
PEOPLE: Final = tuple(PLACES)
STAFF: Final = ("head", "timer", "north-1", "north-2", "south-1")
#: One person of each role, in the order of `Role`.
OF_ROLE: Final = {
    Role.HEAD: "head",
    Role.TIMEKEEPER: "timer",
    Role.JUDGE: "north-1",
    Role.CAPTAIN: "larks-captain",
    Role.BOARD: "board",
}

_numbers: Final = count(1)


class Record(Protocol):
    """A `SqlLog` or a `MemoryLog`."""

    def append(self, entries: Sequence[Entry], received_at: int) -> list[Stored | Clash]:
        """Store entries."""

    def since(self, seq: int = 0, run: RunId | None = None) -> list[Stored]:
        """What follows a number."""


class Clock:
    """A clock that the test sets."""

    def __init__(self) -> None:
        self.now = NOW

    def __call__(self) -> int:
        return self.now


@dataclass
class Writer:
    """Stores on the spot; `error` is raised instead where a test sets one."""

    log: Record
    clock: Clock
    error: Exception | None = None

    def append(self, entries: Sequence[Entry]) -> list[Stored | Clash]:
        """Store entries, all or none."""
        if self.error is not None:
            raise self.error
        return self.log.append(entries, self.clock())


@dataclass
class Announced:
    """An announcer that remembers what it was told."""

    told: list[tuple[Any, ...]] = field(default_factory=list)

    def reached(self, event: str, run: RunId, seq: int, *, moved: bool) -> None:
        """Remember that a run's record has reached a number."""
        self.told.append(("reached", event, run, seq, moved))

    def posted(self, event: str, number: int) -> None:
        """Remember a posting."""
        self.told.append(("posted", event, number))

    def revoked(self, link: str) -> None:
        """Remember a link that was revoked."""
        self.told.append(("revoked", link))


def _rulebook(name: str) -> bytes:
    return rulebook_text(rulebook=name, title=f"Rules of the {name}", **_BOOK).encode()


def open_meet(directory: Directory) -> None:
    """Write both events down."""
    _open(directory, "cliff", ("larks", "wrens"), PLACES)
    noisy = {
        f"noise-{person}": (role, post, None if team is None else "noise-crew")
        for person, (role, post, team) in PLACES.items()
        if person != "wrens-captain"
    }
    _open(directory, "noise", ("crew",), noisy)


def _open(
    directory: Directory,
    event: str,
    crews: Sequence[str],
    places: dict[str, tuple[Role, str | None, str | None]],
) -> None:
    rulebook = _rulebook(event)
    teams = [
        Team(TeamId(crew if event == "cliff" else f"{event}-{crew}"), f"{crew.title()} of {event}")
        for crew in crews
    ]
    open_event(
        directory,
        Clock(),
        Event(event, f"The {event}", hashlib.sha256(rulebook).hexdigest(), rulebook, 0),
        teams,
        [Person(PersonId(person), f"Name of {person}") for person in places],
        [
            Placement(
                PersonId(person),
                role,
                None if post is None else PostId(post),
                None if team is None else TeamId(team),
            )
            for person, (role, post, team) in places.items()
        ],
        [
            RunPlan(RunId(f"{event}.{crew}"), event, team.id, "Bay 1", turn)
            for turn, (crew, team) in enumerate(zip(crews, teams, strict=True), 1)
        ],
    )


class Meet:
    """The services over one record and one directory, and short ways to ask them."""

    def __init__(self, directory: Directory, log: Record) -> None:
        self.directory, self.log = directory, log
        self.clock = Clock()
        self.announced = Announced()
        self.writer = Writer(log, self.clock)
        self.runs = Runs(log, directory)
        self.intake = Intake(self.runs, self.writer, self.announced, self.clock)
        self.postings = Postings(self.runs, directory, self.announced, self.clock)
        self.sheets = Sheets(self.runs, directory)
        self.joined: list[RunId] = []
        self.desk = Desk(self.runs, self.intake, self.postings, self.clock, 1, self.joined.append)

    def link(self, person: str) -> str:
        """The id of a person's sign-in link."""
        event = "noise" if person.startswith("noise-") else "cliff"
        return next(
            link.id
            for link in self.directory.links(event)
            if link.person == person and link.revoked_at is None
        )

    def actor(self, person: str) -> Actor:
        """A person, signed in."""
        return actor_of(self.directory, self.link(person))

    def send(self, person: str, *entries: Entry) -> list[Answer]:
        """Have a person's tablet send entries in one batch."""
        return self.intake.observe(self.actor(person), [encode(each) for each in entries])

    def run_cleanly(self, run: RunId) -> None:
        """A whole run in which everything was seen and good."""
        self.send("timer", *whole_run(run=run))
        judges = {"north": "north-1", "south": "south-1", "clock": "timer"}
        for rule in self.runs.book("cliff").rules.values():
            by = judges[rule.posts[0]]
            good: list[Mark | Count] = [Mark(rule.id, Outcome.GOOD, item) for item in rule.items]
            said = [what for what in [*good, Count(rule.id, 0)] if rule.takes(what)]
            if rule.asked:
                self.send(by, *(entry(what, by=by, run=run) for what in said))
        for person in STAFF[1:]:
            self.send(person, entry(CloseOut(), by=person, run=run))

    def fresh(self) -> Runs:
        """The runs, read anew from the same record."""
        return Runs(self.log, self.directory)

    def publish(self, standing: Standing = Standing.PROVISIONAL, reason: str = "") -> int:
        """Have the head judge post the standings; the number of the posting."""
        return self.postings.publish(self.actor("head"), standing, reason).number

    def make_noise(self) -> None:
        """Run and post the other event."""
        self.send("noise-timer", *whole_run("noise-timer", run=STRANGE))
        self.send("noise-north-1", missed("A1", by="noise-north-1", run=STRANGE))
        self.postings.publish(self.actor("noise-head"), Standing.PROVISIONAL)


def entry(
    what: What, *, by: str = "north-1", run: str = LARKS, at: int = NOW, **other: Any
) -> Entry:
    """An entry signed as a person's tablet does; `other` replaces fields of it."""
    _, post, _ = PLACES[by.removeprefix("noise-")]
    made = Entry(
        id=EntryId(f"{by}.{next(_numbers):06}"),
        run=RunId(run),
        by=PersonId(by),
        post=None if post is None else PostId(post),
        at=at,
        off_by=0,
        what=what,
    )
    return replace(made, **other)


def marked(rule: str, outcome: Outcome, item: str = "", **where: Any) -> Entry:
    """A mark on a rule."""
    return entry(Mark(RuleId(rule), outcome, item), **where)


def missed(rule: str, item: str = "", **where: Any) -> Entry:
    """A mark that something was not done."""
    return marked(rule, Outcome.MISSING, item, **where)


def signalled(signal: SignalName, **where: Any) -> Entry:
    """A signal of the clock, by the timekeeper."""
    return entry(Signal(signal), **{"by": "timer", **where})


def whole_run(by: str = "timer", run: str = LARKS, took: int = 600_000) -> tuple[Entry, Entry]:
    """A start and a stop; it ends now."""
    return (
        signalled(SignalName.START, by=by, run=run, at=NOW - took),
        signalled(SignalName.STOP, by=by, run=run, at=NOW),
    )
