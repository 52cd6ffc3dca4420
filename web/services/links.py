"""Sign-in links: what there is, and a new one for an old one that was lost."""

import secrets
from dataclasses import replace

from web.errors import ForbiddenError, NotFoundError
from web.services.access import Action, Actor
from web.services.ports import Announcer, Clock, Directory
from web.values import Link


def new_link_id() -> str:
    """An id that nobody guesses."""
    return secrets.token_urlsafe(12)


def live_links(directory: Directory, event: str) -> list[Link]:
    """An event's links that still sign somebody in."""
    return [link for link in directory.links(event) if link.revoked_at is None]


def renew(
    directory: Directory, announcer: Announcer, clock: Clock, actor: Actor, link_id: str
) -> Link:
    """Revoke a link at once and make another for the same person and place.

    Raises `ForbiddenError`, or `NotFoundError` where the event has no such live link.
    """
    actor.must(Action.SEE_LINKS)
    old = directory.link(link_id)
    if old is None or old.event != actor.event or old.revoked_at is not None:
        raise NotFoundError("There is no such sign-in link.")
    if old.id == actor.link:
        raise ForbiddenError(
            "You would lock yourself out; sign in by another link to renew this one."
        )
    now = clock()
    directory.revoke(old.id, now)
    announcer.revoked(old.id)
    new = replace(old, id=new_link_id(), made_at=now, revoked_at=None)
    directory.add(new)
    return new
