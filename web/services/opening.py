"""Opening an event: who takes part is written down, the rulebook pinned, a link made for each."""

from collections.abc import Iterable
from dataclasses import replace

from scoring import Rulebook, read_rulebook
from web.errors import ConflictError
from web.services.links import new_link_id
from web.services.ports import Clock, Directory
from web.values import Event, Link, Person, Placement, Role, RunPlan, Team


def open_event(  # noqa: PLR0913, PLR0917 - an event has these parts
    directory: Directory,
    clock: Clock,
    event: Event,
    teams: Iterable[Team],
    people: Iterable[Person],
    placements: Iterable[Placement],
    plans: Iterable[RunPlan],
) -> None:
    """Write an event down, all or nothing, with a new sign-in link for each placement.

    Raises `RulebookError` for a rulebook that cannot be used and `ConflictError` for a placement at
    a post it does not have, or without the post or team that its role is about.
    """
    book = read_rulebook(event.rulebook, event.id)
    now = clock()
    links = []
    for placement in placements:
        _check(placement, book)
        links.append(
            Link(
                id=new_link_id(),
                person=placement.person,
                role=placement.role,
                event=event.id,
                post=placement.post,
                team=placement.team,
                made_at=now,
            )
        )
    opened = replace(event, opened_at=now)
    directory.add(opened, *teams, *people, *plans, *links)


def _check(placement: Placement, book: Rulebook) -> None:
    who, role = f"'{placement.person}'", placement.role
    if (placement.post is not None) != (role in {Role.JUDGE, Role.TIMEKEEPER}):
        raise ConflictError(f"{who}: a judge or timekeeper is placed at a post, nobody else is.")
    if (placement.team is not None) != (role is Role.CAPTAIN):
        raise ConflictError(f"{who}: a captain is placed with a team, nobody else is.")
    if placement.post is not None and placement.post not in book.posts:
        raise ConflictError(f"{who} is placed at '{placement.post}', which is no post.")
