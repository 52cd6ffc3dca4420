"""Standings become public in numbered, frozen steps; what is posted does not move any more."""

from typing import Any

import gevent
import pytest

from scoring import EntryId, Mark, Outcome, RuleId, Status, StatusRuling, encode
from tests.web.meet import LARKS, PEOPLE, WRENS, Meet, entry, missed, whole_run
from web.errors import ConflictError, ForbiddenError, NotFoundError
from web.live.messages import answer
from web.services.intake import Intake
from web.services.runs import Runs
from web.storage.log import SqlLog
from web.storage.writer import GroupWriter
from web.values import Posting, Standing, Stored


def latest(meet: Meet) -> Posting:
    posting = meet.directory.latest_posting("cliff")
    assert posting is not None
    return posting


def posted(meet: Meet, person: str) -> Any:
    """What a person's board shows."""
    said = answer(meet.desk, lambda: meet.actor(person), "board", {})
    return said["reply"]["posting"]


def test_official_standings_wait_for_provisional_ones(meet: Meet) -> None:
    with pytest.raises(ConflictError, match="provisional"):
        meet.publish(Standing.OFFICIAL, "in a hurry")
    assert meet.directory.latest_posting("cliff") is None
    assert meet.publish() == 1
    assert meet.publish(Standing.OFFICIAL, "in a hurry") == 2


def test_official_standings_wait_for_what_is_undecided(meet: Meet) -> None:
    meet.run_cleanly(WRENS)
    meet.send("timer", *whole_run())
    meet.publish()
    with pytest.raises(ConflictError, match="Larks of cliff") as refused:
        meet.publish(Standing.OFFICIAL)
    assert refused.value.own_code == "undecided"
    assert "Wrens" not in refused.value.says
    assert latest(meet).number == 1


def test_a_run_that_never_came_to_an_end_is_undecided(meet: Meet) -> None:
    meet.run_cleanly(WRENS)
    meet.publish()
    with pytest.raises(ConflictError, match="Larks of cliff"):
        meet.publish(Standing.OFFICIAL)
    gone = StatusRuling(Status.DID_NOT_START, "The van broke down.")
    meet.send("head", entry(gone, by="head"))
    assert meet.publish(Standing.OFFICIAL) == 2


def test_the_head_judge_may_post_all_the_same_with_a_reason_that_is_kept(meet: Meet) -> None:
    meet.send("timer", *whole_run())
    meet.publish()
    with pytest.raises(ConflictError):
        meet.publish(Standing.OFFICIAL, "   ")
    meet.publish(Standing.OFFICIAL, "  The bay is flooded. ")
    assert latest(meet).reason == "The bay is flooded."


def test_everything_decided_needs_no_reason(meet: Meet) -> None:
    for run in (LARKS, WRENS):
        meet.run_cleanly(run)
    meet.publish()
    assert meet.publish(Standing.OFFICIAL) == 2


@pytest.mark.parametrize("person", [each for each in PEOPLE if each != "head"])
def test_nobody_but_the_head_judge_posts(meet: Meet, person: str) -> None:
    with pytest.raises(ForbiddenError, match="may not post standings"):
        meet.postings.publish(meet.actor(person), Standing.PROVISIONAL)
    assert meet.directory.latest_posting("cliff") is None


def test_a_posting_is_told_to_its_own_event(meet: Meet) -> None:
    meet.publish()
    assert meet.announced.told == [("posted", "cliff", 1)]


def test_the_board_shows_only_what_is_posted(meet: Meet) -> None:
    meet.run_cleanly(LARKS)
    for person in PEOPLE:
        assert posted(meet, person) is None
    meet.publish()
    for person in PEOPLE:
        board = posted(meet, person)
        assert (board["number"], board["standing"]) == (1, "provisional")
        assert [row["team"] for row in board["rows"]] == ["larks", "wrens"]
    assert "noise" not in str(board)


def test_posted_rows_stay_though_marks_arrive_later(meet: Meet) -> None:
    meet.run_cleanly(LARKS)
    meet.publish()
    before = posted(meet, "board")
    meet.send("north-2", missed("A1", by="north-2"))
    live = answer(meet.desk, lambda: meet.actor("head"), "standings", {})["reply"]["rows"]
    assert posted(meet, "board") == before
    assert live != before["rows"]
    meet.publish()
    assert posted(meet, "board")["rows"] == live


def test_a_crews_sheet_is_of_the_posting_and_not_of_now(meet: Meet) -> None:
    meet.run_cleanly(LARKS)
    meet.publish()
    captain = meet.actor("larks-captain")
    before = meet.sheets.own(captain)
    meet.send("north-2", missed("A1", by="north-2"))
    assert meet.sheets.own(captain) == before
    meet.publish()
    assert meet.sheets.own(captain) != before


def test_the_sheet_adds_up_to_the_posted_row(meet: Meet) -> None:
    meet.run_cleanly(LARKS)
    meet.send("north-2", missed("clear", by="north-2"))
    meet.publish()
    [place, _] = meet.sheets.places(latest(meet))
    [row, _] = latest(meet).content["rows"]
    assert (place.scorecard.penalty, place.scorecard.total) == (row["penalty"], row["total"])
    assert place.entrant.team == row["team"]


def test_a_captain_sees_no_sheet_before_a_posting(meet: Meet) -> None:
    meet.run_cleanly(LARKS)
    with pytest.raises(NotFoundError, match="once standings have been posted") as refused:
        meet.sheets.own(meet.actor("larks-captain"))
    assert refused.value.own_code == "not_posted"


def test_a_captain_sees_the_own_crews_sheet_only(meet: Meet) -> None:
    meet.run_cleanly(LARKS)
    meet.publish()
    for person, own, other in (
        ("larks-captain", "Larks of cliff", "Wrens of cliff"),
        ("wrens-captain", "Wrens of cliff", "Larks of cliff"),
    ):
        sheet = meet.sheets.own(meet.actor(person))
        assert sheet.name == own
        assert other not in str(sheet)
        assert "noise" not in str(sheet)


@pytest.mark.parametrize("person", [each for each in PEOPLE if "captain" not in each])
def test_nobody_else_asks_for_an_own_sheet(meet: Meet, person: str) -> None:
    meet.publish()
    with pytest.raises(ForbiddenError):
        meet.sheets.own(meet.actor(person))


def test_a_posting_names_the_head_of_the_record_it_was_made_from(meet: Meet) -> None:
    meet.run_cleanly(LARKS)
    meet.publish()
    last = meet.log.since()[-1]
    assert (latest(meet).head_seq, latest(meet).head_hash) == (last.seq, last.hash)


def test_what_is_stored_but_not_known_here_yet_waits_for_the_next_posting(meet: Meet) -> None:
    """The writer's thread may have committed an entry whose sender has not been answered yet."""
    meet.run_cleanly(LARKS)
    known = meet.runs.head
    meet.writer.append([missed("A1", by="north-2")])
    meet.publish()
    [row, _] = latest(meet).content["rows"]
    [place, _] = meet.fresh().standings("cliff", upto=latest(meet).head_seq)
    assert (latest(meet).head_seq, latest(meet).head_hash) == known
    assert row["penalty"] == place.scorecard.penalty == 0


class Watched(Runs):
    """Runs that remember the order in which entries came."""

    order: list[int]

    def took(self, stored: Any) -> None:
        """Keep what was stored."""
        each: list[Stored] = list(stored)
        self.order = [*getattr(self, "order", []), *(one.seq for one in each)]
        super().took(each)


def test_the_runs_learn_of_entries_in_the_order_of_the_record(meet: Meet, log: SqlLog) -> None:
    """So the last one that is known is a head of the chain with nothing missing before it."""
    runs = Watched(log, meet.directory)
    writer = GroupWriter(log, meet.clock)
    intake = Intake(runs, writer, meet.announced, meet.clock)
    start, judge = runs.head[0], meet.actor("north-1")

    def mark(turn: int) -> None:
        for number in range(5):
            made = entry(Mark(RuleId("A1"), Outcome.GOOD), id=EntryId(f"t{turn}.{number}"))
            intake.observe(judge, [encode(made)])

    gevent.joinall([gevent.spawn(mark, turn) for turn in range(20)], raise_error=True)
    writer.close()
    assert runs.order[start:] == list(range(start + 1, start + 101))
    last = log.since(start + 99)[0]
    assert runs.head == (last.seq, last.hash)
