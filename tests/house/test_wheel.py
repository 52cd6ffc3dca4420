"""What an installed copy has that is no checkout."""

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from tests.house.tree import ROOT, files


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The unpacked wheel; the build fetches nothing, the libraries being fresh."""
    folder = tmp_path_factory.mktemp("wheel")
    build = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(folder)]
    done = subprocess.run(build, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    with zipfile.ZipFile(next(folder.glob("*.whl"))) as wheel:
        wheel.extractall(folder / "site")
    return folder / "site"


def _names(folder: Path) -> set[str]:
    return {str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file()}


def test_a_wheel_carries_the_browser_libraries_with_their_licences(installed: Path) -> None:
    vendor = ROOT / "web" / "static" / "vendor"
    assert _names(installed / "web/static/vendor") == _names(vendor) - {".stamp"}


def test_a_wheel_carries_every_page_script_and_template(installed: Path) -> None:
    ours = {
        str(path)
        for path in files()
        if path.parts[0] in {"scoring", "web"} and path.parts[:2] != ("web", "browser")
    }
    assert ours <= _names(installed)


def test_a_wheel_carries_neither_the_build_hook_nor_the_tests(installed: Path) -> None:
    assert {path.name for path in installed.iterdir() if path.suffix != ".dist-info"} == {
        "scoring",
        "web",
    }
    assert not (installed / "web" / "browser").exists()


def test_an_installed_copy_finds_every_rulebook_and_demo_event(installed: Path) -> None:
    said = subprocess.run(
        [
            sys.executable,
            "-c",
            "from web.data import *; print(rulebooks_folder()); print(demo_events_folder())",
        ],
        cwd=installed,
        env={**os.environ, "PYTHONPATH": str(installed)},
        capture_output=True,
        text=True,
        check=True,
    ).stdout.splitlines()
    for folder, name in zip(said, ("rulebooks", "demo_events"), strict=True):
        assert Path(folder).is_relative_to(installed)
        shipped = {str(Path(name) / path) for path in _names(Path(folder))}
        assert shipped == {str(path) for path in files() if path.parts[0] == name} != set()
