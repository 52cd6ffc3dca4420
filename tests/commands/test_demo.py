"""`fairlead demo`: a whole day over real websockets comes to the standings laid down for it."""

import csv
import json
import os
import signal
import socket
import subprocess
import sys
from pathlib import Path
from typing import Any, Final
from urllib.parse import urlsplit

import pytest
from openpyxl import load_workbook

from scoring import format_duration, format_thousandths
from tests.commands.conftest import Run
from tests.house.tree import ROOT
from tests.web.screens import PATIENCE

EXPECTED: Final = ROOT / "demo_events" / "sheave-change" / "expected" / "standings.csv"


def demo(*arguments: object, cwd: Path) -> subprocess.CompletedProcess[str]:
    """Run `fairlead demo` in a folder."""
    line = [sys.executable, "-m", "web", "demo", *map(str, arguments)]
    return subprocess.run(
        line,
        cwd=cwd,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        timeout=4 * PATIENCE,
        check=False,
    )


def as_expected(row: dict[str, Any]) -> dict[str, str]:
    """A posted row as the folder of the demo event writes it."""
    return {
        "place": "" if row["place"] is None else str(row["place"]),
        "team": row["team_name"],
        "division": row["division"],
        "time": "" if row["time"] is None else format_duration(row["time"], 100),
        "penalty": format_thousandths(row["penalty"]),
        "total": "" if row["total"] is None else format_duration(row["total"], 100),
        "status": row["status"] or "",
        "why": row["why"],
    }


def test_the_demo_played_at_once_gives_the_standings_laid_down(tmp_path: Path) -> None:
    done = demo("--fast", "--out", "out", "--json", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    with EXPECTED.open(encoding="utf-8", newline="") as text:
        expected = list(csv.DictReader(text))
    posting = json.loads(done.stdout)
    assert [as_expected(row) for row in posting["rows"]] == expected
    books = {path.name for path in (tmp_path / "out").glob("*.xlsx")}
    assert len(books) == len(expected) + 1
    for path in (tmp_path / "out").glob("*.xlsx"):
        assert load_workbook(path).sheetnames
    with (tmp_path / "out" / "standings.csv").open(encoding="utf-8-sig", newline="") as text:
        written = list(csv.reader(text))
    assert [row[1] for row in written[1:]] == [row["team"] for row in expected]
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


def test_the_demo_serves_and_plays_until_it_is_ended() -> None:
    """Its links are printed before the first mark; ended from outside, it ends its server."""
    line = [sys.executable, "-m", "web", "demo", "--pace", "1000"]
    with subprocess.Popen(
        line, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True
    ) as process:
        assert process.stdout is not None
        first = process.stdout.readline()
        assert first.startswith("The demo runs at http://127.0.0.1:")
        server = urlsplit(first.split()[4].rstrip("."))
        links = [process.stdout.readline() for _ in range(18)]
        assert sum("/in/" in link for link in links) == 18
        process.send_signal(signal.SIGTERM)
        process.communicate(timeout=PATIENCE)
    with pytest.raises(ConnectionRefusedError):
        socket.create_connection((server.hostname, server.port), timeout=5)


def test_an_unknown_demo_event_is_told_with_those_there_are(run: Run) -> None:
    for name in ("moon", "../rulebooks", ""):
        done = run("demo", name, "--fast")
        assert (done.code, done.out) == (3, "")
        assert done.err == (
            f"fairlead: There is no demo event '{name}'. There is: sheave-change.\n"
        )
