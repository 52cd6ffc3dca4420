"""A small meet of our own with one of everything a penalty sheet can show."""

from collections.abc import Iterator
from itertools import count

from scoring import (
    Addition,
    Breach,
    CloseOut,
    Count,
    Decision,
    Entrant,
    Entry,
    EntryId,
    FindingId,
    Mark,
    Outcome,
    PersonId,
    PostId,
    RuleId,
    Ruling,
    RunId,
    Signal,
    SignalName,
    Standing,
    Status,
    StatusRuling,
    TeamId,
    TimeBack,
    WatchReading,
    What,
    rank,
    read_rulebook,
    score,
)

RULEBOOK = b"""
rulebook: bridge-lift
title: Lifting a bridge bearing
edition: 4
cautions:
  - These are contest rules, not a work procedure.
  - Local law, the maker's manual and the authorised person on site come first.
crew:
  size: 4
  roles: {lead: Crew lead, jack: Jack hand}
posts:
  clock: {title: Timekeeping, watches: 3}
  east: {title: East pier}
  west: {title: West pier}
penalties:
  procedure: {title: A step left out, seconds: 10}
  callout: {seconds: 2.5}
  safety: {seconds: 30, then: [60, disqualify], severity: safety}
  returns: {seconds: 5, per: item, cap: 20}
  tidy: {seconds: 15}
clock:
  run: {limit: 20 min, over: {seconds: 1, per: second}}
  official: {from: [middle of three, slower of two], to: 0.1 s, round: up}
order: {tolerance: 1 s, costs: procedure}
tasks:
  - task: A
    title: Make safe
    post: east
    costs: procedure
    rules:
      - {step: A1, do: Close the bridge, by: lead}
      - {step: A2, do: Set the props, by: jack, each: [north, south], after: A1}
      - {callout: closed, say: "Bridge closed, props in", by: lead, costs: callout}
  - task: B
    title: Lift
    post: [east, west]
    costs: procedure
    rules:
      - {step: B1, do: Pump both jacks together, by: jack}
      - {callout: lifting, say: Lifting, by: jack, each: [first, second, third], costs: callout}
rules:
  - {conduct: hands, text: Hands stay out from under the deck, post: [east, west], costs: safety}
  - {bonus: tidy, text: All slings coiled, post: west, gives: tidy}
  - {returns: tools, text: Tools back in the chest, post: west, costs: returns}
"""
BOOK = read_rulebook(RULEBOOK, "bridge-lift.yaml")
PEOPLE = {
    PersonId("ann"): "Ann Teal",
    PersonId("bo"): "Bo Sand",
    PersonId("cy"): "Cy Reed",
    PersonId("hd"): "Dee Oak",
}
POSTS = {"ann": "east", "bo": "west", "cy": "clock"}


def record(*said: tuple[int, str, What]) -> list[Entry]:
    """Entries from (milliseconds into the day, who, what), each with an id of its own."""
    return [
        Entry(
            EntryId(f"e{number}"),
            RunId("run"),
            PersonId(who),
            PostId(POSTS[who]) if who in POSTS else None,
            at,
            0,
            what,
        )
        for number, (at, who, what) in zip(count(1), said, strict=False)
    ]


def played(elapsed: int, *slips: tuple[int, str, What], pace: int = 60_000) -> list[Entry]:
    """A run of `elapsed` milliseconds in which all goes well but for the slips."""
    return record(*_well(elapsed, pace), *slips)


def _well(elapsed: int, pace: int) -> Iterator[tuple[int, str, What]]:
    yield 0, "cy", Signal(SignalName.START)
    moment = 0
    for rule in BOOK.rules.values():
        for item in rule.items if rule.kind in {"step", "callout"} else ():
            moment += pace
            yield moment, "ann", Mark(rule.id, Outcome.GOOD, item)
    yield elapsed, "cy", Signal(SignalName.STOP)
    for watch, off in ((1, -40), (2, 10), (3, 60)):
        yield elapsed + 1_000, "cy", WatchReading(watch, elapsed + off)
    yield elapsed + 2_000, "bo", Count(RuleId("tools"), 0)
    yield elapsed + 2_000, "bo", Mark(RuleId("tidy"), Outcome.MISSING, timed=False)
    for who in ("ann", "bo"):
        yield elapsed + 3_000, who, CloseOut()


def full_record() -> list[Entry]:
    """A run with findings of every state, rulings, holds, time given back and doubts."""
    return played(
        1_230_040,
        (181_000, "ann", Mark(RuleId("A2"), Outcome.MISSING, "south")),
        (90_000, "bo", Breach(RuleId("hands"), "jack")),
        (200_000, "bo", Breach(RuleId("hands"))),
        (250_000, "cy", Signal(SignalName.HOLD, "a visitor in the bay")),
        (265_500, "cy", Signal(SignalName.RESUME)),
        (300_000, "bo", Mark(RuleId("lifting"), Outcome.MISSING, "second")),
        (301_000, "bo", Mark(RuleId("B1"), Outcome.UNSEEN)),
        (1_300_000, "bo", Count(RuleId("tools"), 3)),
        (1_301_000, "bo", Mark(RuleId("tidy"), Outcome.GOOD, timed=False)),
        (
            1_400_000,
            "hd",
            Ruling(FindingId("A2/south"), Decision.CHANGE, "the prop stood beside its mark", 4_000),
        ),
        (
            1_400_001,
            "hd",
            Ruling(FindingId("lifting/second"), Decision.STRIKE, "heard on the tape"),
        ),
        (1_400_002, "hd", Addition(RuleId("closed"), 1, "said before the gate was shut")),
        (1_400_003, "hd", TimeBack(2_000, "a stuck door")),
    )


def early_record() -> list[Entry]:
    """A run in which the props came before the bridge was closed: proposed, costs nothing."""
    return played(900_000, (30_000, "ann", Mark(RuleId("A2"), Outcome.GOOD, "north")), pace=50_000)


def field(names: tuple[str, ...] = ("Anvil", "Beam", "Crane", "Dowel")) -> tuple[Standing, ...]:
    """Four teams: one with everything, one early, one clean, one that did not finish."""
    records = (
        full_record(),
        early_record(),
        played(1_000_000, pace=70_001),
        record(
            (0, "cy", Signal(SignalName.START)),
            (5_000, "hd", StatusRuling(Status.DID_NOT_FINISH, "a jack failed")),
        ),
    )
    return rank(
        [
            (Entrant(TeamId(f"t{n}"), name, "senior" if n % 2 else ""), score(entries, BOOK))
            for n, (name, entries) in enumerate(zip(names, records, strict=True), start=1)
        ],
        BOOK,
    )


def standing(name: str, among: tuple[Standing, ...]) -> Standing:
    """The row of one team."""
    return next(row for row in among if row.entrant.name == name)
