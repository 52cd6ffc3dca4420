"""The browser's libraries load together, without a bundle, under a strict policy."""

import shutil
import threading
from collections.abc import Iterator
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any, Final

import pytest
from playwright.sync_api import Page, expect

from tests.house.tree import ROOT

POLICY: Final = "default-src 'none'; script-src 'self'; connect-src 'self'; img-src data:"
PAGE: Final = """<!doctype html><html lang="en"><meta charset="utf-8"><title>Libraries</title>
<link rel="icon" href="data:,"><main></main><script type="module" src="page.js"></script></html>"""
SCRIPT: Final = """
import { h } from './vendor/preact.js'
import { h as bound, html, render } from './vendor/htm-preact.js'
import { useEffect, useState } from './vendor/preact-hooks.js'
import { computed, signal } from './vendor/signals.js'
import { openDB } from './vendor/idb.js'
import { io } from './vendor/socket.io.js'

const marks = signal(0)
const doubled = computed(() => marks.value * 2)

async function kept() {
  const db = await openDB('libraries', 1, { upgrade: db => { db.createObjectStore('marks') } })
  await db.put('marks', 'gloves off', 'm1')
  return db.get('marks', 'm1')
}

function Post() {
  const [taps, setTaps] = useState(0)
  const [read, setRead] = useState('')
  useEffect(() => { kept().then(setRead) }, [])
  const tap = () => { setTaps(taps + 1); marks.value += 1 }
  return html`<button onClick=${tap}>Mark</button>
    <p>${taps} taps, ${doubled} doubled, ${read}</p>
    <p>${h === bound ? 'one copy' : 'two copies'}</p>
    <p>${io('/', { autoConnect: false }).connected === false ? 'socket ready' : ''}</p>`
}
render(h(Post), document.querySelector('main'))
"""


class _Handler(SimpleHTTPRequestHandler):
    extensions_map = {  # noqa: RUF012 (the base class has it so)
        ".html": "text/html",
        ".js": "text/javascript",
    }

    def end_headers(self) -> None:
        self.send_header("Content-Security-Policy", POLICY)
        super().end_headers()

    def log_message(self, format: str, *args: Any) -> None:  # noqa: A002 (the base class names it)
        """Keep the test's output to the test."""


@pytest.fixture
def site(tmp_path: Path) -> Iterator[str]:
    """Serve a page that uses every library."""
    shutil.copytree(ROOT / "web" / "static" / "vendor", tmp_path / "vendor")
    (tmp_path / "index.html").write_text(PAGE, encoding="utf-8")
    (tmp_path / "page.js").write_text(SCRIPT, encoding="utf-8")
    server = ThreadingHTTPServer(("127.0.0.1", 0), partial(_Handler, directory=str(tmp_path)))
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}/"
    server.shutdown()
    thread.join()
    server.server_close()


def test_the_libraries_work_together_under_a_strict_policy(site: str, page: Page) -> None:
    complaints: list[str] = []
    fetched: list[str] = []
    page.on("console", lambda message: complaints.append(message.text))
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.on("request", lambda request: fetched.append(request.url.removeprefix(site)))

    page.goto(site)
    expect(page.get_by_text("0 taps, 0 doubled, gloves off")).to_be_visible()
    page.get_by_role("button", name="Mark").click()
    expect(page.get_by_text("1 taps, 2 doubled, gloves off")).to_be_visible()
    expect(page.get_by_text("one copy")).to_be_visible()
    expect(page.get_by_text("socket ready")).to_be_visible()

    assert complaints == []
    assert sorted(name for name in fetched if name.startswith("vendor/")) == sorted(
        f"vendor/{path.name}" for path in (ROOT / "web" / "static" / "vendor").glob("*.js")
    )
