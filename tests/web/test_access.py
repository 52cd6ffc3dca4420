"""Who may do what: every role against every action and every kind of entry."""

from dataclasses import replace
from typing import Final

import pytest
from sqlalchemy import Engine, text
from sqlalchemy.exc import IntegrityError

from scoring import (
    OBSERVATIONS,
    Addition,
    Breach,
    CloseOut,
    Competence,
    Count,
    Decision,
    Entry,
    EntryError,
    EntryId,
    FindingId,
    Given,
    Mark,
    Measured,
    Moment,
    Moved,
    Outcome,
    PersonId,
    PostId,
    RuleId,
    Ruling,
    Signal,
    SignalName,
    Signature,
    Status,
    StatusRuling,
    TimeBack,
    Value,
    WatchReading,
    What,
    Withdrawal,
    decode,
    encode,
    kind_of,
)
from tests.web.meet import (
    LARKS,
    NORTH,
    NOW,
    OF_ROLE,
    PEOPLE,
    SOUTH,
    STAFF,
    STRANGE,
    Meet,
    entry,
    marked,
    missed,
    signalled,
)
from web.errors import AppError, ConflictError, ForbiddenError, NotFoundError, NotSignedInError
from web.live.messages import answer
from web.services.access import Action, actor_of, check_entry, may_see
from web.services.links import live_links, renew
from web.services.opening import open_event
from web.values import Event, Person, Placement, Role, Stored

#: What each role may ask.
MAY: Final = {
    Action.SEE_RUNS: {Role.HEAD, Role.TIMEKEEPER, Role.JUDGE},
    Action.SEE_FINDINGS: {Role.HEAD},
    Action.PUBLISH: {Role.HEAD},
    Action.EXPORT: {Role.HEAD},
    Action.SEE_PAPER: {Role.HEAD},
    Action.SEE_LINKS: {Role.HEAD},
    Action.SEE_BOARD: set(Role),
    Action.SEE_OWN_SHEET: {Role.CAPTAIN},
}
_ALL_STAFF: Final = {Role.HEAD, Role.TIMEKEEPER, Role.JUDGE}
_MARKS: Final = {Role.TIMEKEEPER, Role.JUDGE}
#: One of each kind of entry, on a rule of each post, and who may make it.
MAKES: Final[list[tuple[What, set[Role]]]] = [
    (Mark(RuleId(""), Outcome.GOOD), _ALL_STAFF),
    (Breach(RuleId("")), _MARKS),
    (Count(RuleId(""), 1), _ALL_STAFF),
    (Moved(RuleId(""), next(iter(Moment))), _ALL_STAFF),
    (Measured(RuleId(""), 1), _ALL_STAFF),
    (Value(RuleId(""), "12"), _ALL_STAFF),
    (CloseOut(), _MARKS),
    (WatchReading(1, 600_000), {Role.TIMEKEEPER}),
    *(
        (Signal(name), {Role.HEAD, Role.TIMEKEEPER})
        for name in SignalName
        if name is not SignalName.DANGER
    ),
    (Signal(SignalName.DANGER), _ALL_STAFF),
    (Withdrawal(EntryId("own"), "a slip"), _ALL_STAFF),
    (Given("mass", "12"), {Role.HEAD}),
    (Ruling(FindingId("A1"), Decision.STRIKE, "seen"), {Role.HEAD}),
    (Addition(RuleId("A1"), 1, "seen"), {Role.HEAD}),
    (TimeBack(1000, "our fault"), {Role.HEAD}),
    (StatusRuling(Status.DID_NOT_START, "no van"), {Role.HEAD}),
    (Signature(Competence.COMPETENT), {Role.HEAD, Role.JUDGE}),
]
#: A rule of the post at which each role is placed.
RULE: Final = {Role.TIMEKEEPER: "ready", Role.JUDGE: "A1"}


def refuses(meet: Meet, person: str, made: Entry, target: Entry | None = None) -> bool:
    try:
        check_entry(meet.actor(person), made, meet.runs.book("cliff"), target)
    except ForbiddenError:
        return True
    return False


@pytest.mark.parametrize("role", Role)
@pytest.mark.parametrize("action", Action)
def test_each_role_may_ask_what_is_its_own(light: Meet, action: Action, role: Role) -> None:
    actor = light.actor(OF_ROLE[role])
    assert actor.may(action) == (role in MAY[action])
    if not actor.may(action):
        with pytest.raises(ForbiddenError, match=f"A {role} may not {action}"):
            actor.must(action)


@pytest.mark.parametrize("role", Role)
@pytest.mark.parametrize(
    ("what", "makers"), MAKES, ids=lambda one: repr(one)[:30] if not isinstance(one, set) else ""
)
def test_each_role_makes_its_own_kinds_of_entries(
    light: Meet, what: What, makers: set[Role], role: Role
) -> None:
    if isinstance(what, OBSERVATIONS):
        what = replace(what, rule=RuleId(RULE.get(role, "A1")))
    made = entry(what, by=OF_ROLE[role])
    assert refuses(light, OF_ROLE[role], made, made) == (role not in makers)


def test_the_tables_above_leave_no_kind_out() -> None:
    everything = {kind_of(what) for what, _ in MAKES}
    assert everything == set(kinds())
    assert set(MAY) == set(Action)


def kinds() -> list[str]:
    """Every kind there is, as the refusal of an unknown one lists them."""
    with pytest.raises(EntryError) as refused:
        decode({**encode(missed("A1")), "kind": "?"})
    return str(refused.value).removeprefix("kind: Must be one of: ").rstrip(".").split(", ")


@pytest.mark.parametrize("rule", SOUTH)
def test_a_judge_marks_nothing_of_another_post(meet: Meet, rule: str) -> None:
    [refused] = meet.send("north-1", entry(Count(RuleId(rule), 2)))
    assert refused.error is not None
    assert refused.error.says == f"'{rule}' is not watched by your post."
    assert meet.runs.record(LARKS, meet.actor("head")) == []


def test_a_judge_marks_the_own_posts_rules(meet: Meet) -> None:
    marks = [missed("A1"), missed("A2", "two"), missed("clear"), entry(Breach(RuleId("gloves")))]
    assert all(answer.seq is not None for answer in meet.send("north-1", *marks))
    assert {mark.what.rule for mark in marks if hasattr(mark.what, "rule")} == set(NORTH)


@pytest.mark.parametrize("person", STAFF)
def test_no_one_reaches_another_events_run(meet: Meet, person: str) -> None:
    made = entry(Signal(SignalName.DANGER), by=person, run=STRANGE)
    [refused] = meet.send(person, made)
    assert isinstance(refused.error, ForbiddenError)
    for name in ("follow", "card"):
        said = answer(meet.desk, lambda: meet.actor(person), name, {"run": STRANGE})
        assert said["error"]["code"] == "forbidden"
    assert meet.joined == []


@pytest.mark.parametrize(
    "other", [{"by": PersonId("north-2")}, {"post": PostId("south")}, {"post": None}]
)
def test_an_entry_is_signed_by_who_sends_it(meet: Meet, other: dict[str, PostId]) -> None:
    [refused] = meet.send("north-1", missed("A1", **other))
    assert isinstance(refused.error, ForbiddenError)
    assert "signed by who makes it" in refused.error.says


@pytest.mark.parametrize(
    ("person", "allowed"),
    [("north-1", True), ("north-2", False), ("south-1", False), ("timer", False), ("head", True)],
)
def test_an_entry_is_withdrawn_by_who_made_it_or_the_head_judge(
    meet: Meet, person: str, *, allowed: bool
) -> None:
    target = missed("A1")
    meet.send("north-1", target)
    [answered] = meet.send(person, entry(Withdrawal(target.id, "a slip"), by=person))
    assert (answered.error is None) == allowed
    assert bool(meet.runs.card(LARKS).findings) != allowed


def test_a_ruling_is_taken_back_by_the_head_judge(meet: Meet) -> None:
    ruling = entry(StatusRuling(Status.DISQUALIFIED, "seen"), by="head")
    meet.send("head", ruling)
    [refused] = meet.send("north-1", entry(Withdrawal(ruling.id, "no")))
    assert isinstance(refused.error, ForbiddenError)
    meet.send("head", entry(Withdrawal(ruling.id, "not them"), by="head"))
    assert meet.runs.card(LARKS).status is None


@pytest.mark.parametrize("person", PEOPLE)
def test_anyone_on_the_staff_calls_a_danger_stop(meet: Meet, person: str) -> None:
    meet.send("timer", signalled(SignalName.START, at=NOW - 1000))
    made = entry(Signal(SignalName.DANGER), by=person)
    said = answer(meet.desk, lambda: meet.actor(person), "observe", {"entries": [encode(made)]})
    assert said["ok"] == (person in STAFF)
    assert len(meet.runs.card(LARKS).run.dangers) == (person in STAFF)


@pytest.mark.parametrize("person", ["larks-captain", "board"])
@pytest.mark.parametrize("name", ["follow", "card", "standings", "observe", "publish"])
def test_a_captain_and_the_board_see_no_run(meet: Meet, person: str, name: str) -> None:
    sent = {
        "follow": {"run": LARKS},
        "card": {"run": LARKS},
        "observe": {"entries": [{}]},
        "publish": {"standing": "provisional"},
    }
    said = answer(meet.desk, lambda: meet.actor(person), name, sent.get(name, {}))
    assert said["error"]["code"] == "forbidden"
    assert meet.joined == []


@pytest.mark.parametrize("person", ["larks-captain", "board"])
def test_a_captain_and_the_board_are_greeted_without_runs_and_rules(
    meet: Meet, person: str
) -> None:
    reply = answer(meet.desk, lambda: meet.actor(person), "hello", {})["reply"]
    assert set(reply) == {"me", "event", "now", "pace"}


def test_what_no_post_has_seen_the_head_judge_answers(meet: Meet) -> None:
    meet.run_cleanly(LARKS)
    [seen] = (each for each in meet.runs.record(LARKS, meet.actor("head")) if _is_of(each, "A1"))
    meet.send("north-1", entry(Withdrawal(seen.entry.id, "I looked away"), by="north-1"))
    assert [each.unseen for each in meet.runs.card(LARKS).questions] == [True]
    (answer,) = meet.send("head", missed("A1", by="head"))
    assert answer.error is None
    card = meet.runs.card(LARKS)
    assert card.questions == ()
    assert [finding.id for finding in card.findings] == ["A1"]


def _is_of(stored: Stored, rule: str) -> bool:
    return isinstance(stored.entry.what, Mark) and stored.entry.what.rule == rule


@pytest.mark.parametrize(
    ("person", "rules"),
    [
        ("head", {*NORTH, *SOUTH, "ready"}),
        ("timer", {"ready"}),
        ("north-1", set(NORTH)),
        ("south-1", set(SOUTH)),
    ],
)
def test_a_judges_tablet_holds_the_own_posts_rules_only(
    meet: Meet, person: str, rules: set[str]
) -> None:
    reply = answer(meet.desk, lambda: meet.actor(person), "hello", {})["reply"]
    assert {rule["id"] for rule in reply["rules"]} == rules
    assert [run["id"] for run in reply["runs"]] == ["cliff.larks", "cliff.wrens"]
    assert "noise" not in str(reply)


@pytest.mark.parametrize(
    ("person", "sees"),
    [
        ("head", {"north-1", "north-2", "south-1", "timer", "start"}),
        ("timer", {"timer", "start"}),
        ("north-1", {"north-1", "north-2", "start"}),
        ("south-1", {"south-1", "start"}),
    ],
)
def test_a_judge_sees_the_own_post_and_the_clock(meet: Meet, person: str, sees: set[str]) -> None:
    meet.send("timer", signalled(SignalName.START, id=EntryId("start")))
    meet.send("timer", marked("ready", Outcome.GOOD, by="timer", id=EntryId("timer")))
    for judge in ("north-1", "north-2"):
        meet.send(judge, missed("A1", by=judge, id=EntryId(judge)))
    meet.send("south-1", entry(Count(RuleId("tools"), 1), by="south-1", id=EntryId("south-1")))
    said = answer(meet.desk, lambda: meet.actor(person), "follow", {"run": LARKS})["reply"]
    assert {each["entry"]["id"] for each in said["entries"]} == sees


@pytest.mark.parametrize("person", ["larks-captain", "board"])
def test_a_captain_and_the_board_see_no_entry_but_the_clocks(meet: Meet, person: str) -> None:
    assert not may_see(meet.actor(person), missed("A1"))


@pytest.mark.parametrize("link", [None, "", "made-up", "' OR 1=1 --", "é" * 1000])
def test_a_link_that_is_none_signs_nobody_in(meet: Meet, link: str | None) -> None:
    with pytest.raises(NotSignedInError, match="Open your sign-in link first"):
        actor_of(meet.directory, link)


def test_a_revoked_link_signs_nobody_in(meet: Meet) -> None:
    link = meet.link("north-1")
    meet.directory.revoke(link, NOW)
    with pytest.raises(NotSignedInError, match="has been revoked"):
        actor_of(meet.directory, link)


def test_revoking_takes_effect_on_the_next_message(meet: Meet) -> None:
    link = meet.link("north-1")

    def send() -> dict[str, object]:
        made = {"entries": [encode(missed("A1"))]}
        return answer(meet.desk, lambda: actor_of(meet.directory, link), "observe", made)

    assert send()["ok"]
    meet.directory.revoke(link, NOW)
    assert send()["error"] == {
        "code": "not_signed_in",
        "says": "This sign-in link has been revoked; ask for a new one.",
    }
    assert len(meet.runs.record(LARKS, meet.actor("head"))) == 1


def test_a_person_who_signs_entries_cannot_go(meet: Meet, engine: Engine) -> None:
    """Their links name them, and the database holds to that."""
    with engine.begin() as connection, pytest.raises(IntegrityError, match="FOREIGN KEY"):
        connection.execute(text("DELETE FROM people WHERE id = 'north-1'"))
    assert meet.actor("north-1").person == "north-1"


def test_a_link_that_is_gone_signs_nobody_in(meet: Meet, engine: Engine) -> None:
    link = meet.link("north-1")
    with engine.begin() as connection:
        connection.execute(text("DELETE FROM links WHERE person = 'north-1'"))
        connection.execute(text("DELETE FROM people WHERE id = 'north-1'"))
    with pytest.raises(NotSignedInError):
        actor_of(meet.directory, link)


def test_a_renewed_link_is_another_for_the_same_place(meet: Meet) -> None:
    old = meet.link("north-1")
    new = renew(meet.directory, meet.announced, meet.clock, meet.actor("head"), old)
    with pytest.raises(NotSignedInError):
        actor_of(meet.directory, old)
    assert replace(actor_of(meet.directory, new.id), link=old) == replace(
        meet.actor("north-1"), link=old
    )


def test_a_link_is_renewed_once(meet: Meet) -> None:
    """A button pressed twice makes no second link."""
    old, head = meet.link("north-1"), meet.actor("head")
    before = len(live_links(meet.directory, "cliff"))
    renew(meet.directory, meet.announced, meet.clock, head, old)
    with pytest.raises(NotFoundError):
        renew(meet.directory, meet.announced, meet.clock, head, old)
    assert len(live_links(meet.directory, "cliff")) == before


@pytest.mark.parametrize(
    ("person", "link", "error"),
    [
        ("head", "head", ForbiddenError),
        ("head", "noise-north-1", NotFoundError),
        ("head", "made-up", NotFoundError),
        *((person, "south-1", ForbiddenError) for person in PEOPLE if person != "head"),
    ],
)
def test_a_link_is_renewed_by_the_head_judge_of_its_event_only(
    meet: Meet, person: str, link: str, error: type[AppError]
) -> None:
    wanted = link if link == "made-up" else meet.link(link)
    with pytest.raises(error):
        renew(meet.directory, meet.announced, meet.clock, meet.actor(person), wanted)
    if link != "made-up":
        assert meet.link(link) == wanted


@pytest.mark.parametrize(
    ("role", "post", "team"),
    [
        (Role.JUDGE, None, None),
        (Role.JUDGE, "nowhere", None),
        (Role.JUDGE, "north", "larks"),
        (Role.TIMEKEEPER, None, None),
        (Role.CAPTAIN, None, None),
        (Role.CAPTAIN, "north", "larks"),
        (Role.HEAD, "north", None),
        (Role.BOARD, None, "larks"),
    ],
)
def test_a_placement_has_the_post_or_the_team_of_its_role_and_nothing_else(
    meet: Meet, role: Role, post: str | None, team: str | None
) -> None:
    """A judge at no post would see every post's rules."""
    cliff = meet.runs.events["cliff"]
    odd = Placement(
        PersonId("odd"),
        role,
        PostId(post) if post else None,
        meet.actor("larks-captain").team if team else None,
    )
    with pytest.raises(ConflictError, match="'odd'"):
        open_event(
            meet.directory,
            meet.clock,
            Event("new", "New", cliff.hash, cliff.rulebook, 0),
            [],
            [Person(PersonId("odd"), "Odd")],
            [odd],
            [],
        )
    assert "new" not in [event.id for event in meet.directory.events()]
