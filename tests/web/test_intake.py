"""Entries from tablets: each is answered for itself, and what is stored stays stored."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from scoring import (
    Addition,
    Breach,
    Count,
    Entry,
    EntryId,
    Measured,
    PostId,
    RuleId,
    RunId,
    SignalName,
    WatchReading,
    Withdrawal,
    encode,
)
from tests.web.meet import LARKS, NOW, WRENS, Meet, entry, missed, signalled
from web.errors import AppError, BadMessageError, ConflictError, NotFoundError, StorageError
from web.services.intake import Intake
from web.storage.log import SqlLog
from web.storage.writer import GroupWriter

DAY = 86_400_000


def stored(meet: Meet) -> list[str]:
    """The ids on the day's record, noise left out."""
    return [each.entry.id for each in meet.log.since() if each.entry.run.startswith("cliff")]


def refusal(meet: Meet, person: str, made: Entry | dict[str, Any]) -> AppError:
    """Why an entry is refused; nothing of it is stored."""
    before = meet.log.since()
    mapping = encode(made) if isinstance(made, Entry) else made
    [answer] = meet.intake.observe(meet.actor(person), [mapping])
    assert meet.log.since() == before
    assert meet.announced.told == []
    assert answer.seq is None
    assert answer.error is not None
    assert answer.error.says.endswith((".", "'"))
    return answer.error


def test_each_entry_of_a_batch_is_answered_for_itself(meet: Meet) -> None:
    first, last = missed("A1"), missed("clear")
    batch = [
        first,
        missed("A9"),
        missed("A1", run="nowhere"),
        signalled(SignalName.STOP, by="north-1"),
        missed("A1", at=NOW + DAY),
        last,
    ]
    answers = meet.send("north-1", *batch)
    assert [answer.id for answer in answers] == [made.id for made in batch]
    assert [answer.error.own_code if answer.error else "stored" for answer in answers] == [
        "stored",
        "not_found",
        "not_found",
        "forbidden",
        "impossible_time",
        "stored",
    ]
    assert stored(meet) == [first.id, last.id]
    assert [answers[0].seq, answers[-1].seq] == [each.seq for each in meet.log.since()][-2:]


def test_an_entry_that_cannot_be_read_holds_up_no_other(meet: Meet) -> None:
    good = missed("A1")
    answers = meet.intake.observe(
        meet.actor("north-1"), [{}, {"id": 7}, {"id": "x" * 999}, encode(good)]
    )
    assert [answer.id for answer in answers] == ["", "", "x" * 64, good.id]
    assert [answer.error is None for answer in answers] == [False, False, False, True]
    assert stored(meet) == [good.id]


def test_an_id_nested_too_deep_to_print_is_refused_like_another(meet: Meet) -> None:
    nested: list[Any] = []
    for _ in range(5000):
        nested = [nested]
    assert refusal(meet, "north-1", {"id": nested}).own_code == "bad_message"


def test_half_a_character_is_refused_alone(meet: Meet) -> None:
    """A tablet's text field may cut an emoji in two; no file can hold half of it."""
    good = missed("A1")
    halved = encode(entry(Breach(RuleId("gloves"))))
    halved["what"] = {**halved["what"], "whom": "\ud83e"}
    answers = meet.intake.observe(meet.actor("north-1"), [halved, encode(good)])
    assert [answer.error is None for answer in answers] == [False, True]
    assert stored(meet) == [good.id]


def test_a_repeat_is_answered_with_its_first_number_and_told_to_nobody(meet: Meet) -> None:
    made, other = missed("A1"), missed("clear")
    [first] = meet.send("north-1", made)
    meet.announced.told.clear()
    [again] = meet.send("north-1", made)
    assert again == first
    assert meet.announced.told == []
    both = meet.send("north-1", made, other, made)
    assert [answer.seq for answer in both][::2] == [first.seq, first.seq]
    assert stored(meet) == [made.id, other.id]


def test_the_same_id_with_other_content_is_refused(meet: Meet) -> None:
    made = missed("A1")
    [first] = meet.send("north-1", made)
    [refused] = meet.send("north-1", replace(made, at=NOW - 1))
    assert isinstance(refused.error, ConflictError)
    assert refused.error.own_code == "id_taken"
    assert stored(meet) == [made.id]
    assert meet.log.since()[-1].seq == first.seq


def test_two_entries_of_one_id_in_one_batch_are_one_and_a_refusal(meet: Meet) -> None:
    made = missed("A1")
    first, second = meet.send("north-1", made, replace(made, at=NOW - 1))
    assert first.seq is not None
    assert isinstance(second.error, ConflictError)
    assert meet.runs.record(LARKS, meet.actor("head"))[0].entry == made


def test_an_entry_is_withdrawn_in_its_own_batch(meet: Meet) -> None:
    made = missed("A1")
    answers = meet.send("north-1", made, entry(Withdrawal(made.id, "a slip")))
    assert all(answer.seq is not None for answer in answers)
    assert meet.runs.card(LARKS).findings == ()


def test_a_withdrawal_comes_after_what_it_takes_back(meet: Meet) -> None:
    made = missed("A1")
    answers = meet.send("north-1", entry(Withdrawal(made.id, "a slip")), made)
    assert [answer.error is None for answer in answers] == [False, True]


@pytest.mark.parametrize(
    "wanted",
    [
        lambda _: EntryId("nowhere"),
        lambda meet: meet.send("north-1", missed("A1", run=WRENS))[0].id,
        lambda meet: meet.log.since()[0].entry.id,
    ],
    ids=["nowhere", "another run's", "another event's"],
)
def test_a_withdrawal_takes_back_what_is_on_its_own_run(
    meet: Meet, wanted: Callable[[Meet], EntryId]
) -> None:
    withdrawal = entry(Withdrawal(wanted(meet), "a slip"))
    meet.announced.told.clear()
    assert isinstance(refusal(meet, "north-1", withdrawal), NotFoundError)


def test_what_was_refused_in_a_batch_cannot_be_withdrawn_in_it(meet: Meet) -> None:
    refused = missed("A9")
    answers = meet.send("north-1", refused, entry(Withdrawal(refused.id, "a slip")))
    assert [answer.error is None for answer in answers] == [False, False]
    assert stored(meet) == []


@pytest.mark.parametrize(
    ("at", "off_by", "taken"),
    [
        (NOW + 60_000, 0, True),
        (NOW + 60_001, 0, False),
        (NOW + 61_000, 1_000, True),
        (NOW + DAY, 0, False),
        (253_402_300_799_999, DAY, False),
        (NOW - 30 * DAY, 0, True),
        (NOW - 30 * DAY - 1, 0, False),
        (0, 0, False),
    ],
)
def test_an_entry_is_from_no_impossible_time(
    meet: Meet, at: int, off_by: int, *, taken: bool
) -> None:
    made = missed("A1", at=at, off_by=off_by)
    if taken:
        assert meet.send("north-1", made)[0].error is None
    else:
        refused = refusal(meet, "north-1", made)
        assert refused.own_code == "impossible_time"
        assert "clock" in refused.says


@pytest.mark.parametrize(
    ("person", "change", "names"),
    [
        ("north-1", {"at": -1}, "at: Must be"),
        ("north-1", {"at": 10**30}, "at: Must be"),
        ("north-1", {"at": 1.5}, "at: Not a valid integer"),
        ("north-1", {"at": True}, "at: Not a valid integer"),
        ("north-1", {"at": "now"}, "at: Not a valid integer"),
        ("north-1", {"off_by": -1}, "off_by: Must be"),
        ("north-1", {"off_by": 2 * DAY}, "off_by: Must be"),
        ("north-1", {"id": ""}, "id: Length"),
        ("north-1", {"id": "x" * 65}, "id: Length"),
        ("north-1", {"shape": 99}, "shape: Must be"),
        ("north-1", {"kind": "gossip"}, "kind: Must be one of"),
        ("north-1", {"what": []}, "what: Not a valid mapping"),
        ("north-1", {"extra": 1}, "extra: Unknown field"),
        ("north-1", {"what": {"rule": "A1", "outcome": "lovely"}}, "what.outcome: Must be one of"),
        ("north-1", {"what": {"rule": "A1"}}, "what.outcome: Missing"),
    ],
)
def test_an_absurd_value_is_refused_with_its_name_and_what_is_allowed(
    meet: Meet, person: str, change: dict[str, Any], names: str
) -> None:
    refused = refusal(meet, person, {**encode(missed("A1")), **change})
    assert isinstance(refused, BadMessageError)
    assert names in refused.says


@pytest.mark.parametrize("field", sorted(encode(missed("A1"))))
def test_a_field_that_is_missing_is_named(meet: Meet, field: str) -> None:
    mapping = encode(missed("A1"))
    del mapping[field]
    if field == "off_by":
        [answer] = meet.intake.observe(meet.actor("north-1"), [mapping])
        assert answer.error is None
    elif field == "post":
        assert refusal(meet, "north-1", mapping).own_code == "forbidden"
    else:
        assert f"{field}: Missing data" in refusal(meet, "north-1", mapping).says


@pytest.mark.parametrize(
    ("person", "made", "says"),
    [
        ("north-1", missed("A9"), "no rule 'A9'"),
        ("head", entry(Addition(RuleId("A9"), 1, "seen"), by="head"), "no rule 'A9'"),
        ("north-1", missed("A2", "four"), "'A2' is not marked in this way"),
        ("north-1", missed("A2"), "'A2' is not marked in this way"),
        ("north-1", missed("gloves"), "'gloves' is not marked in this way"),
        ("north-1", entry(Breach(RuleId("A1"))), "'A1' is not marked in this way"),
        ("north-1", entry(Count(RuleId("A1"), 3)), "'A1' is not marked in this way"),
        ("north-1", entry(Measured(RuleId("A1"), 3)), "'A1' is not marked in this way"),
        ("south-1", missed("tools", "hammer", by="south-1"), "'tools' is not marked in this way"),
        ("north-1", missed("A1", post=PostId("moon")), "no post 'moon'"),
        ("north-1", missed("A1", run=RunId("cliff.owls")), "no run 'cliff.owls'"),
        ("timer", entry(WatchReading(10, 1), by="timer"), "what.watch: Must be"),
        ("timer", entry(WatchReading(1, 10**12), by="timer"), "what.elapsed: Must be"),
        ("south-1", entry(Count(RuleId("tools"), -1), by="south-1"), "what.count: Must be"),
        ("south-1", entry(Count(RuleId("tools"), 10**6), by="south-1"), "what.count: Must be"),
    ],
)
def test_an_entry_names_what_the_rulebook_has_in_the_way_it_is_marked(
    meet: Meet, person: str, made: Entry, says: str
) -> None:
    assert says in refusal(meet, person, made).says


def test_what_is_stored_is_told_once_for_each_run(meet: Meet) -> None:
    meet.send("north-1", missed("A1"), missed("clear"), missed("A1", run=WRENS))
    last = meet.log.since()[-1].seq
    assert meet.announced.told == [
        ("reached", "cliff", "cliff.larks", last - 1, False),
        ("reached", "cliff", "cliff.wrens", last, False),
    ]


def test_it_is_told_where_the_clock_may_have_moved(meet: Meet) -> None:
    [answer] = meet.send("timer", signalled(SignalName.START))
    assert meet.announced.told == [("reached", "cliff", "cliff.larks", answer.seq, True)]


def test_without_a_clock_any_mark_may_move_the_stage(
    meet: Meet, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The first mark begins a run that nobody starts."""
    untimed = replace(meet.runs.book("cliff"), timed=False)
    monkeypatch.setattr(meet.runs, "book", lambda _event: untimed)
    before = meet.runs.card(LARKS).stage
    [answer] = meet.send("north-1", missed("A1"))
    assert meet.runs.card(LARKS).stage != before
    assert meet.announced.told == [("reached", "cliff", "cliff.larks", answer.seq, True)]


def test_where_the_database_fails_nothing_is_stored_and_it_works_later(meet: Meet) -> None:
    made = missed("A1")
    meet.writer.error = StorageError("The disk is full.")
    with pytest.raises(StorageError, match="disk is full"):
        meet.send("north-1", made)
    assert stored(meet) == []
    assert meet.announced.told == []
    assert meet.runs.card(LARKS) == meet.fresh().card(LARKS)
    meet.writer.error = None
    assert meet.send("north-1", made)[0].seq is not None
    assert stored(meet) == [made.id]


def test_a_full_disk_stores_nothing_says_so_and_is_got_over(meet: Meet, log: SqlLog) -> None:
    """The database may not grow by another page, as on a full disk."""
    writer = GroupWriter(log, meet.clock)
    intake = Intake(meet.runs, writer, meet.announced, meet.clock)
    judge = meet.actor("north-1")
    many = [encode(entry(Breach(RuleId("gloves"), "x" * 400))) for _ in range(200)]
    log.append([missed("A1", run="elsewhere")], NOW)  # its connection is open from here on
    connection = log._connection()  # noqa: SLF001 - the disk is full for this connection only
    pages = connection.exec_driver_sql("PRAGMA page_count").scalar_one()
    connection.exec_driver_sql(f"PRAGMA max_page_count = {pages}")
    connection.rollback()
    with pytest.raises(StorageError, match="full"):
        intake.observe(judge, many)
    assert stored(meet) == []
    assert meet.announced.told == []
    answers = intake.observe(judge, many)
    assert all(answer.seq is not None for answer in answers)
    assert len(stored(meet)) == 200
    writer.close()


def test_entries_of_a_run_that_is_not_planned_change_nothing_here(meet: Meet) -> None:
    """A database may hold runs of an event that was opened after the server was started."""
    before = meet.runs.standings("cliff")
    meet.runs.took(meet.log.append([missed("A1", run="later.crew")], NOW))  # type: ignore[arg-type] # none is a clash
    assert meet.runs.standings("cliff") == before
