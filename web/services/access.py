"""Who may do what: the one place that decides it.

Nothing is open by default: whoever asks is the holder of a sign-in link that has not been revoked.
"""

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from scoring import (
    OBSERVATIONS,
    Addition,
    CloseOut,
    Count,
    Entry,
    Given,
    Mark,
    Measured,
    Moved,
    PersonId,
    PostId,
    Rulebook,
    Ruling,
    Signal,
    SignalName,
    Signature,
    StatusRuling,
    TeamId,
    TimeBack,
    Value,
    WatchReading,
    What,
    Withdrawal,
)
from web.errors import ForbiddenError, NotSignedInError
from web.services.ports import Directory
from web.values import Link, Role


class Action(StrEnum):
    """What a person may ask of an event."""

    SEE_RUNS = "see the runs"
    SEE_FINDINGS = "see findings and live standings"
    PUBLISH = "post standings"
    EXPORT = "download the standings"
    SEE_PAPER = "read the rulebook and print its sheets"
    SEE_LINKS = "see and renew sign-in links"
    SEE_BOARD = "see what is posted"
    SEE_OWN_SHEET = "see the team's own sheet"


#: Which entries each role makes. A danger stop is open to all of them.
_MAKES: Final[dict[Role, tuple[type[What], ...]]] = {
    Role.JUDGE: (*OBSERVATIONS, CloseOut, Signature, Withdrawal),
    Role.TIMEKEEPER: (Signal, WatchReading, *OBSERVATIONS, CloseOut, Withdrawal),
    Role.HEAD: (
        Mark,
        Count,
        Moved,
        Measured,
        Value,
        Given,
        Signal,
        Ruling,
        Addition,
        TimeBack,
        StatusRuling,
        Signature,
        Withdrawal,
    ),
    Role.CAPTAIN: (),
    Role.BOARD: (),
}
_MAY: Final[dict[Action, frozenset[Role]]] = {
    Action.SEE_RUNS: frozenset({Role.HEAD, Role.TIMEKEEPER, Role.JUDGE}),
    Action.SEE_FINDINGS: frozenset({Role.HEAD}),
    Action.PUBLISH: frozenset({Role.HEAD}),
    Action.EXPORT: frozenset({Role.HEAD}),
    Action.SEE_PAPER: frozenset({Role.HEAD}),
    Action.SEE_LINKS: frozenset({Role.HEAD}),
    Action.SEE_BOARD: frozenset(Role),
    Action.SEE_OWN_SHEET: frozenset({Role.CAPTAIN}),
}


@dataclass(frozen=True, slots=True)
class Actor:
    """The holder of a live link: who asks."""

    link: str
    person: PersonId
    role: Role
    event: str
    post: PostId | None
    team: TeamId | None

    def may(self, action: Action) -> bool:
        """Whether this role may do it at its own event."""
        return self.role in _MAY[action]

    def must(self, action: Action) -> None:
        """Nothing, or `ForbiddenError`."""
        if not self.may(action):
            raise ForbiddenError(f"A {self.role} may not {action}.")


def actor_of(directory: Directory, link_id: str | None) -> Actor:
    """Who holds a link, as the directory knows it now; raises `NotSignedInError`."""
    link: Link | None = directory.link(link_id) if link_id else None
    if link is None:
        raise NotSignedInError("Open your sign-in link first.")
    if link.revoked_at is not None:
        raise NotSignedInError("This sign-in link has been revoked; ask for a new one.")
    return Actor(link.id, link.person, link.role, link.event, link.post, link.team)


def check_entry(actor: Actor, entry: Entry, book: Rulebook, target: Entry | None) -> None:
    """Whether the actor may make this entry; `target` is what a withdrawal takes back.

    Raises `ForbiddenError`.
    """
    what = entry.what
    if entry.by != actor.person or entry.post != actor.post:
        raise ForbiddenError("An entry is signed by who makes it, for the post they are placed at.")
    danger = isinstance(what, Signal) and what.signal is SignalName.DANGER
    if not isinstance(what, _MAKES[actor.role]) and not (danger and actor.may(Action.SEE_RUNS)):
        raise ForbiddenError(f"A {actor.role} may not make this kind of entry.")
    # What no post has seen the head judge answers, whichever post it was to be seen from.
    anywhere = actor.role is Role.HEAD
    if isinstance(what, OBSERVATIONS) and not (
        anywhere or actor.post in book.rules[what.rule].posts
    ):
        raise ForbiddenError(f"'{what.rule}' is not watched by your post.")
    own = target is None or target.by == actor.person
    if isinstance(what, Withdrawal) and not own and actor.role is not Role.HEAD:
        raise ForbiddenError("Only who made an entry, or the head judge, may withdraw it.")


def may_see(actor: Actor, entry: Entry) -> bool:
    """Whether the actor's screen holds this entry: the head judge's all, a judge's own post's."""
    return (
        actor.role is Role.HEAD
        or isinstance(entry.what, Signal)
        or (actor.may(Action.SEE_RUNS) and entry.post is not None and entry.post == actor.post)
    )
