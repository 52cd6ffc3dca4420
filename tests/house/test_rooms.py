"""The import contracts of pyproject.toml hold, and each notices a breach."""

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.house.tree import ROOT, python_files

LINT = "from importlinter.cli import lint_imports_command; lint_imports_command()"


def _lint(folder: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", LINT, "--no-cache", "--no-logo"],
        cwd=folder,
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    """The packages and their contracts once more, to break."""
    for path in python_files("scoring", "web"):
        (tmp_path / path).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(ROOT / path, tmp_path / path)
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    return tmp_path


def test_every_file_keeps_to_its_room() -> None:
    done = _lint(ROOT)
    assert done.returncode == 0, done.stdout


@pytest.mark.parametrize(
    ("file", "line", "contract"),
    [
        ("scoring/gossip.py", "", "The rooms of scoring"),
        ("scoring/rulebook/gossip.py", "", "The rooms of scoring.rulebook"),
        ("web/gossip.py", "", "The rooms of web"),
        ("scoring/ids.py", "import scoring.fold", "The rooms of scoring"),
        ("scoring/rulebook/model.py", "import scoring.rulebook.schema", "scoring.rulebook"),
        ("scoring/kinds/step.py", "import scoring.kinds.callout", "A kind of rule"),
        ("scoring/fold.py", "import web.data", "The engine knows no shell"),
        ("scoring/fold.py", "import flask", "The engine knows no shell"),
        ("web/data.py", "import web.cli", "The rooms of web"),
        ("web/services/ports.py", "import web.storage.log", "The rooms of web"),
        ("web/services/ports.py", "import flask", "knows no HTTP"),
        ("scoring/sheets/cells.py", "import scoring.sheets.team", "in circles"),
    ],
)
def test_a_breach_is_noticed(copy: Path, file: str, line: str, contract: str) -> None:
    with (copy / file).open("a", encoding="utf-8") as text:
        text.write(f"\n{line}\n")
    done = _lint(copy)
    assert done.returncode == 1, done.stderr
    broken = [heard for heard in done.stdout.splitlines() if " BROKEN" in heard]
    assert any(contract in heard for heard in broken), done.stdout
