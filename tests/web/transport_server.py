"""An echo on our transport, with handlers for its tests; it prints its port.

An argument is the seconds between pings, and for their answer.
"""

from gevent import monkey

monkey.patch_all()

import sys  # noqa: E402 - Patching comes before every other import.
import time  # noqa: E402

import gevent  # noqa: E402
from flask import Flask  # noqa: E402
from flask_socketio import SocketIO, join_room  # noqa: E402
from gevent.event import Event  # noqa: E402

from web.live import transport  # noqa: E402


def main() -> None:
    """Serve until told to stop."""
    # No test has a minute for a client that stalls.
    vars(transport)["HTTP_SECONDS"] = 2
    app = Flask(__name__)
    app.add_url_rule("/big", view_func=lambda: "x" * 50_000_000)
    pings = {name: int(sys.argv[1]) for name in ("ping_interval", "ping_timeout") if sys.argv[1:]}
    socketio = transport.make_socketio(app, **pings)
    _answer(socketio)
    _tell(socketio)
    transport.serve(app, "127.0.0.1", 0, _print)


def _print(port: int) -> None:
    sys.stdout.write(f"{port}\n")
    sys.stdout.flush()


def _answer(socketio: SocketIO) -> None:
    gate = Event()

    @socketio.on("echo")
    def echo(message: object) -> object:
        return message

    @socketio.on(transport.MALFORMED)
    def malformed() -> str:
        return "cannot be read"

    @socketio.on("wait")
    def wait() -> str:
        gate.wait()
        return "opened"

    @socketio.on("open")
    def open_gate() -> None:
        gate.set()


def _tell(socketio: SocketIO) -> None:
    @socketio.on("join")
    def join(room: str) -> None:
        join_room(room)

    @socketio.on("tell")
    def tell(room: str, size: int, times: int) -> float:
        """Tell a room so much so often; answer how long the slowest took."""
        slowest = 0.0
        for _ in range(times):
            begun = time.perf_counter()
            socketio.emit("told", "x" * size, to=room)
            slowest = max(slowest, time.perf_counter() - begun)
            gevent.sleep(0)
        return slowest

    @socketio.on("tell at once")
    def tell_at_once(room: str, size: int, times: int) -> None:
        """Tell a room so much so often, and let nobody have a turn between."""
        for _ in range(times):
            socketio.emit("told", "x" * size, to=room)


if __name__ == "__main__":
    main()
