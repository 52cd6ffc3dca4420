"""`fairlead serve`: it starts, or says in one sentence why not."""

import json
import os
import shutil
import signal
import socket
import subprocess
import sys
from pathlib import Path

import pytest

from tests.commands.conftest import Done
from tests.house.tree import ROOT
from tests.web.meet import PEOPLE
from tests.web.screens import PATIENCE


def serve(*arguments: object, before: tuple[str, ...] = ()) -> Done:
    """Run `fairlead serve` where it cannot start."""
    line = [*before, sys.executable, "-m", "web", "serve", *map(str, arguments)]
    done = subprocess.run(
        line, cwd=ROOT, capture_output=True, text=True, timeout=PATIENCE, check=False
    )
    return Done(done.returncode, done.stdout, done.stderr)


def one_sentence(done: Done) -> str:
    """What a command that could not be done said."""
    assert (done.code, done.out) == (3, "")
    assert done.err.startswith("fairlead: ")
    assert done.err.endswith(".\n")
    assert done.err.count("\n") == 1
    return done.err


def test_it_prints_a_link_for_every_person_and_ends_when_told(database: Path) -> None:
    line = [sys.executable, "-m", "web", "serve", str(database), "--port", "0"]
    with subprocess.Popen(
        line, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as process:
        assert process.stdout is not None
        said = process.stdout.readline()
        assert said.startswith("Listening on http://127.0.0.1:")
        links = [process.stdout.readline() for _ in range(len(PEOPLE))]
        process.send_signal(signal.SIGINT)
        _, err = process.communicate(timeout=PATIENCE)
    assert (process.returncode, err) == (0, "")
    assert all(f"Name of {person} " in " ".join(links) for person in PEOPLE)
    assert all("/in/" in link for link in links)


def test_a_port_in_use_is_told(database: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        said = one_sentence(serve(database, "--port", port))
    assert f"127.0.0.1, port {port}: Address already in use." in said
    assert "--port" in said


def test_an_address_that_is_not_ours_is_told(database: Path) -> None:
    """192.0.2.1 is nobody's; source: RFC 5737."""
    assert "192.0.2.1" in one_sentence(serve(database, "--host", "192.0.2.1", "--port", "0"))


def test_a_file_that_is_no_database_is_told_and_left_as_it_is(tmp_path: Path) -> None:
    path = tmp_path / "notes.txt"
    path.write_text("No database at all, but long enough to look into. " * 20, encoding="utf-8")
    before = path.read_bytes()
    assert "notes.txt" in one_sentence(serve(path, "--port", "0"))
    assert path.read_bytes() == before


def test_a_folder_that_is_not_there_is_told(tmp_path: Path) -> None:
    said = one_sentence(serve(tmp_path / "nowhere" / "meet.db", "--port", "0"))
    assert "There is no meet in" in said


def test_a_folder_that_cannot_be_written_to_is_told(database: Path) -> None:
    before = database.read_bytes()
    folder = database.parent
    # Else root writes where nobody may.
    as_others = ("setpriv", "--bounding-set", "-dac_override,-dac_read_search")
    before_it = as_others if os.geteuid() == 0 and shutil.which("setpriv") else ()
    database.chmod(0o444)
    folder.chmod(0o555)
    try:
        said = one_sentence(serve(database, "--port", "0", before=before_it))
    finally:
        folder.chmod(0o755)
    assert "meet.db" in said
    assert "readonly database" in said or "unable to open" in said
    assert database.read_bytes() == before


@pytest.mark.parametrize("wrong", [["--port", "65536"], []], ids=["no such port", "no database"])
def test_a_wrong_command_line_is_told(tmp_path: Path, wrong: list[str]) -> None:
    done = serve(*(tmp_path / "meet.db" for _ in wrong[:1]), *wrong)
    assert (done.code, done.out) == (2, "")
    assert "Error: " in done.err
    assert list(tmp_path.iterdir()) == []


def test_links_are_printed_for_programs_too(database: Path) -> None:
    line = [sys.executable, "-m", "web", "serve", str(database), "--port", "0", "--json"]
    with subprocess.Popen(line, cwd=ROOT, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        said = json.loads(process.stdout.readline())
        process.terminate()
        process.communicate(timeout=PATIENCE)
    assert {link["person"] for link in said["links"] if link["event"] == "cliff"} == set(PEOPLE)
    assert all(link["address"].startswith(said["address"]) for link in said["links"])
