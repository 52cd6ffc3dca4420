"""Many websocket clients in a process of their own, and what they measured.

They speak the frames of Engine.IO 4 and Socket.IO 5 themselves, with the least work a message,
so that one core of clients can keep one core of server busy.
Closed loop (`rate` is None): a client sends its next message when its last one is answered.
Open loop (`rate` is a number): messages leave at that steady rate, whatever the answers do.

Sources: RFC 6455 (frames), the Engine.IO and Socket.IO protocol documents (packets).
"""

import asyncio
import base64
import json
import math
import os
import struct
import sys
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from functools import partial
from multiprocessing import get_context
from pathlib import Path
from subprocess import PIPE, Popen
from time import perf_counter
from typing import IO, Final

HOST: Final = "127.0.0.1"
CONNECT_SECONDS: Final = 30
#: What is still unanswered this long after the last message left stays unanswered.
GRACE_SECONDS: Final = 10
_ROOT: Final = Path(__file__).parents[2]
_TEXT_FRAME: Final = 0x81
_MASKED: Final = 0x80
#: On loopback there is no proxy to protect, and a mask of zeros costs the clients nothing.
_MASK: Final = bytes(4)


def a_small_message(client: int, n: int) -> object:
    """Return a payload of about the size of one observation."""
    return {"client": client, "n": n, "text": "x" * 160}


def no_headers(_client: int) -> Mapping[str, str]:
    """Send nothing beside what a websocket needs."""
    return {}


def no_auth(_client: int) -> object:
    """Show nothing on connecting."""
    return None


@dataclass(frozen=True)
class Load:
    """What the clients do; the callables are a module's own, as they go to another process.

    `payload(client, n)` is the JSON value of a client's n-th message, both from 0.
    `headers(client)` and `auth(client)` are shown on connecting; a cookie is a header.
    It ends after `messages` in all or after `seconds`, whichever comes first.
    An answer without the text `expect` in it counts as refused.
    """

    port: int
    clients: int
    seconds: float
    messages: int = 1_000_000
    rate: float | None = None
    event: str = "echo"
    payload: Callable[[int, int], object] = a_small_message
    headers: Callable[[int], Mapping[str, str]] = no_headers
    auth: Callable[[int], object] = no_auth
    expect: str = ""


@dataclass(frozen=True)
class Report:
    """What the clients measured, in seconds; a latency runs from the sending to the answer."""

    answered: int
    refused: int
    unanswered: int
    #: Events that the server pushed.
    heard: int
    #: From the first message to the last answer.
    seconds: float
    #: The worst lag behind the offered rate: where it is long, the clients were the bottleneck.
    late: float
    latencies: tuple[float, ...] = field(repr=False)

    @property
    def per_second(self) -> float:
        """Answers a second."""
        return self.answered / self.seconds

    @property
    def p50(self) -> float:
        """The latency that half of the answers keep within."""
        return self.percentile(50)

    @property
    def p99(self) -> float:
        """The latency that 99 in 100 answers keep within."""
        return self.percentile(99)

    def percentile(self, percent: float) -> float:
        """Return the nearest-rank percentile of the latencies."""
        return sorted(self.latencies)[math.ceil(len(self.latencies) * percent / 100) - 1]


def run(load: Load) -> Report:
    """Put a load on the server at a loopback port, from a new process."""
    with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as process:
        return process.submit(_measure, load).result()


@contextmanager
def launched(*module: str, stderr: IO[str] | None = None) -> Iterator[tuple[Popen[str], int]]:
    """Run a module that serves, with its arguments; give it and the port that it prints first."""
    command = [sys.executable, "-m", *module]
    with Popen(command, cwd=_ROOT, stdout=PIPE, stderr=stderr, text=True) as server:
        try:
            assert server.stdout is not None
            yield server, int(server.stdout.readline())
        finally:
            server.kill()


def _measure(load: Load) -> Report:
    return asyncio.run(_Crowd(load).measure())


class _Crowd:
    """The clients of one load, and what they have done together."""

    def __init__(self, load: Load) -> None:
        self.load = load
        self.sent = self.waiting = self.refused = self.heard = 0
        self.late = self.last_answer = 0.0
        self.ends_at = math.inf
        self.latencies: list[float] = []
        self.unready = load.clients
        self.clients = [_Client(self, number) for number in range(load.clients)]
        #: Done when every client is connected; then anew when every answer is there.
        self.step: asyncio.Future[None]

    @property
    def over(self) -> bool:
        return self.sent >= self.load.messages or perf_counter() >= self.ends_at

    async def measure(self) -> Report:
        loop = asyncio.get_running_loop()
        self.step = loop.create_future()
        async with asyncio.timeout(CONNECT_SECONDS):
            for client in self.clients:
                await loop.create_connection(partial(_itself, client), HOST, self.load.port)
            await self.step
        self.step = loop.create_future()
        started = perf_counter()
        self.ends_at = started + self.load.seconds
        # What is still missing when the time is up, the report says.
        with suppress(TimeoutError):
            async with asyncio.timeout(self.load.seconds + GRACE_SECONDS):
                await (self._ask_all() if self.load.rate is None else self._offer(self.load.rate))
                await self.step
        if not self.latencies:
            raise ConnectionError("No message was answered.")
        return Report(
            answered=len(self.latencies),
            refused=self.refused,
            unanswered=self.waiting,
            heard=self.heard,
            seconds=self.last_answer - started,
            late=self.late,
            latencies=tuple(self.latencies),
        )

    async def _ask_all(self) -> None:
        for client in self.clients:
            if not self.over:
                client.ask()

    async def _offer(self, rate: float) -> None:
        """Send what is due, each client in its turn, until it is over."""
        started = perf_counter()
        while not self.over:
            early = started + self.sent / rate - perf_counter()
            await asyncio.sleep(max(0, early))
            self.late = max(self.late, -early)
            self.clients[self.sent % len(self.clients)].ask()
        self.advance_if(ready=not self.waiting)

    def advance_if(self, *, ready: bool) -> None:
        if ready and not self.step.done():
            self.step.set_result(None)

    def fail(self, sentence: str) -> None:
        if not self.step.done():
            self.step.set_exception(ConnectionError(sentence))


class _Client(asyncio.Protocol):
    """One websocket."""

    transport: asyncio.Transport

    def __init__(self, crowd: _Crowd, number: int) -> None:
        self.crowd, self.number = crowd, number
        self.asked = 0
        #: Number of a message → when it was sent.
        self.sent_at: dict[int, float] = {}
        self.buffer = b""
        self.upgraded = False

    def ask(self) -> None:
        crowd, load = self.crowd, self.crowd.load
        message = json.dumps([load.event, load.payload(self.number, self.asked)])
        self.sent_at[self.asked] = perf_counter()
        self.transport.write(_frame(f"42{self.asked}{message}"))
        self.asked += 1
        crowd.sent += 1
        crowd.waiting += 1

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        assert isinstance(transport, asyncio.Transport)
        self.transport = transport
        headers = {
            "Host": f"{HOST}:{self.crowd.load.port}",
            "Connection": "Upgrade",
            "Upgrade": "websocket",
            "Sec-WebSocket-Version": "13",
            "Sec-WebSocket-Key": base64.b64encode(os.urandom(16)).decode(),
            **self.crowd.load.headers(self.number),
        }
        lines = [f"{name}: {value}" for name, value in headers.items()]
        request = ["GET /socket.io/?EIO=4&transport=websocket HTTP/1.1", *lines, "", ""]
        transport.write("\r\n".join(request).encode())

    def connection_lost(self, exc: Exception | None) -> None:
        self.crowd.fail(f"Client {self.number} lost its connection: {exc or 'closed'}.")

    def data_received(self, data: bytes) -> None:
        self.buffer += data
        if not self.upgraded:
            head, end, rest = self.buffer.partition(b"\r\n\r\n")
            if not end:
                return
            if b" 101 " not in head.split(b"\r\n")[0]:
                self.crowd.fail(f"Client {self.number} was refused: {self.buffer!r}.")
                return
            self.upgraded, self.buffer = True, rest
        while packet := self._next_packet():
            self._take(packet)

    def _next_packet(self) -> str:
        """Cut the first whole frame off the buffer and return its text; none gives ""."""
        buffer = self.buffer
        if len(buffer) < 2:
            return ""
        start, size = 2, buffer[1]
        if size == 126:
            start, size = 4, int.from_bytes(buffer[2:4])
        elif size == 127:
            start, size = 10, int.from_bytes(buffer[2:10])
        if len(buffer) < start + size:
            return ""
        self.buffer = buffer[start + size :]
        if buffer[0] != _TEXT_FRAME:
            self.crowd.fail(f"Client {self.number} was sent {buffer[: start + size]!r}.")
            return ""
        return buffer[start : start + size].decode()

    def _take(self, packet: str) -> None:
        crowd = self.crowd
        match packet[:2]:
            case "43":
                self._take_answer(packet)
            case "42":
                crowd.heard += 1
            case "2":
                self.transport.write(_frame("3"))
            case "40":
                crowd.unready -= 1
                crowd.advance_if(ready=not crowd.unready)
            case start if start[0] == "0":
                auth = crowd.load.auth(self.number)
                self.transport.write(_frame("40" + ("" if auth is None else json.dumps(auth))))
            case _:
                crowd.fail(f"Client {self.number} was told {packet!r}.")

    def _take_answer(self, packet: str) -> None:
        crowd = self.crowd
        now = perf_counter()
        number, _, answer = packet[2:].partition("[")
        crowd.latencies.append(now - self.sent_at.pop(int(number)))
        crowd.last_answer = now
        crowd.waiting -= 1
        crowd.refused += crowd.load.expect not in answer
        if not crowd.over:
            if crowd.load.rate is None:
                self.ask()
        else:
            crowd.advance_if(ready=not crowd.waiting)


def _itself(client: _Client) -> _Client:
    return client


def _frame(text: str) -> bytes:
    """Return a text frame as a client sends it: masked."""
    payload = text.encode()
    size = len(payload)
    if size < 126:
        head = bytes((_TEXT_FRAME, _MASKED | size))
    elif size < 1 << 16:
        head = struct.pack("!BBH", _TEXT_FRAME, _MASKED | 126, size)
    else:
        head = struct.pack("!BBQ", _TEXT_FRAME, _MASKED | 127, size)
    return head + _MASK + payload
