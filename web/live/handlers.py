"""What each message does: ask the services, give the reply. One function a message."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from scoring import RunId, Stage
from web.live.views import (
    assessed_view,
    card_view,
    official_view,
    questions_view,
    rulebook_view,
    run_view,
    stored_view,
)
from web.services.access import Action, Actor
from web.services.intake import Intake
from web.services.ports import Clock
from web.services.postings import Postings, row
from web.services.runs import Runs
from web.values import Role, Standing


def nowhere(_run: RunId) -> None:
    """Who asks without a socket hears of nothing."""


@dataclass(frozen=True, slots=True)
class Desk:
    """The services that messages ask, the server's clock and its pace, and the door to rooms."""

    runs: Runs
    intake: Intake
    postings: Postings
    clock: Clock
    pace: int
    join: Callable[[RunId], None] = nowhere


def hello(desk: Desk, actor: Actor) -> dict[str, Any]:
    """Who the screen is for, the rulebook it works by and the runs of the day."""
    runs, event = desk.runs, desk.runs.events[actor.event]
    book = runs.book(event.id)
    person = runs.people.get(actor.person)
    reply: dict[str, Any] = {
        "me": {
            "person": actor.person,
            "name": person.name if person is not None else actor.person,
            "role": actor.role,
            "post": actor.post,
            "team": actor.team,
        },
        "event": {
            "id": event.id,
            "title": event.title,
            "edition": book.edition,
            "hash": event.hash,
            "language": book.language,
            "cautions": list(book.cautions),
        },
        "now": desk.clock(),
        "pace": desk.pace,
    }
    if actor.may(Action.SEE_RUNS):
        reply |= rulebook_view(book, None if actor.role is Role.HEAD else actor.post)
        reply["runs"] = [run_view(runs, plan) for plan in runs.of_event(event.id)]
    return reply


def time(desk: Desk, actor: Actor, sent: float) -> dict[str, Any]:  # noqa: ARG001 - anyone signed in
    """The server's two timestamps of the four (RFC 5905)."""
    return {"sent": sent, "received": desk.clock(), "answered": desk.clock()}


def follow(desk: Desk, actor: Actor, run: str, since: int) -> dict[str, Any]:
    """A run as far as the actor may see it, from a number on, and news of it from now on."""
    actor.must(Action.SEE_RUNS)
    plan = desk.runs.plan(run, actor)
    desk.join(plan.id)
    return {
        "run": run_view(desk.runs, plan),
        "entries": [stored_view(each) for each in desk.runs.record(plan.id, actor, since)],
        "reached": desk.runs.reached(plan.id),
    }


def observe(desk: Desk, actor: Actor, entries: list[dict[str, Any]]) -> dict[str, Any]:
    """What became of each entry: its number, or why it was refused."""
    actor.must(Action.SEE_RUNS)
    return {
        "results": [
            {"id": each.id, "ok": True, "seq": each.seq}
            if each.error is None
            else {"id": each.id, "ok": False, "error": each.error.shape()}
            for each in desk.intake.observe(actor, entries)
        ]
    }


def card(desk: Desk, actor: Actor, run: str) -> dict[str, Any]:
    """The scorecard of a run for the head judge; for others what the own post has left open.

    A timekeeper also sees what the watches came to, and a judge what an assessment came to once
    every post has closed out.
    """
    actor.must(Action.SEE_RUNS)
    plan = desk.runs.plan(run, actor)
    if actor.may(Action.SEE_FINDINGS):
        return {"run": run_view(desk.runs, plan), "scorecard": card_view(desk.runs, plan)}
    book, scorecard = desk.runs.book(plan.event), desk.runs.card(plan.id)
    own = frozenset(rule.id for rule in book.rules.values() if actor.post in rule.posts)
    shown: dict[str, Any] = {"stage": scorecard.stage, "questions": questions_view(scorecard, own)}
    if actor.role is Role.TIMEKEEPER:
        shown["official"] = official_view(scorecard)
    if scorecard.stage is Stage.CLOSED and actor.role is Role.JUDGE:
        shown["assessed"] = assessed_view(desk.runs, scorecard)
    return {"run": run_view(desk.runs, plan), "scorecard": shown}


def standings(desk: Desk, actor: Actor) -> dict[str, Any]:
    """The live standings, for the head judge only."""
    actor.must(Action.SEE_FINDINGS)
    book = desk.runs.book(actor.event)
    return {"rows": [row(place, book) for place in desk.runs.standings(actor.event)]}


def publish(desk: Desk, actor: Actor, standing: Standing, reason: str) -> dict[str, Any]:
    """Post the standings."""
    return {"number": desk.postings.publish(actor, standing, reason).number}


def board(desk: Desk, actor: Actor) -> dict[str, Any]:
    """What is posted, for everyone at the event."""
    posting = desk.postings.latest(actor)
    if posting is None:
        return {"posting": None}
    return {
        "posting": {
            "number": posting.number,
            "standing": posting.standing,
            "posted_at": posting.posted_at,
            "title": desk.runs.events[posting.event].title,
            **posting.content,
        }
    }
