"""What the services ask of storage and of the live side, as Protocols."""

from collections.abc import Callable, Sequence
from typing import Any, Protocol

from scoring import Entry, PersonId, RunId
from web.values import Clash, Event, Link, Person, Posting, RunPlan, Standing, Stored, Team

#: The server's clock: milliseconds since 1970-01-01T00:00Z.
Clock = Callable[[], int]


class Appender(Protocol):
    """The one way onto the record: durable when it returns."""

    def append(self, entries: Sequence[Entry]) -> list[Stored | Clash]:
        """Store entries in one batch, or raise `StorageError` with nothing stored."""
        ...


class Log(Protocol):
    """The record as it can be read."""

    def since(self, seq: int = 0, run: RunId | None = None) -> list[Stored]:
        """What was stored after number `seq`, in order."""
        ...


class Directory(Protocol):
    """Who and what there is: events, teams, people, run plans, links, postings."""

    def events(self) -> list[Event]:
        """Every event."""
        ...

    def teams(self) -> list[Team]:
        """Every team of the meet."""
        ...

    def people(self) -> list[Person]:
        """Everybody who signs entries."""
        ...

    def plans(self, event: str) -> list[RunPlan]:
        """The runs of an event, in the order of the day."""
        ...

    def link(self, link: str) -> Link | None:
        """A sign-in link, revoked or not."""
        ...

    def add(self, *values: Event | Team | Person | RunPlan | Link) -> None:
        """Add values in this order, all or none."""
        ...

    def revoke(self, link: str, at: int) -> Link:
        """End a link."""
        ...

    def links(self, event: str) -> list[Link]:
        """An event's sign-in links."""
        ...

    def secret(self) -> bytes:
        """The server's secret, always the same."""
        ...

    def add_posting(  # noqa: PLR0913 - a posting has these parts
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
        """Freeze standings under the event's next number."""
        ...

    def latest_posting(self, event: str) -> Posting | None:
        """The event's last posting."""
        ...


class Announcer(Protocol):
    """Tells screens that there is something to fetch. It may fail: they fetch it later."""

    def reached(self, event: str, run: RunId, seq: int, *, moved: bool) -> None:
        """The record of a run has reached a number; `moved`: its clock or stage may have."""
        ...

    def posted(self, event: str, number: int) -> None:
        """An event has a new posting."""
        ...

    def revoked(self, link: str) -> None:
        """A sign-in link signs nobody in any more."""
        ...
