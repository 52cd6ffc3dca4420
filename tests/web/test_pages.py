"""Every page for every role, and what every answer carries."""

import io
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Final

import pytest
from flask import Flask
from flask.testing import FlaskClient
from itsdangerous import URLSafeSerializer
from openpyxl import load_workbook
from pypdf import PdfReader
from werkzeug.test import TestResponse
from werkzeug.wrappers import Response

from tests.web.meet import NOW, OF_ROLE, PEOPLE, Meet, whole_run
from web.app import HEADERS, build_server
from web.pages.parts import KEY
from web.pages.signing import SCREENS, address
from web.settings import Settings
from web.storage.database import open_database
from web.storage.directory import Directory
from web.storage.log import SqlLog
from web.values import Role

_SERVER: Final = "http://localhost"
#: What each role gets of each page once standings are posted; 302 leads to the own screen.
PAGES: Final[dict[str, dict[Role, int]]] = {
    "/": dict.fromkeys(Role, 302),
    "/post": {role: 200 if role is Role.JUDGE else 403 for role in Role},
    "/clock": {role: 200 if role is Role.TIMEKEEPER else 403 for role in Role},
    "/desk": {role: 200 if role is Role.HEAD else 403 for role in Role},
    "/desk/links": {role: 200 if role is Role.HEAD else 403 for role in Role},
    "/desk/briefing": {role: 200 if role is Role.HEAD else 403 for role in Role},
    "/desk/paper/clock-sheet.pdf": {role: 200 if role is Role.HEAD else 403 for role in Role},
    "/desk/paper/judge/clock.pdf": {role: 200 if role is Role.HEAD else 403 for role in Role},
    "/desk/standings.xlsx": {role: 200 if role is Role.HEAD else 403 for role in Role},
    "/board": dict.fromkeys(Role, 200),
    "/team": {role: 200 if role is Role.CAPTAIN else 403 for role in Role},
    "/team/workbook.xlsx": {role: 200 if role is Role.CAPTAIN else 403 for role in Role},
    "/out": dict.fromkeys(Role, 302),
}
#: What somebody who is not signed in gets.
STRANGER: Final = {**dict.fromkeys(PAGES, 401), "/": 200, "/out": 302}
GARBAGE: Final = [
    "x",
    "a.b",
    "....",
    "ImEi.AAAA",
    "%00",
    "%ff%fe",
    "%F0%9F%A7%97",
    "%22%3E%3Cscript%3E",
    "' OR 1=1 --",
    "x" * 5000,
    "%7B%7B7*7%7D%7D",
]


@pytest.fixture(scope="module")
def database(template: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One meet for all of these tests; its first run is over and posted."""
    return Path(shutil.copy(template, tmp_path_factory.mktemp("pages")))


@pytest.fixture(scope="module")
def meet(database: Path) -> Iterator[Meet]:
    """The services of the same."""
    engine = open_database(database)
    log = SqlLog(engine)
    meet = Meet(Directory(engine), log)
    meet.send("timer", *whole_run())
    meet.publish()
    yield meet
    log.close()
    engine.dispose()


@pytest.fixture(scope="module")
def app(meet: Meet, database: Path) -> Iterator[Flask]:
    """The pages of the meet."""
    assert meet.directory.latest_posting("cliff")
    server = build_server(Settings(database))
    yield server.app
    server.close()


@pytest.fixture
def client(app: Flask) -> FlaskClient:
    """A browser that nobody has signed in on."""
    return app.test_client()


def path_of(meet: Meet, person: str) -> str:
    """The path of a person's sign-in link."""
    return address(meet.directory.secret(), "", meet.link(person))


def sign_in(client: FlaskClient, meet: Meet, person: str) -> TestResponse:
    return client.get(path_of(meet, person))


def holds_all_headers(answer: Response) -> bool:
    return all(answer.headers[name] == value for name, value in HEADERS.items())


def test_the_tables_here_leave_no_page_out(app: Flask) -> None:
    rules = {rule.rule for rule in app.url_map.iter_rules() if "GET" in (rule.methods or ())}
    paths = app.url_map.bind("localhost")
    reached = {paths.match(path, return_rule=True)[0].rule for path in PAGES}
    assert rules == {*reached, "/in/<code>", "/static/<path:filename>"}
    posts = {rule.rule for rule in app.url_map.iter_rules() if "POST" in (rule.methods or ())}
    assert posts == {"/desk/links/<link>/renew"}


@pytest.mark.parametrize("role", Role)
@pytest.mark.parametrize("path", PAGES)
def test_each_page_is_for_its_own_roles(
    client: FlaskClient, meet: Meet, path: str, role: Role
) -> None:
    sign_in(client, meet, OF_ROLE[role])
    answer = client.get(path)
    assert answer.status_code == PAGES[path][role]
    assert holds_all_headers(answer)
    assert answer.headers["Cache-Control"] == "no-store"
    assert b"noise" not in answer.data


@pytest.mark.parametrize("path", PAGES)
def test_no_page_is_open_to_a_stranger(client: FlaskClient, path: str) -> None:
    answer = client.get(path)
    assert answer.status_code == STRANGER[path]
    assert holds_all_headers(answer)
    assert "Larks" not in answer.text


@pytest.mark.parametrize("role", Role)
def test_a_link_leads_to_its_roles_screen(client: FlaskClient, meet: Meet, role: Role) -> None:
    answer = sign_in(client, meet, OF_ROLE[role])
    assert (answer.status_code, answer.headers["Location"]) == (302, SCREENS[role])
    assert client.get("/").headers["Location"] == SCREENS[role]
    assert client.get(SCREENS[role]).status_code == 200


def test_the_session_cookie_is_the_servers_own_and_outlasts_the_browser(
    client: FlaskClient, meet: Meet
) -> None:
    """A tablet that is switched off at night is still signed in in the morning."""
    cookie = sign_in(client, meet, "north-1").headers["Set-Cookie"]
    assert cookie.startswith("fairlead=")
    flags = {flag.strip().partition("=")[0] for flag in cookie.split(";")[1:]}
    assert flags == {"HttpOnly", "SameSite", "Path", "Expires"}
    assert "SameSite=Lax" in cookie


def test_signing_out_forgets_who_it_was(client: FlaskClient, meet: Meet) -> None:
    sign_in(client, meet, "head")
    assert client.get("/out").headers["Location"] == "/"
    assert client.get("/desk").status_code == 401


def test_signing_in_anew_replaces_who_it_was(client: FlaskClient, meet: Meet) -> None:
    sign_in(client, meet, "head")
    sign_in(client, meet, "north-1")
    assert client.get("/desk").status_code == 403
    assert client.get("/post").status_code == 200


def test_a_revoked_link_opens_nothing_any_more(client: FlaskClient, meet: Meet) -> None:
    """Nobody else here is the second judge of this post."""
    sign_in(client, meet, "north-2")
    path = path_of(meet, "north-2")
    # By the server's own directory: no other process changes the links of a meet that is served.
    client.application.extensions[KEY].directory.revoke(meet.link("north-2"), NOW)
    assert client.get("/post").status_code == 401
    assert "has been revoked" in client.get(path).text
    assert client.get("/").status_code == 200


@pytest.mark.parametrize("code", GARBAGE, ids=lambda code: code[:12])
def test_a_garbled_link_is_refused_in_a_sentence(client: FlaskClient, code: str) -> None:
    answer = client.get(f"/in/{code}")
    assert answer.status_code == 401
    assert "Scan it again or ask for a new one." in answer.text
    assert "Set-Cookie" not in answer.headers
    assert holds_all_headers(answer)


@pytest.mark.parametrize(
    ("secret", "salt"), [(b"another server's", "sign-in link"), (None, "cookie-session")]
)
def test_a_forged_link_is_refused(
    client: FlaskClient, meet: Meet, secret: bytes | None, salt: str
) -> None:
    signer = URLSafeSerializer(secret or meet.directory.secret(), salt=salt)
    assert client.get(f"/in/{signer.dumps(meet.link('head'))}").status_code == 401


@pytest.mark.parametrize("payload", ["nobody", 7, None, ["x"], {"link": "x"}, True])
def test_a_link_that_was_signed_here_but_names_nobody_is_refused(
    client: FlaskClient, meet: Meet, payload: object
) -> None:
    code = URLSafeSerializer(meet.directory.secret(), salt="sign-in link").dumps(payload)
    assert client.get(f"/in/{code}").status_code == 401


@pytest.mark.parametrize(
    "path", ["/nowhere", "/static/nowhere.js", "/team/", "/in/", "/static/", "/é"]
)
def test_a_page_that_is_not_there_is_told(client: FlaskClient, path: str) -> None:
    answer = client.get(path)
    assert answer.status_code == 404
    assert "There is no such page." in answer.text
    assert holds_all_headers(answer)


@pytest.mark.parametrize(
    "path",
    ["/static/../app.py", "/static/%2e%2e/app.py", "/static/..%2fapp.py", "/static//etc/passwd"],
)
def test_nothing_but_static_files_is_served_as_static(client: FlaskClient, path: str) -> None:
    assert client.get(path).status_code in {308, 404}


def test_static_files_carry_the_headers_too(client: FlaskClient) -> None:
    with client.get("/static/css/base.css") as answer:
        assert (answer.status_code, answer.mimetype) == (200, "text/css")
        assert holds_all_headers(answer)
        assert answer.headers["Cache-Control"] != "no-store"


@pytest.mark.parametrize("path", [*PAGES, "/in/x"])
@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "PATCH"])
def test_a_page_is_only_read(client: FlaskClient, meet: Meet, path: str, method: str) -> None:
    sign_in(client, meet, "head")
    answer = client.open(path, method=method)
    assert answer.status_code == 405
    assert set(answer.headers["Allow"].split(", ")) == {"GET", "HEAD", "OPTIONS"}
    assert holds_all_headers(answer)


@pytest.mark.parametrize("path", PAGES)
def test_head_answers_as_get_does_without_a_body(
    client: FlaskClient, meet: Meet, path: str
) -> None:
    sign_in(client, meet, "head")
    head = client.head(path)
    assert (head.status_code, head.data) == (PAGES[path][Role.HEAD], b"")


def test_a_program_is_refused_in_json(client: FlaskClient) -> None:
    for path, code in (("/desk", "not_signed_in"), ("/nowhere", "http")):
        said = client.get(path, headers={"Accept": "application/json"}).json
        assert said is not None
        assert (said["ok"], said["error"]["code"]) == (False, code)


def test_a_body_that_is_too_large_is_refused(client: FlaskClient, meet: Meet) -> None:
    sign_in(client, meet, "head")
    answer = client.post("/desk/links/x/renew", data={"x": "x" * 2_000_000})
    assert answer.status_code in {403, 413}


@pytest.mark.parametrize(
    "host", ["evil.example", "localhost:1", "[::1]", "", "a b", "x" * 300, "évil", "<script>"]
)
def test_the_host_header_is_believed_in_nothing(client: FlaskClient, meet: Meet, host: str) -> None:
    answer = client.get(path_of(meet, "head"), headers={"Host": host})
    assert answer.status_code in {302, 400}
    assert answer.headers.get("Location", "/desk") == "/desk"
    assert "<script>" not in answer.text


def test_an_own_mistake_of_the_server_is_a_page_too(
    app: Flask, client: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail() -> str:
        raise KeyError("oops")

    monkeypatch.setitem(app.view_functions, "screens.board", fail)
    answer = client.get("/board")
    assert answer.status_code == 500
    assert "oops" not in answer.text
    assert holds_all_headers(answer)


def test_a_captain_reads_the_own_sheet_and_takes_it_home(client: FlaskClient, meet: Meet) -> None:
    for person, own, other in (
        ("larks-captain", "Larks", "Wrens"),
        ("wrens-captain", "Wrens", "Larks"),
    ):
        sign_in(client, meet, person)
        page = client.get("/team")
        assert f"{own} of cliff" in page.text
        assert f"{other} of cliff" not in page.text
        answer = client.get("/team/workbook.xlsx")
        assert re.search(
            rf"attachment; filename=\"?{own}-of-cliff", answer.headers["Content-Disposition"]
        )
        book = load_workbook(io.BytesIO(answer.data))
        cells = [cell.value for sheet in book for row in sheet.iter_rows() for cell in row]
        assert f"{own} of cliff" in cells
        assert f"{other} of cliff" not in cells


def test_before_a_posting_there_is_nothing_to_take_home(
    meet: Meet, template: Path, tmp_path: Path
) -> None:
    server = build_server(Settings(Path(shutil.copy(template, tmp_path))))
    client = server.app.test_client()
    for person, paths in (
        ("larks-captain", ("/team", "/team/workbook.xlsx")),
        ("head", ("/desk/standings.xlsx",)),
    ):
        sign_in(client, meet, person)
        for path in paths:
            answer = client.get(path)
            assert answer.status_code == 404
            assert "once standings have been posted" in answer.text
    server.close()


def test_the_head_judge_takes_the_posted_standings_home(client: FlaskClient, meet: Meet) -> None:
    sign_in(client, meet, "head")
    answer = client.get("/desk/standings.xlsx")
    book = load_workbook(io.BytesIO(answer.data))
    cells = [cell.value for sheet in book for row in sheet.iter_rows() for cell in row]
    assert {"Larks of cliff", "Wrens of cliff"} <= set(cells)
    assert not any("noise" in str(cell) for cell in cells)


def test_links_are_renewed_from_the_own_page_only(client: FlaskClient, meet: Meet) -> None:
    """A browser says which page a form was on; other sites' forms are refused."""
    old = meet.link("south-1")
    sign_in(client, meet, "head")
    renew = f"/desk/links/{old}/renew"
    for origin in ({}, {"Origin": "http://evil.example"}, {"Origin": "null"}):
        assert client.post(renew, headers=origin).status_code == 403
    assert meet.link("south-1") == old
    assert client.post(renew, headers={"Origin": _SERVER}).status_code == 302
    assert meet.link("south-1") != old


@pytest.mark.parametrize(
    "person", [person for person in PEOPLE if person not in {"head", "north-2"}]
)
def test_links_are_renewed_by_the_head_judge_only(
    client: FlaskClient, meet: Meet, person: str
) -> None:
    old = meet.link("south-1")
    sign_in(client, meet, person)
    answer = client.post(f"/desk/links/{old}/renew", headers={"Origin": _SERVER})
    assert answer.status_code == 403
    assert meet.link("south-1") == old


@pytest.mark.parametrize("size", ["a4", "letter"])
@pytest.mark.parametrize("name", ["briefing", "clock-sheet", "head-sheet", "judge/north"])
def test_every_sheet_of_the_event_is_there_to_print(
    client: FlaskClient, meet: Meet, name: str, size: str
) -> None:
    sign_in(client, meet, OF_ROLE[Role.HEAD])
    answer = client.get(f"/desk/paper/{name}.pdf?paper={size}")
    assert (answer.status_code, answer.mimetype) == (200, "application/pdf")
    box = PdfReader(io.BytesIO(answer.data)).pages[0].mediabox
    assert [round(float(side)) for side in (box.width, box.height)] == (
        [595, 842] if size == "a4" else [612, 792]
    )


@pytest.mark.parametrize("path", ["judge/nowhere", "gossip", "check-sheet"])
def test_a_sheet_that_the_event_lacks_is_not_found(
    client: FlaskClient, meet: Meet, path: str
) -> None:
    sign_in(client, meet, OF_ROLE[Role.HEAD])
    assert client.get(f"/desk/paper/{path}.pdf").status_code == 404


def test_the_briefing_reads_the_cautions_first_and_leads_to_every_sheet(
    client: FlaskClient, meet: Meet
) -> None:
    sign_in(client, meet, OF_ROLE[Role.HEAD])
    page = client.get("/desk/briefing").text
    book = meet.runs.book("cliff")
    assert page.index("no work procedure") < page.index(next(iter(book.rules)))
    assert all(f"/desk/paper/judge/{post}.pdf" in page for post in book.posts)
