"""`python -m tests` brings what the tests need, or says what is missing."""

import subprocess
import sys
from pathlib import Path

import pytest

from tests.house.tree import ROOT

APT_GET = """#!/bin/sh
echo "$@" >> {bin}/asked
case "$*" in *install*)
  for made in {made}; do echo '#!/bin/sh' > {bin}/$made; /bin/chmod +x {bin}/$made; done
esac
"""
SUDO = """#!/bin/sh
shift
PATH="$PATH:/usr/bin:/bin" exec "$@"
"""


def _command(folder: Path, name: str, text: str) -> None:
    (folder / name).write_text(text, encoding="utf-8")
    (folder / name).chmod(0o755)


def _run(path: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "tests", "--version"],
        cwd=ROOT,
        env={"PATH": str(path)},
        capture_output=True,
        text=True,
        check=False,
    )


def test_where_nothing_can_be_installed_one_sentence_names_what_is_missing(tmp_path: Path) -> None:
    done = _run(tmp_path)
    assert done.returncode == 1
    assert done.stderr == (
        "The tests need chromium and libreoffice-calc: install them and run again.\n"
    )


@pytest.mark.parametrize("present", ["chromium", "localc"])
def test_only_what_is_missing_is_installed(tmp_path: Path, present: str) -> None:
    absent, package = {
        "chromium": ("localc", "libreoffice-calc"),
        "localc": ("chromium", "chromium"),
    }[present]
    _command(tmp_path, present, "#!/bin/sh\n")
    _command(tmp_path, "apt-get", APT_GET.format(bin=tmp_path, made=absent))
    _command(tmp_path, "sudo", SUDO)
    done = _run(tmp_path)
    assert done.returncode == 0, done.stderr
    asked = (tmp_path / "asked").read_text(encoding="utf-8").splitlines()
    assert asked[0].endswith("update")
    assert asked[1].endswith(f"--no-install-recommends {package}")


def test_a_failed_installation_shows_why(tmp_path: Path) -> None:
    _command(tmp_path, "apt-get", "#!/bin/sh\necho no route to the archive\nexit 100\n")
    _command(tmp_path, "sudo", SUDO)
    done = _run(tmp_path)
    assert done.returncode == 1
    assert "no route to the archive" in done.stderr
    assert "The tests need chromium and libreoffice-calc" in done.stderr
