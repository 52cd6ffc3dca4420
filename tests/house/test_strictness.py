import subprocess
import sys

import pytest

from tests.house.tree import ROOT


def _complaints(*command: str) -> str:
    done = subprocess.run(
        [sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True, check=False
    )
    return "" if done.returncode == 0 else done.stdout + done.stderr


def test_ruff_has_no_complaint() -> None:
    assert _complaints("ruff", "check", "--quiet", ".") == ""


def test_every_file_is_formatted() -> None:
    assert _complaints("ruff", "format", "--check", ".") == ""


@pytest.mark.timeout(600)
def test_mypy_has_no_complaint() -> None:
    assert _complaints("mypy") == ""


def test_every_rule_that_ruff_leaves_out_has_its_reason_beside_it() -> None:
    text = (ROOT / "pyproject.toml").read_text(encoding="utf-8")
    section = text.split("[tool.ruff.lint]")[1].split("[tool.importlinter]")[0]
    ignored = [line.strip() for line in section.splitlines() if line.startswith('  "')]
    assert ignored
    assert [line for line in ignored if "# " not in line] == []
