"""A server on the demo event, and people who come in with tablets of their own."""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, TypeVar

import pytest
from playwright.sync_api import Browser

from tests.browser.people import Someone
from tests.browser.server import Server

Person = TypeVar("Person", bound=Someone)
#: Lets somebody come in: what they are, whose link they open, and what their device is like.
ComeIn = Callable[..., Any]


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    """The demo event before its first run, being served."""
    server = Server(tmp_path).starts()
    yield server
    server.ends()


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
