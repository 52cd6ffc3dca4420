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

DEMOS: Final = ROOT / "demo_events"


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
    in_time = row["unit"] == "seconds"
    write = (lambda total: format_duration(total, 100)) if in_time else format_thousandths
    return {
        "place": "" if row["place"] is None else str(row["place"]),
        "team": row["team_name"],
        "division": row["division"],
        "time": ""
        if row["time"] is None
        else format_duration(row["time"], 100 if in_time else 1_000),
        "time_cost": format_thousandths(row["time_cost"]),
        "penalty": format_thousandths(row["penalty"]),
        "bonus": format_thousandths(row["bonus"]),
        "total": "" if row["total"] is None else write(row["total"]),
        "outcome": row["outcome"] or "",
        "signed": "yes" if row["signed"] else "no",
        "status": row["status"] or "",
        "why": row["why"],
    }


def laid_down(folder: str, file: str) -> list[dict[str, str]]:
    """What was laid down by hand for a demo event."""
    path = DEMOS / folder / "expected" / f"{file}.csv"
    with path.open(encoding="utf-8", newline="") as text:
        return list(csv.DictReader(text))


def same_where_posted(rows: list[dict[str, Any]], expected: list[dict[str, str]]) -> bool:
    """Whether posted rows say what was laid down, as far as a posting says it."""
    found = [as_expected(row) for row in rows]
    keys = expected[0].keys() & found[0].keys()
    assert keys >= {"team", "total", "penalty"}
    return [{key: row[key] for key in keys} for row in found] == [
        {key: row[key] for key in keys} for row in expected
    ]


@pytest.mark.parametrize(
    ("name", "file"),
    [
        ("sheave-change", "standings"),
        ("cliff-rescue", "standings"),
        ("bakery-relay", "standings"),
        ("anchor-assessment", "record"),
    ],
)
def test_the_demo_played_at_once_gives_what_was_laid_down(
    name: str, file: str, tmp_path: Path
) -> None:
    done = demo(name, "--fast", "--out", "out", "--json", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    expected = laid_down(name, file)
    assert same_where_posted(json.loads(done.stdout)["rows"], expected)
    books = {path.name for path in (tmp_path / "out").glob("*.xlsx")}
    assert len(books) == len(expected) + 1
    for path in (tmp_path / "out").glob("*.xlsx"):
        assert load_workbook(path).sheetnames
    with (tmp_path / "out" / "standings.csv").open(encoding="utf-8-sig", newline="") as text:
        written = list(csv.DictReader(text))
    assert [row["Team"] for row in written] == [row["team"] for row in expected]
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


def test_a_meet_is_played_event_after_event_and_added_up(tmp_path: Path) -> None:
    done = demo("two-day-meet", "--fast", "--out", "out", "--json", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    document = json.loads(done.stdout)
    for event in ("knots", "carry"):
        expected = laid_down(f"two-day-meet/{event}", "standings")
        assert same_where_posted(document["events"][event]["rows"], expected)
        assert (tmp_path / "out" / event / "standings.xlsx").is_file()
    overall = laid_down("two-day-meet", "overall")
    assert [
        (str(row["place"]), row["team_name"], format_thousandths(row["total"]))
        for row in document["overall"]
    ] == [(row["place"], row["team"], row["total"]) for row in overall]
    with (tmp_path / "out" / "overall.csv").open(encoding="utf-8-sig", newline="") as text:
        written = list(csv.DictReader(text))
    assert [(row["Team"], row["Total"]) for row in written] == [
        (row["team"], row["total"]) for row in overall
    ]
    assert load_workbook(tmp_path / "out" / "overall.xlsx").sheetnames == ["Overall"]


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
            f"fairlead: There is no demo event '{name}'. There is: anchor-assessment, "
            "bakery-relay, cliff-rescue, sheave-change, two-day-meet.\n"
        )
