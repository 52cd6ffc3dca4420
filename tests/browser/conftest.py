"""A server on the demo event, and people who come in with tablets of their own."""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, TypeVar

import pytest
from playwright.sync_api import Browser

from tests.browser.people import Someone
from tests.browser.server import Server
from web.data import demo_events_folder
from web.demo_event import load_demo_event
from web.demo_player import play

Person = TypeVar("Person", bound=Someone)
#: Lets somebody come in: what they are, whose link they open, and what their device is like.
ComeIn = Callable[..., Any]


def at(event: str) -> pytest.MarkDecorator:
    """Serve this demo event."""
    return pytest.mark.parametrize("server", [event], indirect=True)


@pytest.fixture
def server(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Server]:
    """A demo event before its first run, being served; which one, a test says with `at`."""
    event: str = getattr(request, "param", "sheave-change")
    server = Server(tmp_path, load_demo_event(demo_events_folder() / event)).starts()
    yield server
    server.ends()


@pytest.fixture
def played(server: Server) -> Server:
    """The demo day, over."""
    links = {
        (each.person, each.role): server.links[f"{each.person}, {each.role}"]
        for each in server.day.placements
    }
    play(server.day, links, None, lambda _: None)
    return server


@pytest.fixture
def comes_in(server: Server, browser: Browser) -> Iterator[ComeIn]:
    """Let people come in, each with a device of their own; nobody's console may complain."""
    people: list[Someone] = []

    def come_in(
        kind: type[Person], link: str, *, width: int = 800, height: int = 1280, **device: Any
    ) -> Person:
        context = browser.new_context(
            viewport={"width": width, "height": height}, has_touch=True, **device
        )
        context.set_default_timeout(10_000)
        person = kind(context.new_page(), server.links[link])
        people.append(person)
        return person

    yield come_in
    for person in people:
        person.page.context.close()
