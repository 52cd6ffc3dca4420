"""A real server on the demo event, in a process of its own that may be killed and started again."""

import json
import subprocess
import sys
from pathlib import Path
from time import time_ns
from typing import Any, Self

from tests.house.tree import ROOT
from web.data import demo_events_folder
from web.demo_event import DemoEvent, load_demo_event
from web.demo_player import Tablet
from web.services.opening import open_event
from web.storage.database import open_database
from web.storage.directory import Directory

DAY = load_demo_event(demo_events_folder() / "sheave-change")


class Server:
    """A demo event before its first run: addresses by person, and the record behind it all.

    Who has two links is also there under `person, role`.
    """

    def __init__(self, folder: Path, day: DemoEvent = DAY) -> None:
        self.day = day
        self._database = folder / "meet.db"
        engine = open_database(self._database)
        open_event(
            Directory(engine),
            lambda: time_ns() // 1_000_000,
            day.event,
            day.teams,
            day.people,
            day.placements,
            [run.plan for run in day.runs],
        )
        engine.dispose()
        self._process: subprocess.Popen[str] | None = None
        self.port = 0
        self.links: dict[str, str] = {}

    def starts(self) -> Self:
        """Listen: on a free port at first, on the same one afterwards."""
        line = [sys.executable, "-m", "web", "serve", str(self._database), "--json"]
        self._process = subprocess.Popen(
            [*line, "--port", str(self.port)], stdout=subprocess.PIPE, text=True, cwd=ROOT
        )
        assert self._process.stdout is not None
        said = self._process.stdout.readline()
        if not said:
            self.is_killed()
            raise AssertionError("The server did not start; it says why above.")
        ready: dict[str, Any] = json.loads(said)
        self.port = int(ready["address"].rsplit(":", 1)[1])
        self.links = {link["person"]: link["address"] for link in ready["links"]}
        self.links |= {
            f"{link['person']}, {link['role']}": link["address"] for link in ready["links"]
        }
        return self

    def is_killed(self) -> None:
        """Die at once, as by a power cut."""
        assert self._process is not None
        self._process.kill()
        self._process.wait()
        if self._process.stdout is not None:
            self._process.stdout.close()

    def ends(self) -> None:
        """Stop for good."""
        if self._process is not None and self._process.poll() is None:
            self.is_killed()

    def runs(self) -> list[str]:
        """The runs of the day in their order."""
        return [run["id"] for run in self._head("hello")["runs"]]

    def standings(self) -> list[dict[str, Any]]:
        """The live standings."""
        rows: list[dict[str, Any]] = self._head("standings")["rows"]
        return rows

    def card(self, run: str) -> dict[str, Any]:
        """The scorecard of a run as the head judge's screen is told it."""
        card: dict[str, Any] = self._head("card", run=run)["scorecard"]
        return card

    def entries(self, run: str) -> list[dict[str, Any]]:
        """Every entry on the record of a run, in order of their numbers."""
        return [each["entry"] for each in self._head("follow", run=run, since=0)["entries"]]

    def _head(self, message: str, **data: Any) -> dict[str, Any]:
        tablet = Tablet(self.links["head"])
        try:
            return tablet.ask(message, **data)
        finally:
            tablet.close()
