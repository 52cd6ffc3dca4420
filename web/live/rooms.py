"""Who hears of what: rooms, connections and the announcer."""

import logging
from collections.abc import Mapping
from typing import Any, Final

import gevent
from flask_socketio import SocketIO

from scoring import RunId
from web.live.views import run_view
from web.services.access import Action, Actor
from web.services.runs import Runs

_LOG: Final = logging.getLogger(__name__)
#: Announcements of one run this close together become one, in seconds.
_TOGETHER: Final = 0.02


def run_room(run: RunId) -> str:
    """The room of those who follow a run."""
    return f"run {run}"


def _link_room(link: str) -> str:
    return f"link {link}"


def rooms_of(actor: Actor) -> list[str]:
    """The rooms a screen belongs in from the start."""
    rooms = [f"event {actor.event}", _link_room(actor.link)]
    if actor.may(Action.SEE_RUNS):
        rooms.append(f"staff {actor.event}")
    if actor.may(Action.SEE_FINDINGS):
        rooms.append(f"desk {actor.event}")
    return rooms


class SocketAnnouncer:
    """Tells rooms what there is to fetch, after the answer to who caused it, and never fails them.

    Several entries of one run close together are one announcement: it only says how far the record
    has come.
    """

    def __init__(self, socketio: SocketIO) -> None:
        self._socketio = socketio
        self._waiting: dict[RunId, tuple[str, int]] = {}
        self._moved: set[RunId] = set()
        self._stages: dict[RunId, str] = {}
        self.runs: Runs | None = None

    def reached(self, event: str, run: RunId, seq: int, *, moved: bool) -> None:
        """Say soon that a run's record has reached a number, and its stage where that may move."""
        if not self._waiting:
            gevent.spawn_later(_TOGETHER, self._say)
        self._waiting[run] = (event, seq)
        if moved:
            self._moved.add(run)

    def posted(self, event: str, number: int) -> None:
        """Say that there is a new posting."""
        gevent.spawn(self._emit, "posted", {"number": number}, f"event {event}")

    def revoked(self, link: str) -> None:
        """End the connections of a link that signs nobody in any more."""
        server: Any = self._socketio.server  # type: ignore[attr-defined] # Not in the stubs.
        for sid, _ in list(server.manager.get_participants("/", _link_room(link))):
            gevent.spawn(server.disconnect, sid)

    def _say(self) -> None:
        waiting, self._waiting = self._waiting, {}
        moved, self._moved = self._moved, set()
        for run, (event, seq) in waiting.items():
            # One emit, so that a screen in both rooms hears it once.
            self._emit("reached", {"run": run, "seq": seq}, run_room(run), f"desk {event}")
            if run in moved:
                self._say_stage(run, event)

    def _say_stage(self, run: RunId, event: str) -> None:
        """Tell judges and timekeepers when the clock of a run has moved."""
        if self.runs is None:
            return
        line = run_view(self.runs, self.runs.plans[run])
        clock = str({key: line[key] for key in ("stage", "started_at", "stopped_at", "holds")})
        if self._stages.get(run) != clock:
            self._stages[run] = clock
            self._emit("stage", {"run": line}, f"staff {event}")

    def _emit(self, name: str, data: Mapping[str, Any], *rooms: str) -> None:
        try:
            self._socketio.emit(name, data, to=rooms)  # type: ignore[arg-type] # It takes several.
        except Exception:  # noqa: BLE001 - an announcement costs a screen a refetch, never an entry
            _LOG.exception("an announcement was lost; screens fetch it later")
