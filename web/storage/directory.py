"""Who and what there is besides the record: events, teams, people, runs, links, postings."""

import json
import secrets
from collections.abc import Callable, Mapping
from dataclasses import asdict
from typing import Any, Final, TypeAlias, TypeVar

from sqlalchemy import ColumnElement, Connection, Engine, func, insert, select, update
from sqlalchemy.exc import IntegrityError

from scoring import PersonId, RunId, TeamId
from web.errors import ConflictError, NotFoundError
from web.storage.database import storage_errors, writing
from web.storage.tables import (
    Base,
    EventRow,
    LinkRow,
    PersonRow,
    PostingRow,
    RunRow,
    SecretRow,
    TeamRow,
)
from web.values import Event, Link, Person, Posting, Role, RunPlan, Standing, Team

_V = TypeVar("_V")
Listed: TypeAlias = Event | Team | Person | RunPlan | Link

#: The table of each kind of value, and what it is called in a sentence.
_TABLES: Final[Mapping[type[Listed], tuple[type[Base], str]]] = {
    Event: (EventRow, "event"),
    Team: (TeamRow, "team"),
    Person: (PersonRow, "person"),
    RunPlan: (RunRow, "run"),
    Link: (LinkRow, "sign-in link"),
}


class Directory:
    """Everything but the record, in a database that `open_database` opened.

    Each method is one transaction. Every method raises StorageError when the database refuses.
    """

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        self._links: dict[str, Link] = {}

    def add(self, *values: Listed) -> None:
        """Add values, in this order, all or none.

        Raises ConflictError where an id is taken, NotFoundError where a value names an event, team
        or person that is not there, BadMessageError for text or numbers that no file can hold.
        """
        with storage_errors("write to the directory"), writing(self._engine) as connection:
            for value in values:
                _add(connection, value)

    def event(self, event: str) -> Event | None:
        """The event of this id."""
        return self._one(Event, EventRow, EventRow.id == event)

    def events(self) -> list[Event]:
        """Every event, in the order they were opened."""
        return self._all(Event, EventRow, EventRow.opened_at, EventRow.id)

    def team(self, team: TeamId) -> Team | None:
        """The team of this id."""
        return self._one(Team, TeamRow, TeamRow.id == team)

    def teams(self) -> list[Team]:
        """Every team, by id."""
        return self._all(Team, TeamRow, TeamRow.id)

    def person(self, person: PersonId) -> Person | None:
        """The person of this id."""
        return self._one(Person, PersonRow, PersonRow.id == person)

    def people(self) -> list[Person]:
        """Every person, by id."""
        return self._all(Person, PersonRow, PersonRow.id)

    def plan(self, run: RunId) -> RunPlan | None:
        """The plan of the run of this id."""
        return self._one(RunPlan, RunRow, RunRow.id == run)

    def plans(self, event: str) -> list[RunPlan]:
        """An event's runs in the order of the day."""
        return self._all(RunPlan, RunRow, RunRow.turn, RunRow.id, where=RunRow.event == event)

    def link(self, link: str) -> Link | None:
        """The sign-in link of this id, revoked or not.

        Every message asks for one, so those that were asked for are kept until a link changes. Only
        the process that serves a meet changes its links.
        """
        if link not in self._links:
            found = self._one(_link, LinkRow, LinkRow.id == link)
            if found is None:
                return None
            self._links[link] = found
        return self._links[link]

    def links(self, event: str) -> list[Link]:
        """An event's sign-in links, revoked ones too, in the order they were made."""
        return self._all(_link, LinkRow, LinkRow.made_at, LinkRow.id, where=LinkRow.event == event)

    def revoke(self, link: str, at: int) -> Link:
        """End a sign-in link; one that is revoked already keeps its time. NotFoundError if none."""
        with storage_errors("write to the directory"), writing(self._engine) as connection:
            connection.execute(
                update(LinkRow)
                .where(LinkRow.id == link, LinkRow.revoked_at.is_(None))
                .values(revoked_at=at)
            )
        self._links.clear()
        revoked = self.link(link)
        if revoked is None:
            raise NotFoundError("There is no such sign-in link.")
        return revoked

    def add_posting(  # noqa: PLR0913 (a posting has these parts)
        self,
        *,
        event: str,
        standing: Standing,
        posted_at: int,
        by: PersonId,
        reason: str,
        rulebook_hash: str,
        head_seq: int,
        head_hash: str,
        engine: str,
        content: dict[str, Any],
    ) -> Posting:
        """Keep standings under their event's next number.

        Raises NotFoundError where the event or the person is not there.
        """
        last = select(func.max(PostingRow.number)).where(PostingRow.event == event)
        with storage_errors("keep the posting"), writing(self._engine) as connection:
            posting = Posting(
                number=(connection.scalar(last) or 0) + 1,
                event=event,
                standing=standing,
                posted_at=posted_at,
                by=by,
                reason=reason,
                rulebook_hash=rulebook_hash,
                head_seq=head_seq,
                head_hash=head_hash,
                engine=engine,
                content=content,
            )
            row = asdict(posting) | {"content": json.dumps(content, allow_nan=False)}
            try:
                connection.execute(insert(PostingRow), [row])
            except IntegrityError as error:
                raise NotFoundError("The posting names an event or a person not there.") from error
        return posting

    def posting(self, event: str, number: int) -> Posting | None:
        """The posting of this number."""
        where = (PostingRow.event == event) & (PostingRow.number == number)
        return self._one(_posting, PostingRow, where)

    def latest_posting(self, event: str) -> Posting | None:
        """An event's last posting."""
        last = select(func.max(PostingRow.number)).where(PostingRow.event == event)
        where = (PostingRow.event == event) & (PostingRow.number == last.scalar_subquery())
        return self._one(_posting, PostingRow, where)

    def postings(self, event: str) -> list[Posting]:
        """An event's postings, by number."""
        return self._all(_posting, PostingRow, PostingRow.number, where=PostingRow.event == event)

    def secret(self) -> bytes:
        """The server's secret, 32 random bytes; made at the first asking, then always the same."""
        kept = select(SecretRow.secret)
        with storage_errors("read its secret"):
            with self._engine.connect() as connection:
                secret = connection.scalar(kept)
            if secret is not None:
                return secret
            with writing(self._engine) as connection:
                made = insert(SecretRow).prefix_with("OR IGNORE")
                connection.execute(made, [{"id": 1, "secret": secrets.token_bytes(32)}])
                return connection.execute(kept).scalar_one()

    def _one(
        self, make: Callable[..., _V], table: type[Base], where: ColumnElement[bool]
    ) -> _V | None:
        found = self._all(make, table, where=where)
        return found[0] if found else None

    def _all(
        self,
        make: Callable[..., _V],
        table: type[Base],
        *order: Any,
        where: ColumnElement[bool] | None = None,
    ) -> list[_V]:
        query = select(*table.__table__.columns).order_by(*order)
        if where is not None:
            query = query.where(where)
        with storage_errors("read the directory"), self._engine.connect() as connection:
            return [make(**row) for row in connection.execute(query).mappings()]


def _add(connection: Connection, value: Listed) -> None:
    table, called = _TABLES[type(value)]
    try:
        connection.execute(insert(table), [asdict(value)])
    except IntegrityError as error:
        if "FOREIGN KEY" in str(error.orig):
            raise NotFoundError(
                f"The {called} {value.id!r} names an event, a team or a person not there."
            ) from error
        raise ConflictError(f"There is already a {called} {value.id!r}.") from error


def _link(role: str, **row: Any) -> Link:
    return Link(role=Role(role), **row)


def _posting(standing: str, content: str, **row: Any) -> Posting:
    return Posting(standing=Standing(standing), content=json.loads(content), **row)
