from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Engine

from scoring import PersonId, RunId, TeamId
from tests.storage import meet
from tests.storage.meet import posting
from web.errors import BadMessageError, ConflictError, NotFoundError, StorageError
from web.storage.database import open_database
from web.storage.directory import Directory
from web.values import Event, Posting, Standing, Team


def test_what_was_added_is_listed_in_order(directory: Directory) -> None:
    assert directory.events() == [meet.ROPEWAY, meet.CLIFF]
    assert directory.teams() == [meet.LARKS, meet.WRENS]
    assert directory.people() == [meet.HEAD, meet.JUDGE]
    assert directory.plans("cliff") == [meet.FIRST, meet.SECOND]
    assert directory.links("cliff") == [meet.JUDGE_LINK, meet.HEAD_LINK, meet.TEAM_LINK]


def test_what_belongs_to_an_event_is_not_listed_at_another(directory: Directory) -> None:
    assert directory.plans("ropeway") == []
    assert directory.links("ropeway") == []
    assert directory.postings("ropeway") == []
    assert directory.latest_posting("ropeway") is None


def test_each_is_found_by_its_id(directory: Directory) -> None:
    assert directory.event("cliff") == meet.CLIFF
    assert directory.team(TeamId("wrens")) == meet.WRENS
    assert directory.person(PersonId("head")) == meet.HEAD
    assert directory.plan(RunId("run-2")) == meet.SECOND
    assert directory.link("l-judge") == meet.JUDGE_LINK


def test_what_is_not_there_is_none(directory: Directory) -> None:
    assert directory.event("x") is None
    assert directory.team(TeamId("x")) is None
    assert directory.person(PersonId("x")) is None
    assert directory.plan(RunId("x")) is None
    assert directory.link("x") is None
    assert directory.posting("cliff", 1) is None


@pytest.mark.parametrize("value", meet.MEET, ids=lambda value: value.id)
def test_an_id_is_given_once(directory: Directory, value: Any) -> None:
    with pytest.raises(ConflictError, match=f"There is already a .* '{value.id}'"):
        directory.add(value)


@pytest.mark.parametrize(
    "value",
    [
        replace(meet.FIRST, id=RunId("run-3"), event="x"),
        replace(meet.FIRST, id=RunId("run-3"), team=TeamId("x")),
        replace(meet.HEAD_LINK, id="l", event="x"),
        replace(meet.HEAD_LINK, id="l", person=PersonId("x")),
        replace(meet.TEAM_LINK, id="l", team=TeamId("x")),
    ],
)
def test_a_name_of_nothing_is_refused(directory: Directory, value: Any) -> None:
    with pytest.raises(NotFoundError, match=f"'{value.id}' names"):
        directory.add(value)


def test_one_refusal_leaves_nothing_of_the_rest(directory: Directory) -> None:
    with pytest.raises(ConflictError):
        directory.add(Team(TeamId("terns"), "Terns"), meet.LARKS)
    assert directory.team(TeamId("terns")) is None


@pytest.mark.parametrize(
    "value",
    [
        Team(TeamId("t"), "\ud800"),
        Event("e", "E", "00", b"", 2**63),
    ],
)
def test_what_no_file_can_hold_is_refused(directory: Directory, value: Any) -> None:
    with pytest.raises(BadMessageError, match="half a character or a number beyond 64 bits"):
        directory.add(value)


def test_text_is_only_ever_text(directory: Directory) -> None:
    hostile = Team(TeamId("'); DROP TABLE teams; --"), "=1+1 \x00 \u202e", '"')
    directory.add(hostile)
    assert directory.team(hostile.id) == hostile


def test_a_revoked_link_stays_with_the_time_it_was_revoked(directory: Directory) -> None:
    assert directory.revoke("l-judge", 2000).revoked_at == 2000
    assert directory.revoke("l-judge", 3000).revoked_at == 2000
    assert directory.link("l-judge") == replace(meet.JUDGE_LINK, revoked_at=2000)
    assert directory.link("l-head") == meet.HEAD_LINK


def test_a_link_that_is_not_there_cannot_be_revoked(directory: Directory) -> None:
    with pytest.raises(NotFoundError, match="no such sign-in link"):
        directory.revoke("x", 2000)


def test_postings_are_numbered_for_each_event(directory: Directory) -> None:
    numbers = [directory.add_posting(**posting(event=event)).number for event in ("cliff",) * 3]
    assert numbers == [1, 2, 3]
    assert directory.add_posting(**posting(event="ropeway")).number == 1


def test_a_posting_comes_back_as_it_was_posted(directory: Directory) -> None:
    first = directory.add_posting(**posting())
    last = directory.add_posting(**posting(standing=Standing.OFFICIAL))
    assert first == Posting(number=1, **posting())
    assert directory.posting("cliff", 1) == first
    assert directory.latest_posting("cliff") == last
    assert directory.postings("cliff") == [first, last]


@pytest.mark.parametrize("other", [{"event": "x"}, {"by": "x"}])
def test_a_posting_of_nothing_or_nobody_is_refused(
    directory: Directory, other: dict[str, str]
) -> None:
    with pytest.raises(NotFoundError, match="an event or a person not there"):
        directory.add_posting(**posting(**other))
    assert directory.postings("cliff") == []


def test_the_secret_is_made_once_and_kept(engine: Engine, path: Path) -> None:
    secret = Directory(engine).secret()
    again = open_database(path)
    assert Directory(again).secret() == Directory(engine).secret() == secret
    again.dispose()
    assert len(secret) == 32


def test_two_databases_have_two_secrets(engine: Engine, tmp_path: Path) -> None:
    other = open_database(tmp_path / "other.sqlite3")
    assert Directory(other).secret() != Directory(engine).secret()
    other.dispose()


def test_a_database_that_is_gone_is_a_storage_error(engine: Engine) -> None:
    with engine.begin() as connection:
        connection.exec_driver_sql("DROP TABLE people")
    with pytest.raises(StorageError, match="could not read the directory: no such table: people"):
        Directory(engine).people()
