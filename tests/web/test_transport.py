"""The transport over real sockets, against a server in a process of its own."""

import json
import signal
import socket
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any

import pytest
from websocket import (
    ABNF,
    WebSocket,
    WebSocketException,
    create_connection,
)

from tests.benchmarks.clients import HOST, Load, launched, run
from web.live import transport

BIG = 3_000_000
#: Seconds between pings, and for their answer, where a test is about them.
BRISK = 1
PATH = "/socket.io/?EIO=4&transport=websocket"
#: More than a lost client may take to be noticed, its frame to time out and its session to end.
PATIENCE = 4 * (transport.PING_INTERVAL + transport.PING_TIMEOUT)


@dataclass
class Running:
    """A server process of a test."""

    process: subprocess.Popen[str]
    port: int
    log: IO[str]

    def sockets(self) -> int:
        """How many the process holds: each client that is not gone has two."""
        links = Path(f"/proc/{self.process.pid}/fd").iterdir()
        return sum("socket:" in str(link.readlink()) for link in links)

    def comes_down_to(self, sockets: int) -> bool:
        """Wait until no more are left than so many."""
        end = time.monotonic() + PATIENCE
        while (left := self.sockets()) > sockets and time.monotonic() < end:
            time.sleep(0.1)
        return left <= sockets

    def peak_megabytes(self) -> float:
        status = Path(f"/proc/{self.process.pid}/status").read_text(encoding="utf-8")
        return int(status.split("VmHWM:")[1].split()[0]) / 1024

    def logged(self) -> str:
        self.log.seek(0)
        return self.log.read()


class Guest:
    """One Socket.IO client that reads only when it is asked to."""

    def __init__(self, port: int, sock: socket.socket | None = None) -> None:
        if sock is not None:
            sock.connect((HOST, port))
        self.ws: WebSocket = create_connection(
            f"ws://{HOST}:{port}{PATH}", timeout=PATIENCE, socket=sock, skip_utf8_validation=True
        )
        self.asked = 0
        assert self.packet().startswith("0")
        self.ws.send("40")
        assert self.packet().startswith("40")

    def packet(self) -> str:
        """The next packet that is no ping."""
        while True:
            received = self.ws.recv()
            assert isinstance(received, str)
            if received != "2":
                return received
            self.ws.send("3")

    def ask(self, event: str, *arguments: object) -> Any:
        """Send an event and return the answer; events told meanwhile are passed over."""
        self.send(event, *arguments)
        while True:
            packet = self.packet()
            if packet.startswith(f"43{self.asked}["):
                (answer,) = json.loads(packet.removeprefix(f"43{self.asked}")) or [None]
                return answer

    def send(self, event: str, *arguments: object) -> None:
        self.asked += 1
        self.ws.send(f"42{self.asked}{json.dumps([event, *arguments])}")

    def raw(self, data: bytes) -> None:
        """Send bytes as they are."""
        assert self.ws.sock is not None
        self.ws.sock.sendall(data)

    def is_dropped(self) -> bool:
        """Read on until the server has ended the connection."""
        with suppress(WebSocketException, OSError):
            while True:
                self.packet()
        return True


class SlowSocket(socket.socket):
    """A phone at the edge of the network: small buffers, read in small bites."""

    def recv(self, size: int, flags: int = 0) -> bytes:
        time.sleep(0.001)
        return super().recv(min(size, 16_000), flags)


def small_buffers(kind: type[socket.socket] = socket.socket) -> socket.socket:
    sock = kind()
    sock.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 16_384)
    sock.settimeout(PATIENCE)
    return sock


@contextmanager
def guest(server: Running, sock: socket.socket | None = None) -> Iterator[Guest]:
    client = Guest(server.port, sock)
    try:
        yield client
    finally:
        client.ws.shutdown()  # type: ignore[no-untyped-call]


@contextmanager
def running(*arguments: str) -> Iterator[Running]:
    with (
        tempfile.TemporaryFile("w+", encoding="utf-8") as log,
        launched("tests.web.transport_server", *arguments, stderr=log) as (process, port),
    ):
        yield Running(process, port, log)


def python(program: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-c", program]
    return subprocess.run(command, capture_output=True, text=True, check=False)


@pytest.fixture(scope="module")
def server() -> Iterator[Running]:
    with running() as one:
        yield one
        assert "Traceback" not in one.logged()


@pytest.fixture
def brisk_server() -> Iterator[Running]:
    """A server that is not patient."""
    with running(str(BRISK)) as one:
        yield one
        assert "Traceback" not in one.logged()


@pytest.fixture
def own_server() -> Iterator[Running]:
    with running() as one:
        yield one
        assert "Traceback" not in one.logged()


@pytest.mark.parametrize("pings", [0, 200])
def test_a_slow_reader_gets_two_big_events_whole(server: Running, pings: int) -> None:
    """simple-websocket cuts them, and writes its answers to pings between their parts."""
    with guest(server, small_buffers(SlowSocket)) as slow, guest(server) as teller:
        slow.ask("join", "slow")
        teller.ask("tell", "slow", BIG, 2)
        for _ in range(pings):
            slow.ws.ping()
        told = [json.loads(slow.packet().removeprefix("42")) for _ in range(2)]
        assert told == [["told", "x" * BIG]] * 2
        assert slow.ask("echo", "still here") == "still here"


def test_a_stalled_reader_is_dropped_and_holds_up_nobody(own_server: Running) -> None:
    """500 MB are meant for it while 20 others talk."""
    before = own_server.sockets()
    load = Load(port=own_server.port, clients=20, seconds=5, rate=200)
    with guest(own_server) as teller, ThreadPoolExecutor(1) as others:
        report = others.submit(run, load)
        for _ in range(10):
            with guest(own_server, small_buffers()) as stalled:
                stalled.ask("join", "stalled")
                slowest = teller.ask("tell", "stalled", 100_000, 500)
                assert slowest < transport.PING_TIMEOUT
                assert stalled.is_dropped()
        assert report.result().unanswered == 0
    assert own_server.peak_megabytes() < 150
    assert own_server.comes_down_to(before)


def test_a_tight_loop_of_events_holds_no_more_than_the_bound(own_server: Running) -> None:
    with guest(own_server) as teller, guest(own_server, small_buffers()) as stalled:
        stalled.ask("join", "stalled")
        teller.ask("tell at once", "stalled", 100_000, 5_000)
        assert stalled.is_dropped()
    assert own_server.peak_megabytes() < 150


def test_a_reader_stalled_within_the_bound_is_dropped_in_time(brisk_server: Running) -> None:
    with guest(brisk_server) as teller:
        before = brisk_server.sockets()
        with guest(brisk_server, small_buffers()) as stalled:
            stalled.ask("join", "stalled")
            teller.ask("tell", "stalled", 5_000_000, 1)
            assert brisk_server.sockets() > before
            assert brisk_server.comes_down_to(before - 2)  # The teller does not read either.


def test_a_client_is_kept_while_it_answers_pings(brisk_server: Running) -> None:
    with guest(brisk_server) as answering, guest(brisk_server) as mute:
        for _ in range(4):
            assert answering.ws.recv() == "2"
            answering.ws.send("3")
        assert mute.ws.recv() == "2"
        assert mute.is_dropped()
        assert answering.ask("echo", 1) == 1


def test_many_small_events_for_a_stalled_reader_are_bounded_too(server: Running) -> None:
    with guest(server) as teller, guest(server, small_buffers()) as stalled:
        stalled.ask("join", "stalled")
        teller.ask("tell at once", "stalled", 1, transport.MOST_MESSAGES + 1)
        assert stalled.is_dropped()


def test_a_client_that_sends_without_pause_holds_up_nobody(own_server: Running) -> None:
    """It neither waits for answers nor reads them, and reconnects when it is dropped."""
    stop = threading.Event()
    frame = ABNF.create_frame('421["echo","x"]', ABNF.OPCODE_TEXT).format()

    def pester() -> None:
        while not stop.is_set():
            with suppress(OSError), guest(own_server) as pest:
                while not stop.is_set():
                    pest.raw(frame * 10_000)

    with ThreadPoolExecutor(1) as others:
        pestering = others.submit(pester)
        report = run(Load(port=own_server.port, clients=20, seconds=5, rate=200))
        stop.set()
        pestering.result()
    assert report.unanswered == 0
    assert own_server.peak_megabytes() < 150


def test_a_handler_that_waits_holds_up_only_its_own_client(server: Running) -> None:
    with guest(server) as waiting, guest(server) as other:
        waiting.send("wait")
        assert other.ask("echo", 1) == 1
        other.ask("open")
        assert waiting.packet() == '431["opened"]'


def test_the_events_of_one_client_are_handled_in_their_order(server: Running) -> None:
    with guest(server) as client:
        for n in range(100):
            client.send("echo", n)
        assert [client.packet() for _ in range(100)] == [f"43{n + 1}[{n}]" for n in range(100)]


@pytest.mark.parametrize("fragments", [1, 100])
def test_a_message_of_5_mb_is_refused(server: Running, fragments: int) -> None:
    """Whether in one frame or in many, the last of which never comes."""
    piece = "x" * (5_000_000 // fragments)
    with guest(server) as big, guest(server) as other:
        with suppress(OSError):
            for n in range(fragments):
                opcode = ABNF.OPCODE_CONT if n else ABNF.OPCODE_TEXT
                big.ws.send_frame(ABNF.create_frame(piece, opcode, int(fragments == 1)))
        assert big.is_dropped()
        assert other.ask("echo", 1) == 1


def test_a_message_just_within_the_bound_is_handled(server: Running) -> None:
    text = "x" * (transport.MOST_RECEIVED - len('421["echo", ""]'))
    with guest(server) as client:
        assert client.ask("echo", text) == text


@pytest.mark.parametrize(
    "packet",
    [
        '421["disconnect"]',
        '421["connect",{}]',
        '421["*","another"]',
        "421",
        "421[",
        "421[]",
        "421{}",
        "421[1]",
        '421[["echo"]]',
        '421"echo"',
        "421" + "[" * 100_000,
        "421[" + "9" * 100_000 + "]",
        '421["echo","\\ud8"]',
    ],
    ids=lambda packet: packet[:20],
)
def test_an_event_that_cannot_be_read_is_answered(server: Running, packet: str) -> None:
    with guest(server) as client:
        client.ws.send(packet)
        assert client.packet() == '431["cannot be read"]'
        assert client.ask("echo", 1) == 1


@pytest.mark.parametrize(
    "packet",
    [
        "",
        "x",
        "9",
        "²",
        "0",
        "2probe",
        "5",
        "6",
        "4",
        "4{}",
        '4["echo",1]',
        "44{}",
        '431["answer"]',
        '451-["echo",{"_placeholder":true,"num":0}]',
        '459999999999-["echo",{"_placeholder":true,"num":0}]',
        "bNDI=",
        b"42",
    ],
)
def test_what_is_no_packet_of_a_text_client_ends_its_connection(
    server: Running, packet: str | bytes
) -> None:
    with guest(server) as client, guest(server) as other:
        client.ws.send(packet, ABNF.OPCODE_TEXT if isinstance(packet, str) else ABNF.OPCODE_BINARY)
        assert client.is_dropped()
        assert other.ask("echo", 1) == 1


@pytest.mark.parametrize(
    "frame",
    [
        b"\x81\x02hi",  # Not masked.
        b"\xf1\x82\0\0\0\0hi",  # Reserved bits.
        b"\x83\x82\0\0\0\0hi",  # A reserved kind of frame.
        b"\x80\x82\0\0\0\0hi",  # A continuation of nothing.
        b"\x81\x82\0\0\0\0\xff\xff",  # No UTF-8.
        b"\x89\xfe\x10\0\0\0\0\0",  # A ping of 4096 bytes.
        b"\x88\x81\0\0\0\0x",  # A close with half a code.
        b"\x88\x82\0\0\0\0\0\0",  # A close with a code that is none.
        b"\x81\xff" + b"\xff" * 8,  # A length of 2**64 - 1.
        b"GET / HTTP/1.1\r\n\r\n",
    ],
)
def test_a_malformed_frame_ends_its_connection(server: Running, frame: bytes) -> None:
    """Source of what is malformed: RFC 6455, sections 5 and 7."""
    with guest(server) as client, guest(server) as other:
        client.raw(frame)
        assert client.is_dropped()
        assert other.ask("echo", 1) == 1


@pytest.mark.parametrize(
    ("request_text", "status"),
    [
        (f"GET {PATH} HTTP/1.1\r\nUpgrade: websocket\r\nConnection: Upgrade\r\n\r\n", b"400"),
        ("GET /socket.io/?EIO=4&transport=polling HTTP/1.1\r\n\r\n", b"400"),
        (f"GET {PATH}&sid=none HTTP/1.1\r\n\r\n", b"400"),
        ("hello\r\n\r\n", b"400"),
    ],
    ids=["no key", "polling", "unknown session", "no HTTP"],
)
def test_a_request_that_opens_no_websocket_is_refused(
    server: Running, request_text: str, status: bytes
) -> None:
    with socket.create_connection((HOST, server.port), timeout=PATIENCE) as sock:
        sock.sendall(request_text.encode())
        assert sock.recv(100).split()[1] == status


@pytest.mark.parametrize(
    "beginning", ["", f"GET {PATH} HTTP/1.1\r\nHost: ", "GET /big HTTP/1.1\r\n\r\n"]
)
def test_an_http_client_that_stalls_is_let_go(own_server: Running, beginning: str) -> None:
    """Whether it stalls before, within or after its request."""
    before = own_server.sockets()
    with small_buffers() as sock:
        sock.connect((HOST, own_server.port))
        sock.sendall(beginning.encode())
        while own_server.sockets() == before:
            time.sleep(0.01)
        assert own_server.comes_down_to(before)


def test_compression_is_declined(server: Running) -> None:
    header = ["Sec-WebSocket-Extensions: permessage-deflate"]
    ws = create_connection(f"ws://{HOST}:{server.port}{PATH}", header=header)
    assert "sec-websocket-extensions" not in (ws.getheaders() or {})
    ws.shutdown()  # type: ignore[no-untyped-call]


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_the_server_stops_when_told_whatever_its_clients_do(
    number: signal.Signals,
) -> None:
    with (
        running() as server,
        guest(server) as quiet,
        guest(server) as waiting,
        guest(server, small_buffers()) as stalled,
    ):
        waiting.send("wait")
        stalled.ask("join", "stalled")
        quiet.ask("tell", "stalled", 5_000_000, 1)
        server.process.send_signal(number)
        assert quiet.packet() == "1"
        assert server.process.wait(PATIENCE) == 0


def test_a_port_that_is_taken_is_an_error() -> None:
    with socket.create_server((HOST, 0)) as taken:
        done = python(
            "import flask; from web.live.transport import *; app = flask.Flask('x');"
            f"make_socketio(app); serve(app, {HOST!r}, {taken.getsockname()[1]}, print)"
        )
    assert done.stdout == ""
    assert "OSError" in done.stderr
    assert "in use" in done.stderr


def test_importing_the_transport_patches_nothing() -> None:
    done = python("import web.live.transport, gevent.monkey as m; print(m.saved)")
    assert done.stdout == "{}\n"
