"""A served meet in a process of its own, and the screens of its people over real websockets."""

import json
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from http.client import HTTPConnection
from pathlib import Path
from typing import Any, Final
from urllib.parse import urlsplit

from websocket import WebSocket, create_connection

from scoring import Entry, encode
from tests.house.tree import ROOT

SOCKET: Final = "/socket.io/?EIO=4&transport=websocket"
#: More than any answer takes, in seconds.
PATIENCE: Final = 30
#: What a message, an announcement and a page that failed leave in the server's log.
FAILURES: Final = ("Traceback", "could not be answered", "an announcement was lost")


@dataclass(frozen=True)
class Served:
    """A running server: where it is, and each person's sign-in address."""

    process: subprocess.Popen[str]
    host: str
    addresses: Mapping[str, str]

    def cookie(self, person: str) -> str:
        """The session cookie of a person who opens their link."""
        connection = HTTPConnection(self.host, timeout=PATIENCE)
        connection.request("GET", urlsplit(self.addresses[person]).path)
        answer = connection.getresponse()
        cookie = answer.headers["Set-Cookie"]
        connection.close()
        assert answer.status == 302
        return str(cookie).partition(";")[0]


@contextmanager
def serving(database: Path, *options: str) -> Iterator[Served]:
    """Serve a database on a free port; an own failure in its log fails the test."""
    line = [sys.executable, "-m", "web", "serve", str(database), "--port", "0", "--json"]
    with (
        tempfile.TemporaryFile("w+", encoding="utf-8") as complaints,
        subprocess.Popen(
            [*line, *options], stdout=subprocess.PIPE, stderr=complaints, text=True, cwd=ROOT
        ) as process,
    ):
        try:
            assert process.stdout is not None
            ready = json.loads(process.stdout.readline() or "{}")
            if ready:
                yield Served(
                    process,
                    urlsplit(ready["address"]).netloc,
                    {link["person"]: link["address"] for link in ready["links"]},
                )
        finally:
            process.terminate()
            process.wait(PATIENCE)
            complaints.seek(0)
            said = complaints.read()
        assert not [sentence for sentence in FAILURES if sentence in said], said


class Screen:
    """A person's connection. It reads when it asks or listens; pushes wait in `told`."""

    def __init__(self, served: Served, person: str, cookie: str | None = None) -> None:
        self.ws: WebSocket = create_connection(
            f"ws://{served.host}{SOCKET}",
            timeout=PATIENCE,
            cookie=served.cookie(person) if cookie is None else cookie,
        )
        self.told: list[tuple[str, Any]] = []
        self._asked = 0
        assert self.packet().startswith("0")
        self.ws.send("40")
        self.greeting = self.packet()

    def packet(self) -> str:
        """The next packet that is no ping."""
        while True:
            received = self.ws.recv()
            assert isinstance(received, str)
            if received != "2":
                return received
            self.ws.send("3")

    def ask(self, message: str, *data: object) -> dict[str, Any]:
        """The answer to a message."""
        return self.ask_raw(json.dumps([message, *data]))

    def ask_raw(self, event: str) -> dict[str, Any]:
        """The answer to an event as it goes over the wire, name and data in one JSON list."""
        self._asked += 1
        self.ws.send(f"42{self._asked}{event}")
        while True:
            packet = self.packet()
            if packet.startswith(f"43{self._asked}["):
                answer: dict[str, Any]
                (answer,) = json.loads(packet.removeprefix(f"43{self._asked}"))
                return answer
            self._keep(packet)

    def reply(self, message: str, *data: object) -> dict[str, Any]:
        """What an answer says that is no refusal."""
        answer = self.ask(message, *data)
        assert answer["ok"], answer
        reply: dict[str, Any] = answer["reply"]
        return reply

    def observe(self, *entries: Entry) -> list[dict[str, Any]]:
        """What became of each entry."""
        results: list[dict[str, Any]]
        results = self.reply("observe", {"entries": [encode(each) for each in entries]})["results"]
        return results

    def hear(self, name: str) -> Any:
        """The next push of this name, in order; others before it are passed over."""
        while True:
            while self.told:
                heard, data = self.told.pop(0)
                if heard == name:
                    return data
            self._keep(self.packet())

    def hears_nothing_more(self) -> bool:
        """Whether no push waits: what was told before the server answers is read by then."""
        time.sleep(0.1)
        self.told.clear()
        self.ask("time", {"sent": 0})
        return not self.told

    def close(self) -> None:
        """Hang up."""
        self.ws.close()

    def _keep(self, packet: str) -> None:
        assert packet.startswith("42"), packet
        name, data = json.loads(packet.removeprefix("42"))
        self.told.append((name, data))


@contextmanager
def screen(served: Served, person: str) -> Iterator[Screen]:
    """A person's screen, hung up at the end."""
    shown = Screen(served, person)
    try:
        yield shown
    finally:
        shown.close()


def now() -> int:
    """The time of day, as a tablet whose clock is right has it."""
    return time.time_ns() // 1_000_000
