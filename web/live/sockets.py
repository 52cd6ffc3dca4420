"""Connections: who is on the line, and each message to its answer."""

from typing import Any

from flask import request, session
from flask_socketio import SocketIO, join_room

from scoring import RunId
from web.errors import AppError
from web.live.handlers import Desk
from web.live.messages import answer
from web.live.rooms import rooms_of, run_room
from web.services.access import Actor, actor_of
from web.services.ports import Directory

#: The key of the session under which the sign-in link's id is kept.
LINK = "link"


def join(run: RunId) -> None:
    """Let the screen that asks hear of a run."""
    join_room(run_room(run))


def register(socketio: SocketIO, desk: Desk, directory: Directory) -> None:
    """Answer every message of every connection."""
    links: dict[str, str] = {}

    def connected(_auth: Any) -> bool:
        # Flask-SocketIO accepts a connection whose handler raises TypeError; so nothing may raise.
        try:
            actor = actor_of(directory, session.get(LINK))
        except AppError:
            return False
        links[_sid()] = actor.link
        for room in rooms_of(actor):
            join_room(room)
        return True

    def disconnected(_reason: Any) -> None:
        links.pop(_sid(), None)

    def message(name: str, *data: Any) -> dict[str, Any]:
        def actor() -> Actor:
            # The directory is asked each time: a link may have been revoked a moment ago.
            return actor_of(directory, links.get(_sid()))

        return answer(desk, actor, name, *data)

    socketio.on_event("connect", connected)
    socketio.on_event("disconnect", disconnected)
    socketio.on_event("*", message)


def _sid() -> str:
    return str(request.sid)  # type: ignore[attr-defined] # Flask-SocketIO adds it
