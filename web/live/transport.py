"""Socket.IO over websockets on gevent's own server, mended where clients are slow or hostile.

Websocket is the only transport offered.
Several processes behind a proxy then need no sticky sessions, as long polling does,
and each client has one way in and one way out, each with its bound.

What a client may do, and what becomes of it:

- It stops reading: it is dropped once `MOST_MESSAGES` or `MOST_BYTES` wait for it, or once a
  frame takes as long as an unanswered ping. It connects again and fetches what it missed;
  the record is not concerned. Whoever emits never waits for it, and must itself pause before
  it has emitted as much: who can read, reads meanwhile.
- It sends faster than it is handled: nothing is read ahead, so its own sends wait.
- It sends more than `MOST_RECEIVED` bytes in one message, or what is no packet of a text client:
  it is dropped. An event that cannot be read arrives as the event `MALFORMED`.

The handlers of one client run one after another, in order; one that waits holds up no other
client. The client's answer to a ping waits behind them: one that takes `PING_TIMEOUT` loses it.
"""

import logging
import signal
import socket
import struct
from collections.abc import Callable, Iterable
from contextlib import suppress
from threading import Thread
from typing import TYPE_CHECKING, Any, Final

import gevent
from flask import Flask
from flask_socketio import SocketIO
from gevent.event import Event
from gevent.lock import BoundedSemaphore
from gevent.pool import Pool
from gevent.pywsgi import WSGIHandler, WSGIServer
from gevent.queue import Queue
from simple_websocket import ConnectionClosed, Server
from socketio.packet import EVENT, Packet
from wsproto.frame_protocol import CloseReason
from wsproto.utilities import ProtocolError

if TYPE_CHECKING:
    from _typeshed.wsgi import StartResponse, WSGIApplication, WSGIEnvironment

#: The event that stands for one that cannot be read; it has no arguments.
MALFORMED: Final = "malformed"
#: What may wait for one client: five seconds of 200 announcements each.
MOST_MESSAGES: Final = 1_000
MOST_BYTES: Final = 8_000_000
#: The longest message that a client may send, in bytes.
MOST_RECEIVED: Final = 256 * 1024
#: Seconds; a client that is gone is noticed within the two together.
PING_INTERVAL: Final = 5
PING_TIMEOUT: Final = 5
#: Seconds for one read or one answer of plain HTTP.
HTTP_SECONDS: Final = 60
#: Seconds for open connections to end when the server stops.
STOP_SECONDS: Final = 2

#: Names that only the server uses. Sent by a client, the first two would run its connect and
#: disconnect handlers, and `*` a handler with another client's session.
_RESERVED: Final = frozenset({"connect", "disconnect", "*"})
_LOG: Final = logging.getLogger(__name__)
# The libraries warn of every mistake of a stranger; only their errors are worth a line.
_LOG.setLevel(logging.ERROR)


def make_socketio(app: Flask, **options: Any) -> SocketIO:
    """Return the app's Socket.IO server on this transport; `options` are Flask-SocketIO's."""
    socketio = SocketIO(
        app,
        **{
            "async_mode": "gevent",
            "transports": ["websocket"],
            "ping_interval": PING_INTERVAL,
            "ping_timeout": PING_TIMEOUT,
            "max_http_buffer_size": MOST_RECEIVED,
            "async_handlers": False,
            "serializer": _ReadablePacket,
            "logger": _LOG,
            "engineio_logger": _LOG,
            **options,
        },
    )
    engine = _engine(app)
    engine._async = {**engine._async, "queue": _Outbox, "websocket": _websocket}  # noqa: SLF001 - The one door Engine.IO has for these.
    return socketio


def serve(app: Flask, host: str, port: int, ready: Callable[[int], object]) -> None:
    """Serve until SIGTERM or SIGINT; `ready` is told the port, which for port 0 is a free one.

    Raises OSError where the port cannot be had.
    """
    server = _HTTPServer(
        (host, port),
        app,
        spawn=Pool(),
        log=None,
        error_log=_LOG,
        handler_class=_HTTPHandler,
        # Else gevent asks the network for the host's name, in vain in a hall without one.
        environ={"SERVER_NAME": host},
    )
    server.start()
    stop = Event()
    for number in (signal.SIGTERM, signal.SIGINT):
        gevent.signal_handler(number, stop.set)
    ready(server.socket.getsockname()[1])
    stop.wait()
    server.close()
    _engine(app).disconnect()
    server.stop(STOP_SECONDS)


def _engine(app: Flask) -> Any:
    return app.extensions["socketio"].server.eio


class _ReadablePacket(Packet):  # type: ignore[misc] # The library has no types.
    """A Socket.IO packet of a client, whose event always has a name."""

    def decode(self, encoded_packet: str) -> int:
        """Read the packet; Engine.IO would answer a failure with a traceback in the log alone."""
        try:
            super().decode(encoded_packet)
        except (ValueError, RecursionError):
            self.packet_type, self.data = EVENT, None
        if self.packet_type == EVENT and not _names_an_event(self.data):
            self.data = [MALFORMED]
        return 0


def _names_an_event(data: Any) -> bool:
    match data:
        case [str(name), *_]:
            return name not in _RESERVED
        case _:
            return False


class _Outbox(Queue[Any]):
    """The packets that wait for one client: over the bound it drops the client, not the caller."""

    def __init__(self) -> None:
        super().__init__()
        self.messages = self.bytes = 0
        self.drop: Callable[[], None] = lambda: None

    def put(self, item: Any, block: bool = True, timeout: float | None = None) -> None:  # noqa: FBT001, FBT002 - As in Queue.
        """Queue a packet, or None for the end."""
        if item is not None:
            self.messages += 1
            self.bytes += len(item.encode())
            if self.messages > MOST_MESSAGES or self.bytes > MOST_BYTES:
                self.drop()
                return
        super().put(item, block, timeout)

    def sent(self, text: str) -> None:
        """Count a packet as sent."""
        self.messages -= 1
        self.bytes -= len(text)

    def discard(self) -> None:
        """Forget what waits."""
        while not self.empty():
            self.get_nowait()

    def join(self, timeout: float | None = None) -> bool:  # noqa: ARG002 - As in Queue.
        """Return at once: disconnecting a client that does not read would wait for ever."""
        return False


class _WholeFrames:
    """A socket that sends a frame whole and alone, or never sends again.

    simple-websocket calls `socket.send`, which under gevent may send only the beginning:
    a slow reader gets cut frames, and takes the frames after them for their rest.
    The greenlet that answers a ping or a close would write between the parts of a frame likewise.
    """

    def __init__(self, sock: socket.socket) -> None:
        self._sock = sock
        self._turn = BoundedSemaphore()
        self.recv = sock.recv
        self.close = sock.close

    def send(self, frame: bytes) -> None:
        """Send the frame within the socket's timeout; else drop the client and raise OSError."""
        with self._turn:
            try:
                self._sock.sendall(frame)
            except OSError:
                self.drop()
                raise

    def end(self) -> None:
        """End the connection both ways, which wakes whoever reads or sends."""
        with suppress(OSError):
            self._sock.shutdown(socket.SHUT_RDWR)

    def drop(self) -> None:
        """End the connection, and have the kernel forget what it has not sent."""
        with suppress(OSError):
            self._sock.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
        self.end()


class _Websocket(Server):
    """One client's websocket as Engine.IO uses it: `wait`, `send` and `close`."""

    sock: Any

    def __init__(self, environ: "WSGIEnvironment", engine: Any, outbox: _Outbox) -> None:
        self._timeout = engine.ping_interval + engine.ping_timeout
        self._outbox = outbox
        # Compression takes 100 kB a client and gains little on short messages.
        environ.pop("HTTP_SEC_WEBSOCKET_EXTENSIONS", None)
        super().__init__(
            environ, max_message_size=engine.max_http_buffer_size, thread_class=_NoThread
        )

    def handshake(self) -> None:
        """Answer the client's request, on a socket that sends whole frames."""
        self.sock.settimeout(self._timeout)
        # Else an announcement right behind an answer waits for the client's delayed ACK.
        self.sock.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        self.sock = _WholeFrames(self.sock)
        self._outbox.drop = self.sock.drop
        super().handshake()

    def wait(self) -> str:
        """Return the next packet, read by the greenlet that handles it.

        simple-websocket reads ahead without bound in a greenlet of its own.
        """
        while True:
            # Else a client that always has more would never let another have its turn.
            gevent.sleep(0)
            if self.input_buffer:
                break
            received = self.sock.recv(self.receive_bytes) if self.connected else b""
            if not received:
                raise ConnectionClosed
            self.ws.receive_data(received)
            self.connected = self._handle_events()  # type: ignore[attr-defined] # Not in the stubs.
        packet = self.input_buffer.pop(0)
        # Nothing is asked of a client that it would acknowledge, and nothing binary.
        # Engine.IO collects a binary event's parts without bound.
        if isinstance(packet, str) and (packet in {"1", "3"} or packet[:2] in {"40", "41", "42"}):
            return packet
        raise ConnectionClosed

    def send(self, data: Any) -> None:
        """Send a packet; raises OSError or ConnectionClosed once the client is gone."""
        super().send(data)
        self._outbox.sent(data)

    def close(self, reason: CloseReason | None = None, message: str | None = None) -> None:
        """Say goodbye where that is possible, and end the connection."""
        with suppress(OSError, ConnectionClosed, ProtocolError):
            super().close(reason, message)
        self.sock.end()


class _NoThread(Thread):
    """What simple-websocket starts for reading."""

    def start(self) -> None:
        """Start nothing."""


def _websocket(handler: Callable[[_Websocket], list[bytes]], engine: Any) -> "WSGIApplication":
    """Return what runs one client's connection, given its Engine.IO session's handler."""
    session: Any = handler.__self__  # type: ignore[attr-defined] # A bound method.

    def run(environ: "WSGIEnvironment", start_response: "StartResponse") -> Iterable[bytes]:
        try:
            websocket = _Websocket(environ, engine, session.queue)
        except ProtocolError:
            start_response("400 Bad Request", [("Content-Type", "text/plain")])
            return [b"This is no websocket's handshake."]
        try:
            return handler(websocket)
        finally:
            websocket.sock.close()
            # Else what was not sent stays until the garbage of the session is collected.
            session.queue.discard()

    return run


class _HTTPHandler(WSGIHandler):
    """Plain HTTP whose client is cut off quietly when it stalls."""

    ignored_socket_errors: Any = (*WSGIHandler.ignored_socket_errors, "timed out")

    def read_request(self, raw_requestline: str) -> Any:
        """Read the headers; raises ValueError, which gevent answers, for a client that stalls."""
        try:
            return super().read_request(raw_requestline)
        except TimeoutError as error:
            raise ValueError("the request did not end") from error

    def handle_one_response(self) -> None:
        """Answer the request; what comes after a websocket on its connection is no request."""
        super().handle_one_response()
        self.close_connection |= "HTTP_UPGRADE" in (self.environ or {})


class _HTTPServer(WSGIServer):
    """gevent's server, which by itself waits for a silent client for ever."""

    def handle(self, sock: Any, address: Any) -> None:
        """Handle one connection."""
        sock.settimeout(HTTP_SECONDS)
        super().handle(sock, address)
