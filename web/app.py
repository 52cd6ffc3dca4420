"""Build the server: open the database, make the services, hang the pages and messages on Flask."""

from dataclasses import dataclass
from datetime import timedelta
from typing import Final

from flask import Flask, Response, jsonify, render_template, request
from flask_socketio import SocketIO
from werkzeug.exceptions import BadHost, HTTPException

from web.errors import AppError
from web.live.handlers import Desk
from web.live.rooms import SocketAnnouncer
from web.live.sockets import register
from web.live.transport import make_socketio
from web.pages import links, paper, screens, signing, team
from web.pages.parts import KEY, Parts
from web.services.clock import ServerClock
from web.services.intake import Intake
from web.services.postings import Postings
from web.services.runs import Runs
from web.services.sheets import Sheets
from web.settings import Settings
from web.storage.database import open_database
from web.storage.directory import Directory
from web.storage.log import SqlLog
from web.storage.writer import GroupWriter

#: Everything is the server's own; nothing is inline, nothing comes from elsewhere.
HEADERS: Final = {
    "Content-Security-Policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; "
        "connect-src 'self'; manifest-src 'self'; font-src 'self'; base-uri 'none'; "
        "form-action 'self'; frame-ancestors 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    # Not "no-referrer": browsers then hide the origin from our own forms too.
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
}
#: A tablet stays signed in for a long weekend.
_SIGNED_IN: Final = timedelta(days=4)
_LARGEST_BODY: Final = 1_000_000


@dataclass(frozen=True, slots=True)
class Server:
    """A built server and what holds its database."""

    app: Flask
    socketio: SocketIO
    directory: Directory
    writer: GroupWriter
    runs: Runs

    def close(self) -> None:
        """Commit what has queued and let the database go."""
        self.writer.close()


def build_server(settings: Settings) -> Server:
    """A server on the database of the settings; raises `StorageError` where it cannot be opened."""
    engine = open_database(settings.database)
    log, directory = SqlLog(engine), Directory(engine)
    clock = ServerClock(settings.pace)
    app = Flask(__name__)
    app.config.update(
        SECRET_KEY=directory.secret(),
        SESSION_COOKIE_NAME="fairlead",
        SESSION_COOKIE_HTTPONLY=True,
        SESSION_COOKIE_SAMESITE="Lax",
        PERMANENT_SESSION_LIFETIME=_SIGNED_IN,
        MAX_CONTENT_LENGTH=_LARGEST_BODY,
    )
    socketio = make_socketio(app)
    announcer = SocketAnnouncer(socketio)
    runs = Runs(log, directory)
    announcer.runs = runs
    writer = GroupWriter(log, clock)
    postings = Postings(runs, directory, announcer, clock)
    intake = Intake(runs, writer, announcer, clock)
    register(socketio, Desk(runs, intake, postings, clock, settings.pace), directory)
    app.extensions[KEY] = Parts(directory, announcer, clock, Sheets(runs, directory))
    for room in (signing, screens, team, links, paper):
        app.register_blueprint(room.pages)
    _answer_errors(app)
    app.after_request(_with_headers)
    return Server(app, socketio, directory, writer, runs)


def _with_headers(response: Response) -> Response:
    for name, value in HEADERS.items():
        response.headers.setdefault(name, value)
    if request.endpoint != "static":
        response.headers["Cache-Control"] = "no-store"
    return response


def _answer_errors(app: Flask) -> None:
    """One shape for every refusal: a page for people, JSON for programs."""

    def answer(code: str, says: str, status: int) -> tuple[Response | str, int]:
        if request.accept_mimetypes.best == "application/json":
            return jsonify({"ok": False, "error": {"code": code, "says": says}}), status
        return render_template("error.html", says=says), status

    @app.errorhandler(AppError)
    def refused(error: AppError) -> tuple[Response | str, int]:
        return answer(error.own_code, error.says, error.status)

    @app.errorhandler(HTTPException)
    def by_http(error: HTTPException) -> Response:
        if isinstance(error, BadHost):
            # No page can be made for a host that is none.
            return Response("There is no such host.\n", error.code, mimetype="text/plain")
        says = {404: "There is no such page.", 413: "That is too large to send."}
        status = error.code or 500
        sentence = says.get(status, error.description or "That did not work.")
        response = app.make_response(answer("http", sentence, status))
        # RFC 9110: an answer 405 says which methods there are.
        response.headers.extend(
            (name, said) for name, said in error.get_headers() if name == "Allow"
        )
        return response
