"""The commands, run as somebody types them, and a meet for them to look at."""

import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.web.conftest import database, engine, log, meet, template
from tests.web.meet import LARKS, Meet
from web.cli import main

__all__ = ["database", "engine", "log", "meet", "template"]


@dataclass(frozen=True)
class Done:
    """How a command ended, and what it said."""

    code: int
    out: str
    err: str


Run = Callable[..., Done]


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Run `fairlead` with arguments; `serve` and `demo` need a process of their own."""

    def run(*arguments: object) -> Done:
        monkeypatch.setattr(sys, "argv", ["fairlead", *map(str, arguments)])
        with pytest.raises(SystemExit) as end:  # noqa: PT012 - whether it ends by itself or not
            main()
            sys.exit(0)
        heard = capsys.readouterr()
        return Done(int(end.value.code or 0), heard.out, heard.err)

    return run


@pytest.fixture
def posted(meet: Meet, database: Path) -> Path:
    """The database of a meet whose first run is over and posted."""
    meet.run_cleanly(LARKS)
    meet.publish()
    return database


@pytest.fixture
def good(tmp_path: Path, meet: Meet) -> Path:
    """A rulebook without a problem."""
    path = tmp_path / "good.yaml"
    path.write_bytes(meet.runs.events["cliff"].rulebook)
    return path
