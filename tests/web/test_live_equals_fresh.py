"""What is kept live is what a fresh read of the record gives, here and on the screens."""

import random
from contextlib import ExitStack
from pathlib import Path
from typing import Any, Final

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scoring import (
    Addition,
    Breach,
    CloseOut,
    Count,
    Decision,
    Entry,
    EntryId,
    FindingId,
    Mark,
    Outcome,
    RuleId,
    Ruling,
    Signal,
    SignalName,
    Status,
    StatusRuling,
    TimeBack,
    WatchReading,
    What,
    Withdrawal,
)
from tests.web.meet import LARKS, NOW, PEOPLE, STAFF, STRANGE, WRENS, Meet, entry, missed
from tests.web.screens import Screen, now, screen, serving
from web.services.runs import Runs
from web.storage.directory import Directory
from web.storage.memory import MemoryLog

_NORTH: Final[list[What]] = [
    *(Mark(RuleId("A1"), outcome) for outcome in Outcome),
    *(Mark(RuleId("A2"), Outcome.MISSING, item) for item in ("one", "two", "three")),
    Mark(RuleId("clear"), Outcome.WRONG),
    Breach(RuleId("gloves"), "lead"),
    Signal(SignalName.DANGER),
    CloseOut(),
]
#: What each person may send.
SAYS: Final[dict[str, list[What]]] = {
    "north-1": _NORTH,
    "north-2": _NORTH,
    "south-1": [*(Count(RuleId("tools"), number) for number in range(3)), CloseOut()],
    "timer": [
        *(Signal(name) for name in SignalName),
        *(WatchReading(watch, 600_000 + watch) for watch in (1, 2)),
        Mark(RuleId("ready"), Outcome.WRONG),
        CloseOut(),
    ],
    "head": [
        Ruling(FindingId("A1"), Decision.UPHOLD, "as seen"),
        Ruling(FindingId("A1"), Decision.STRIKE, "as seen"),
        Ruling(FindingId("A1"), Decision.CHANGE, "as seen", 5_000),
        Addition(RuleId("A1"), 2, "as seen"),
        TimeBack(-3_000, "our fault"),
        *(StatusRuling(status, "as seen") for status in (*Status, None)),
    ],
}

#: Who sends what of theirs to which run when, and whether they take an earlier entry back instead.
OPERATIONS: Final = st.lists(
    st.tuples(
        st.sampled_from(STAFF),
        st.integers(0, 20),
        st.sampled_from([LARKS, WRENS]),
        st.integers(0, 600),
        st.none() | st.integers(0, 20),
    ),
    min_size=1,
    max_size=12,
)


def shown(meet: Meet, runs: Runs) -> dict[str, Any]:
    """Everything that a screen could be shown of the runs."""
    plans = [*runs.of_event("cliff"), *runs.of_event("noise")]
    people = [meet.actor(person) for person in PEOPLE]
    return {
        "cards": [runs.card(plan.id) for plan in plans],
        "standings": runs.standings("cliff"),
        "records": [[runs.record(plan.id, actor) for plan in plans] for actor in people],
        "reached": [runs.reached(plan.id) for plan in plans],
        "head": runs.head,
    }


def say(person: str, number: int, **where: Any) -> Entry:
    return entry(SAYS[person][number % len(SAYS[person])], by=person, **where)


@settings(max_examples=20)
@given(operations=OPERATIONS)
def test_the_runs_kept_live_are_those_read_afresh(
    standing_directory: Directory, operations: list[Any]
) -> None:
    meet = Meet(standing_directory, MemoryLog())
    sent: list[Entry] = []
    before = shown(meet, meet.runs)
    for person, number, run, seconds, taken_back in operations:
        made = say(person, number, run=run, at=NOW - 1000 * seconds)
        if taken_back is not None and sent:
            target = sent[taken_back % len(sent)]
            made = entry(Withdrawal(target.id, "a slip"), by="head", run=target.run)
        sent.append(made)
        [answer] = meet.send(made.by, made)
        assert answer.error is None
        live = shown(meet, meet.runs)
        assert live == shown(meet, meet.fresh())
        assert live != before
        before = live
        assert meet.send(made.by, made) == [answer]
        assert shown(meet, meet.runs) == live


def test_a_batch_in_which_some_are_refused_is_live_as_stored(meet: Meet) -> None:
    meet.send("north-1", missed("A1"), missed("A9"), missed("A1", run=STRANGE), missed("clear"))
    meet.send("north-1", missed("A2", "two", id=EntryId("twice")))
    meet.send("north-1", missed("A2", "one", id=EntryId("twice")))
    assert shown(meet, meet.runs) == shown(meet, meet.fresh())
    assert len(meet.runs.record(LARKS, meet.actor("head"))) == 3


def test_standings_as_they_were_stay_what_they_were(meet: Meet) -> None:
    """Read from a record that has gone on since."""
    seen = {}
    for turn in range(6):
        meet.send("timer", say("timer", turn, at=NOW - 10_000 + turn))
        meet.send("north-1", say("north-1", turn))
        seen[meet.runs.head[0]] = meet.runs.standings("cliff")
    assert len(set(map(str, seen.values()))) > 3
    for runs in (meet.runs, meet.fresh()):
        assert {upto: runs.standings("cliff", upto=upto) for upto in seen} == seen


def catch_up(watcher: Screen, held: dict[str, Any], upto: int) -> None:
    """Do what a screen does: on each push fetch what follows what it holds."""
    while held["reached"] < upto:
        told = watcher.hear("reached")
        if told["run"] == LARKS and told["seq"] > held["reached"]:
            fetched = watcher.reply("follow", {"run": LARKS, "since": held["reached"]})
            assert all(each["seq"] > held["reached"] for each in fetched["entries"])
            held["entries"] += fetched["entries"]
            held["reached"], held["run"] = fetched["reached"], fetched["run"]


@pytest.mark.parametrize("seed", [1, 2])
def test_a_screen_that_holds_a_snapshot_and_follows_holds_what_a_fresh_one_gets(
    database: Path, seed: int
) -> None:
    chance = random.Random(seed)  # noqa: S311 - a test's dice
    with serving(database) as served, ExitStack() as screens:
        tablets, watchers = (
            {person: screens.enter_context(screen(served, person)) for person in people}
            for people in (STAFF, ("north-2", "south-1", "head"))
        )
        tablets["timer"].observe(say("timer", 2, at=now()))
        held = {
            person: watcher.reply("follow", {"run": LARKS}) for person, watcher in watchers.items()
        }
        first = {person: dict(each, entries=[*each["entries"]]) for person, each in held.items()}
        upto = 0
        for _ in range(40):
            person = chance.choice(STAFF)
            where = {"run": chance.choice([LARKS, LARKS, WRENS]), "at": now()}
            batch = [
                say(person, chance.randrange(20), **where) for _ in range(chance.randint(1, 3))
            ]
            results = tablets[person].observe(*batch)
            assert all(result["ok"] for result in results)
            if where["run"] == LARKS:
                upto = results[-1]["seq"]
        for person, watcher in watchers.items():
            catch_up(watcher, held[person], upto)
            with screen(served, person) as new:
                assert held[person] == new.reply("follow", {"run": LARKS})
            assert held[person] != first[person]
            assert len(held[person]["entries"]) > len(first[person]["entries"])
        assert len(held["south-1"]["entries"]) < len(held["north-2"]["entries"])
        assert len(held["north-2"]["entries"]) < len(held["head"]["entries"])


def test_every_screen_is_told_what_it_is_to_be_told_and_no_more(database: Path) -> None:
    with (
        serving(database) as served,
        screen(served, "timer") as timer,
        screen(served, "north-1") as judge,
        screen(served, "south-1") as idle,
        screen(served, "head") as head,
        screen(served, "larks-captain") as captain,
        screen(served, "board") as board,
        screen(served, "noise-head") as noise,
    ):
        judge.reply("follow", {"run": LARKS})
        head.reply("follow", {"run": LARKS})
        [start] = timer.observe(say("timer", 2, at=now()))
        for each in (judge, head):
            assert each.hear("reached") == {"run": LARKS, "seq": start["seq"]}
        for each in (timer, judge, idle, head):
            assert each.hear("stage")["run"]["stage"] == "running"
        for each in (timer, judge, idle, head, captain, board, noise):
            assert each.hears_nothing_more()
        assert captain.told == board.told == noise.told == []
        [mark] = judge.observe(missed("A1", at=now()))
        for each in (judge, head):
            assert each.hear("reached") == {"run": LARKS, "seq": mark["seq"]}
            assert each.told == []
        number = head.reply("publish", {"standing": "provisional"})["number"]
        for each in (timer, judge, idle, head, captain, board):
            assert each.hear("posted") == {"number": number}
        assert noise.hears_nothing_more()
        assert noise.told == []
