"""Connections: who is on the line, and each message to its answer."""

from dataclasses import replace
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

    def message(name: str, sid: str, *data: Any) -> dict[str, Any]:
        def actor() -> Actor:
            # The directory is asked each time: a link may have been revoked a moment ago.
            return actor_of(directory, links.get(sid))

        def join(run: RunId) -> None:
            server.enter_room(sid, run_room(run))

        return answer(replace(desk, join=join), actor, name, *data)

    server: Any = socketio.server  # type: ignore[attr-defined] # Not in the stubs.
    socketio.on_event("connect", connected)
    socketio.on_event("disconnect", disconnected)
    # Not through Flask, whose request context is half the cost of a message and of no use to one.
    server.on("*", message)


def _sid() -> str:
    return str(request.sid)  # type: ignore[attr-defined] # Flask-SocketIO adds it
