"""The tables of the database.

A change here needs a migration beside it; a test compares the two. Times are milliseconds since
1970-01-01T00:00Z. Every table is strict: SQLite would else take text for a number.
"""

from sqlalchemy import BigInteger, ForeignKey, Integer, LargeBinary, Text
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column


class Base(DeclarativeBase):
    """What every table shares; used for its columns only, rows become values of `web.values`."""

    type_annotation_map = {  # noqa: RUF012 (SQLAlchemy's own declaration of it stands)
        str: Text,
        int: BigInteger().with_variant(Integer, "sqlite"),
        bytes: LargeBinary,
    }
    __table_args__ = {"sqlite_strict": True}  # noqa: RUF012 (likewise)


class EntryRow(Base):
    """The record: a chain of entries. Triggers let rows be added at its end, and nothing else."""

    __tablename__ = "entries"

    #: Place in the chain, from 1, without gaps.
    seq: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    #: The entry's id, made by the tablet; as in the payload.
    id: Mapped[str] = mapped_column(unique=True)
    #: The run whose record it is on; as in the payload.
    run: Mapped[str] = mapped_column(index=True)
    #: When the server had it, by the server's clock.
    received_at: Mapped[int]
    #: `scoring.encode(entry)` as canonical JSON (RFC 8785).
    payload: Mapped[str]
    #: SHA-256 in hex over the hash before it and this row; see `chain`.
    hash: Mapped[str]


class EventRow(Base):
    """Events, each with the rulebook it is bound to."""

    __tablename__ = "events"

    #: The event's id.
    id: Mapped[str] = mapped_column(primary_key=True)
    #: Its name on screens and sheets.
    title: Mapped[str]
    #: SHA-256 of the rulebook file, in hex.
    hash: Mapped[str]
    #: The rulebook file's bytes.
    rulebook: Mapped[bytes]
    #: When it was opened.
    opened_at: Mapped[int]


class TeamRow(Base):
    """Teams, for all events of the meet."""

    __tablename__ = "teams"

    #: The team's id.
    id: Mapped[str] = mapped_column(primary_key=True)
    #: Its name on screens and sheets.
    name: Mapped[str]
    #: The class it is ranked in; empty where there are none.
    division: Mapped[str]


class PersonRow(Base):
    """Those who sign entries."""

    __tablename__ = "people"

    #: The person's id.
    id: Mapped[str] = mapped_column(primary_key=True)
    #: The name beside what they sign.
    name: Mapped[str]


class RunRow(Base):
    """Which team runs where, and in which order."""

    __tablename__ = "runs"

    #: The run's id; entries name it.
    id: Mapped[str] = mapped_column(primary_key=True)
    #: The event it belongs to.
    event: Mapped[str] = mapped_column(ForeignKey("events.id"), index=True)
    #: The team that runs.
    team: Mapped[str] = mapped_column(ForeignKey("teams.id"))
    #: The marked place where it runs.
    bay: Mapped[str]
    #: Its place in the order of the day, from 1.
    turn: Mapped[int]


class LinkRow(Base):
    """Sign-in links."""

    __tablename__ = "links"

    #: The link's id; a session holds it.
    id: Mapped[str] = mapped_column(primary_key=True)
    #: Whom it signs in.
    person: Mapped[str] = mapped_column(ForeignKey("people.id"))
    #: What it makes them: a `web.values.Role`.
    role: Mapped[str]
    #: The event it is for.
    event: Mapped[str] = mapped_column(ForeignKey("events.id"), index=True)
    #: The post of a judge or timekeeper.
    post: Mapped[str | None]
    #: The team of a captain.
    team: Mapped[str | None] = mapped_column(ForeignKey("teams.id"))
    #: When it was made.
    made_at: Mapped[int]
    #: When it was revoked; empty while it lives.
    revoked_at: Mapped[int | None]


class PostingRow(Base):
    """Postings. Triggers let an event's next posting be added, and nothing else."""

    __tablename__ = "postings"

    #: The event whose standings they are.
    event: Mapped[str] = mapped_column(ForeignKey("events.id"), primary_key=True)
    #: Its number at the event, from 1, without gaps.
    number: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    #: How final it is: a `web.values.Standing`.
    standing: Mapped[str]
    #: When it was posted.
    posted_at: Mapped[int]
    #: Who posted it.
    by: Mapped[str] = mapped_column(ForeignKey("people.id"))
    #: Why, in the poster's words.
    reason: Mapped[str]
    #: SHA-256 of the rulebook it was scored by, in hex.
    rulebook_hash: Mapped[str]
    #: The last entry of the record that it counts.
    head_seq: Mapped[int]
    #: The chain's hash at that entry.
    head_hash: Mapped[str]
    #: The version of the engine that scored it.
    engine: Mapped[str]
    #: The rows as posted, as JSON.
    content: Mapped[str]


class SecretRow(Base):
    """The server's secret: one row."""

    __tablename__ = "secret"

    #: Always 1.
    id: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    #: Random bytes that sign sessions and links.
    secret: Mapped[bytes]
