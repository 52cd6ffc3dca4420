"""The bare floor: an echo on Flask-SocketIO as it comes, the denominator of the live benchmarks.

Run `python -m tests.benchmarks.floor`: it takes a free loopback port and prints its number.
The event `echo` is acknowledged with what was sent.
"""

from gevent import monkey

monkey.patch_all()

from flask import Flask  # noqa: E402 - Patching comes before every other import.
from flask_socketio import SocketIO  # noqa: E402
from gevent.pywsgi import WSGIServer  # noqa: E402


def main() -> None:
    """Serve until killed, as `SocketIO.run` would, which cannot tell a port it chose."""
    app = Flask(__name__)
    socketio = SocketIO(app, async_mode="gevent")

    @socketio.on("echo")
    def echo(message: object) -> object:
        return message

    server = WSGIServer(("127.0.0.1", 0), app, log=None)
    server.start()
    print(server.server_port, flush=True)
    server.serve_forever()


if __name__ == "__main__":
    main()
