"""Power cuts: what a tablet was told is saved is there afterwards, once."""

import threading
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from pathlib import Path
from typing import Any

from websocket import WebSocketException

from scoring import Entry, Mark, Outcome, RuleId, Signal, SignalName
from tests.web.meet import LARKS, entry
from tests.web.screens import Screen, Served, now, screen, serving
from web.services.runs import Runs
from web.storage.database import open_database
from web.storage.directory import Directory
from web.storage.log import SqlLog

JUDGES = ("north-1", "north-2")


def judge(served: Served, person: str, told: dict[str, int], sent: list[Entry]) -> None:
    """Mark without pause until the server is gone; `told` are the numbers of what is saved."""
    tablet = Screen(served, person)
    try:
        for turn in range(10_000):
            batch = [
                entry(Mark(RuleId("A2"), Outcome.WRONG, item), by=person, at=now() + turn)
                for item in ("one", "two")
            ]
            sent += batch
            told |= {result["id"]: result["seq"] for result in tablet.observe(*batch)}
    finally:
        tablet.ws.shutdown()  # type: ignore[no-untyped-call] # It has no types.


def record(database: Path) -> tuple[dict[str, int], list[Any]]:
    """What a new reader of the database finds: numbers by id, and the standings."""
    engine = open_database(database)
    log = SqlLog(engine)
    stored = log.since()
    assert log.verify() is None
    standings = [
        (place.entrant.team, place.place, place.scorecard)
        for place in Runs(log, Directory(engine)).standings("cliff")
    ]
    log.close()
    engine.dispose()
    numbers = {str(each.entry.id): each.seq for each in stored}
    assert len(numbers) == len(stored)
    return numbers, standings


def test_kill_9_while_judges_mark_loses_nothing_that_was_acknowledged(database: Path) -> None:
    told: dict[str, int] = {}
    sent: list[Entry] = []
    with serving(database) as served, ThreadPoolExecutor(len(JUDGES)) as others:
        with screen(served, "timer") as timer:
            start = entry(Signal(SignalName.START), by="timer", at=now())
            told |= {result["id"]: result["seq"] for result in timer.observe(start)}
        marking = [others.submit(judge, served, person, told, sent) for person in JUDGES]
        while len(told) < 100:
            threading.Event().wait(0.01)
        served.process.kill()
        for each in marking:
            with suppress(WebSocketException, OSError):
                each.result()
    acknowledged = dict(told)
    stored, standings = record(database)
    assert 100 <= len(acknowledged) < len(sent) + 1
    assert {each: stored[each] for each in acknowledged} == acknowledged
    with serving(database) as again, screen(again, "head") as head:
        held = head.reply("follow", {"run": LARKS})["entries"]
        assert {each["entry"]["id"]: each["seq"] for each in held}.items() <= stored.items()
        assert {each["entry"]["id"] for each in held} >= set(acknowledged)
        rows = head.reply("standings")["rows"]
        assert [(row["team"], row["place"], row["penalty"]) for row in rows] == [
            (team, place, card.penalty) for team, place, card in standings
        ]
        # The tablets send again what they were not told of, and everything is there once.
        for person in JUDGES:
            with screen(again, person) as tablet:
                mine = [each for each in sent if each.by == person]
                for first in range(0, len(mine), 200):
                    results = tablet.observe(*mine[first : first + 200])
                    assert all(result["ok"] for result in results)
                    for result in results:
                        assert acknowledged.get(result["id"], result["seq"]) == result["seq"]
    whole, _ = record(database)
    assert {each.id for each in sent} <= set(whole)


def test_a_posting_and_a_sign_in_outlive_the_server(database: Path) -> None:
    """Tablets come back by themselves; nobody scans a code again."""
    with serving(database) as served, screen(served, "head") as head:
        cookie = served.cookie("board")
        number = head.reply("publish", {"standing": "provisional"})["number"]
        before = head.reply("board")
        served.process.kill()
        served.process.wait()
    with serving(database) as again:
        board = Screen(again, "board", cookie)
        assert board.reply("board") == before
        assert before["posting"]["number"] == number
        board.close()
