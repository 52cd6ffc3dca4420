"""Plays a demo event: a client for each person, marking over real websockets as the script says."""

import http.client
import time
from collections import deque
from collections.abc import Callable, Container, Mapping
from dataclasses import dataclass
from typing import Any, Final
from urllib.parse import urlsplit

import socketio

from scoring import Entry, PersonId, Signal, WatchReading, encode
from web.demo_event import DemoEvent
from web.errors import ConflictError
from web.values import Role

#: How long an answer may take, in seconds.
_PATIENCE: Final = 30
#: What a tablet sends at once when it has fallen behind.
_BATCH: Final = 50


class Tablet:
    """One person's signed-in connection to a server."""

    def __init__(self, address: str) -> None:
        parts = urlsplit(address)
        cookie = _sign_in(parts.netloc, parts.path)
        self._client = socketio.Client(reconnection=True, logger=False, engineio_logger=False)
        self._client.connect(
            f"http://{parts.netloc}", headers={"Cookie": cookie}, transports=["websocket"]
        )

    def ask(self, message: str, **data: Any) -> dict[str, Any]:
        """The reply to a message; a refusal raises `ConflictError` with its sentence."""
        answer = self._client.call(message, data, timeout=_PATIENCE)
        if not answer["ok"]:
            raise ConflictError(answer["error"]["says"], answer["error"]["code"])
        reply: dict[str, Any] = answer["reply"]
        return reply

    def observe(self, entries: list[Entry]) -> None:
        """Send entries; one that is refused raises `ConflictError`."""
        for result in self.ask("observe", entries=[encode(entry) for entry in entries])["results"]:
            if not result["ok"]:
                raise ConflictError(f"{result['id']}: {result['error']['says']}")

    def close(self) -> None:
        """Hang up."""
        self._client.disconnect()


@dataclass(frozen=True, slots=True)
class Progress:
    """How far the play has come, for whoever shows it."""

    played: int
    of: int


def play(
    day: DemoEvent,
    addresses: Mapping[tuple[PersonId, Role], str],
    pace: int | None,
    tell: Callable[[Progress], object],
) -> None:
    """Play the whole day, `pace` times faster than real, or as fast as it goes where it is None.

    `addresses` are the sign-in addresses by person and role. The head judge posts provisional
    standings after each run and official ones at the end.
    """
    tablets = {who: Tablet(address) for who, address in addresses.items()}
    head = next(tablet for (_, role), tablet in tablets.items() if role is Role.HEAD)
    try:
        _play(day, tablets, head, pace, tell)
        head.ask("publish", standing="official", reason="End of the demo day.")
    finally:
        for tablet in tablets.values():
            tablet.close()


def _play(
    day: DemoEvent,
    tablets: Mapping[tuple[PersonId, Role], Tablet],
    head: Tablet,
    pace: int | None,
    tell: Callable[[Progress], object],
) -> None:
    hello = head.ask("hello")
    length = max((entry.at for entry in day.entries(0)), default=0)
    # As fast as it goes, the day is one that has just ended; else it begins now.
    began = hello["now"] - (length if pace is None else 0)
    clock = time.monotonic()
    waiting = deque(day.entries(began))
    last = {run.script[-1].id for run in day.runs if run.script}
    total = len(waiting)
    while waiting:
        first = waiting[0]
        if pace is not None:
            due = clock + (first.at - began) / 1000 / pace
            time.sleep(max(0.0, due - time.monotonic()))
        batch = [waiting.popleft()]
        maker = _maker(first, tablets)
        while (
            waiting and _maker(waiting[0], tablets) == maker and _together(batch, waiting[0], pace)
        ):
            batch.append(waiting.popleft())
        tablets[maker].observe(batch)
        tell(Progress(total - len(waiting), total))
        if any(entry.id in last for entry in batch):
            head.ask("publish", standing="provisional")


def _together(batch: list[Entry], entry: Entry, pace: int | None) -> bool:
    """Whether an entry of the same tablet goes with the ones before it: it is already due."""
    return len(batch) < _BATCH and (pace is None or entry.at == batch[0].at)


def _maker(entry: Entry, tablets: Container[tuple[PersonId, Role]]) -> tuple[PersonId, Role]:
    """Whose tablet an entry comes from; who has two takes the clock's for the clock."""
    timed = isinstance(entry.what, Signal | WatchReading)
    roles = (Role.TIMEKEEPER, Role.JUDGE) if timed else (Role.JUDGE, Role.TIMEKEEPER)
    return next(
        ((entry.by, role) for role in roles if (entry.by, role) in tablets), (entry.by, Role.HEAD)
    )


def _sign_in(server: str, path: str) -> str:
    """The cookie that a sign-in address gives."""
    connection = http.client.HTTPConnection(server, timeout=_PATIENCE)
    try:
        connection.request("GET", path)
        cookie = connection.getresponse().headers["Set-Cookie"]
    finally:
        connection.close()
    if cookie is None:
        raise ConflictError("The sign-in link was not accepted.")
    return cookie.partition(";")[0]
