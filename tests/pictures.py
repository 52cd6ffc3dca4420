"""Render the README's pictures again: `python -m tests.pictures`.

They are taken of a real server in the middle of the demo day, and of the workbook of a crew as
LibreOffice prints it. Needs what the tests need, and pdftoppm from Debian's poppler-utils.
"""

import subprocess
import sys
from itertools import takewhile
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Final

from playwright.sync_api import Browser, sync_playwright

from scoring import Entry, Signal, SignalName
from tests.browser.server import DAY, Server
from tests.conftest import CHROMIUM_ARGS
from tests.house.tree import ROOT
from web.demo_player import Tablet

PICTURES: Final = ROOT / ".pictures"
#: How far the crew on the picture is into its run, in milliseconds.
_INTO: Final = 15 * 60_000
_CREW: Final = "owl"
_TABLET: Final = (800, 1280)


def main() -> None:
    """Take every picture."""
    PICTURES.mkdir(exist_ok=True)
    with TemporaryDirectory() as folder:
        server = Server(Path(folder)).starts()
        try:
            _play_until_the_middle(server)
            with sync_playwright() as playwright:
                browser = playwright.chromium.launch(
                    executable_path="/usr/bin/chromium", args=list(CHROMIUM_ARGS)
                )
                _screen(browser, server.links["lift-1"], "tablet.png")
                browser.close()
        finally:
            server.is_killed()
        _penalty_sheet(Path(folder))


def _play_until_the_middle(server: Server) -> None:
    """Bring the record to where one crew is in the middle of its run."""
    run = next(run for run in DAY.runs if run.plan.team == _CREW)
    starts = [entry.at for entry in run.script if entry.what == Signal(SignalName.START)]
    tablets = {person: Tablet(address) for person, address in server.links.items()}
    now = tablets["head"].ask("hello")["now"]
    past = takewhile(lambda entry: entry.at <= now, DAY.entries(now - starts[-1] - _INTO))
    for entry in past:
        _send(tablets, entry)
    for tablet in tablets.values():
        tablet.close()


def _send(tablets: dict[str, Tablet], entry: Entry) -> None:
    tablets[entry.by].observe([entry])


def _screen(browser: Browser, address: str, name: str) -> None:
    width, height = _TABLET
    page = browser.new_page(viewport={"width": width, "height": height}, color_scheme="light")
    page.goto(address)
    page.get_by_text("running").first.wait_for()
    page.screenshot(path=PICTURES / name)
    page.close()


def _penalty_sheet(folder: Path) -> None:
    """A crew's workbook as it is printed: the first page of its findings."""
    out = folder / "out"
    line = [sys.executable, "-m", "web", "demo", "--fast", "--out", str(out)]
    subprocess.run(line, cwd=ROOT, check=True, capture_output=True)
    book = next(out.glob("*-fox.xlsx"))
    profile = f"-env:UserInstallation=file://{folder}/office"
    office = ["soffice", profile, "--headless", "--convert-to", "pdf", "--outdir", str(folder)]
    subprocess.run([*office, str(book)], check=True, capture_output=True)
    pages = ["pdftoppm", "-png", "-r", "110", "-f", "2", "-l", "2", "-singlefile"]
    target = PICTURES / "penalty-sheet"
    subprocess.run([*pages, str(folder / f"{book.stem}.pdf"), str(target)], check=True)


if __name__ == "__main__":
    main()
