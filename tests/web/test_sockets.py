"""Connections: who gets one, and how long it lasts."""

import json
import sqlite3
from collections.abc import Iterator
from http.client import HTTPConnection
from pathlib import Path

import pytest
from websocket import WebSocketBadStatusException, create_connection

from tests.web.meet import missed
from tests.web.screens import (
    PATIENCE,
    SOCKET,
    Screen,
    Served,
    now,
    screen,
    serving,
)

NOBODY = "44"


@pytest.fixture(scope="module")
def served(template: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    path = tmp_path_factory.mktemp("sockets") / "meet.db"
    path.write_bytes(template.read_bytes())
    with serving(path) as served:
        yield served


def forged(cookie: str) -> str:
    name, _, value = cookie.partition("=")
    payload, _, rest = value.partition(".")
    return f"{name}={payload[:-2]}{'AA' if payload[-2:] != 'AA' else 'BB'}.{rest}"


@pytest.mark.parametrize(
    "cookie", ["", "fairlead=", "fairlead=e30.x.y", "other=1", "fairlead=\xe9"]
)
def test_a_screen_without_a_sign_in_gets_no_connection(served: Served, cookie: str) -> None:
    stranger = Screen(served, "nobody", cookie)
    assert stranger.greeting.startswith(NOBODY)
    stranger.close()


def test_a_forged_cookie_gets_no_connection(served: Served) -> None:
    stranger = Screen(served, "nobody", forged(served.cookie("head")))
    assert stranger.greeting.startswith(NOBODY)
    stranger.close()


def test_a_cookie_of_another_server_gets_no_connection(served: Served, database: Path) -> None:
    """The same people and links, under another secret."""
    with serving(_with_another_secret(database)) as other:
        stranger = Screen(other, "nobody", served.cookie("head"))
        assert stranger.greeting.startswith(NOBODY)
        stranger.close()


def _with_another_secret(database: Path) -> Path:
    with sqlite3.connect(database) as connection:
        connection.execute("UPDATE secret SET secret = randomblob(32)")
    connection.close()
    return database


def test_a_page_of_another_site_gets_no_connection(served: Served) -> None:
    """A browser sends the cookie along whoever's page asks; the origin tells them apart."""
    with pytest.raises(WebSocketBadStatusException, match="400"):
        create_connection(
            f"ws://{served.host}{SOCKET}",
            timeout=PATIENCE,
            cookie=served.cookie("head"),
            origin="http://elsewhere.example",
        )


def test_a_link_renewed_ends_its_connections_and_no_other(served: Served) -> None:
    """The head judge's page says that the old one stops at once."""
    cookie = served.cookie("south-1")
    with screen(served, "north-2") as other:
        lost = Screen(served, "south-1", cookie)
        assert lost.ask("hello")["ok"]
        _renew(served, "south-1")
        assert lost.packet() == "41"
        assert other.ask("hello")["ok"]
        again = Screen(served, "south-1", cookie)
        assert again.greeting.startswith(NOBODY)
        again.close()
        lost.close()


def _renew(served: Served, person: str) -> None:
    cookie = served.cookie("head")
    connection = HTTPConnection(served.host, timeout=PATIENCE)
    connection.request("GET", "/desk/links", headers={"Cookie": cookie})
    page = connection.getresponse().read().decode()
    start = page.index(f"Name of {person}")
    action = page[page.index('action="', start) :].split('"')[1]
    connection.request(
        "POST", action, headers={"Cookie": cookie, "Origin": f"http://{served.host}"}
    )
    assert connection.getresponse().status == 302
    connection.close()


def test_what_one_screen_marks_another_of_the_same_person_holds(served: Served) -> None:
    with screen(served, "north-1") as first, screen(served, "north-1") as second:
        made = missed("A1", at=now())
        [mark] = first.observe(made)
        [again] = second.observe(made)
        assert again == mark
        held = second.reply("follow", {"run": "cliff.larks"})["entries"]
        assert json.dumps(held).count(made.id) == 1
