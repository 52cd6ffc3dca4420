"""`fairlead check`: every problem of every rulebook, and an exit code."""

import json
import os
from pathlib import Path

import pytest

from tests.commands.conftest import Run
from tests.house.tree import ROOT

SHIPPED = sorted((ROOT / "rulebooks").glob("*.yaml"))


@pytest.fixture
def bad(tmp_path: Path) -> Path:
    """A rulebook with problems in two places."""
    path = tmp_path / "bad.yaml"
    path.write_text("rulebook: x\ntitle: X\nedition: one\npost: {}\n", encoding="utf-8")
    return path


def test_a_good_rulebook_is_called_good(run: Run, good: Path) -> None:
    done = run("check", good)
    assert done.code == 0
    assert done.out.startswith(f"{good}: good. Rules of the cliff, edition 1: 3 posts, 6 rules")
    assert done.err == ""


def test_every_rulebook_that_is_shipped_is_good(run: Run) -> None:
    assert SHIPPED
    assert run("check", *SHIPPED).code == 0


def test_every_problem_of_every_file_is_named_with_its_place(
    run: Run, good: Path, bad: Path
) -> None:
    done = run("check", bad, good)
    assert done.code == 1
    lines = done.out.splitlines()
    assert sum(line.startswith(f"{bad}:3:") for line in lines) == 1
    assert sum(line.startswith(f"{bad}:4:") for line in lines) == 1
    assert any(line.startswith(f"{good}: good.") for line in lines)


def test_a_program_reads_the_same_as_json(run: Run, good: Path, bad: Path) -> None:
    done = run("check", "--json", bad, good)
    assert done.code == 1
    first, second = json.loads(done.out)
    assert (first["file"], first["good"]) == (str(bad), False)
    assert {problem["line"] for problem in first["problems"]} >= {3, 4}
    assert set(first["problems"][0]) == {"line", "column", "path", "says"}
    assert (second["file"], second["good"], second["problems"]) == (str(good), True, [])
    assert len(second["hash"]) == 64


@pytest.mark.parametrize(
    "content",
    [b"", b"\x00\x01\xff\xfe", os.urandom(2000), b"a: &a [*a]", b"[" * 10_000, b"- 1\n" * 100_000],
    ids=["empty", "binary", "noise", "alias", "nested", "long"],
)
def test_what_is_no_rulebook_is_a_problem_and_no_crash(
    run: Run, tmp_path: Path, content: bytes
) -> None:
    path = tmp_path / "odd.yaml"
    path.write_bytes(content)
    done = run("check", path)
    assert done.code == 1
    assert done.out.startswith(f"{path}:")
    assert "Traceback" not in done.err


def test_a_file_of_50_mb_is_refused(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "large.yaml"
    with path.open("wb") as file:
        file.truncate(50_000_000)
    done = run("check", path)
    assert done.code == 1
    assert "50,000,000 bytes; at most" in done.out


@pytest.mark.parametrize("wrong", ["nowhere.yaml", "."])
def test_a_file_that_is_none_is_told(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, wrong: str
) -> None:
    monkeypatch.chdir(tmp_path)
    done = run("check", wrong)
    assert done.code == 2
    assert f"'{wrong}'" in done.err


def test_nothing_to_check_is_told(run: Run) -> None:
    done = run("check")
    assert done.code == 2
    assert "RULEBOOKS" in done.err
