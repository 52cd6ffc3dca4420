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


def _run(path: Path, user: int = 0) -> subprocess.CompletedProcess[str]:
    """Run `python -m tests` as this user, with nothing on the PATH but what is in a folder."""
    as_user = f"import os, runpy; os.geteuid = lambda: {user}; runpy.run_module('tests', "
    return subprocess.run(
        [sys.executable, "-c", as_user + "run_name='__main__')", "--version"],
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


@pytest.mark.parametrize("user", [0, 1000], ids=["root", "sudo"])
@pytest.mark.parametrize("present", ["chromium", "localc"])
def test_only_what_is_missing_is_installed(tmp_path: Path, present: str, user: int) -> None:
    absent, package = {
        "chromium": ("localc", "libreoffice-calc"),
        "localc": ("chromium", "chromium"),
    }[present]
    _command(tmp_path, present, "#!/bin/sh\n")
    _command(tmp_path, "apt-get", APT_GET.format(bin=tmp_path, made=absent))
    _command(tmp_path, "sudo", SUDO)
    done = _run(tmp_path, user)
    assert done.returncode == 0, done.stderr
    asked = (tmp_path / "asked").read_text(encoding="utf-8").splitlines()
    assert asked[0].endswith("update")
    assert asked[1].endswith(f"--no-install-recommends {package}")


def test_who_may_not_install_is_told_what_is_missing(tmp_path: Path) -> None:
    _command(tmp_path, "apt-get", APT_GET.format(bin=tmp_path, made="chromium localc"))
    _command(tmp_path, "sudo", "#!/bin/sh\nexit 1\n")
    done = _run(tmp_path, 1000)
    assert done.returncode == 1
    assert "install them and run again" in done.stderr
    assert not (tmp_path / "asked").exists()


def test_a_failed_installation_shows_why(tmp_path: Path) -> None:
    _command(tmp_path, "apt-get", "#!/bin/sh\necho no route to the archive\nexit 100\n")
    _command(tmp_path, "sudo", SUDO)
    done = _run(tmp_path)
    assert done.returncode == 1
    assert "no route to the archive" in done.stderr
    assert "The tests need chromium and libreoffice-calc" in done.stderr
