"""Run the tests: `python -m tests [pytest's own arguments]`.

The browser tests drive Debian's chromium and the workbook tests have LibreOffice recalculate;
both are brought with apt-get where they are missing and may be installed.
"""

import os
import shutil
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Final

import pytest

#: Command that shows a package is there → the package.
NEEDS: Final[Mapping[str, str]] = {"chromium": "chromium", "localc": "libreoffice-calc"}
_QUIETLY: Final = {"DEBIAN_FRONTEND": "noninteractive"}
_PATIENTLY: Final = ("-qq", "-o", "DPkg::Lock::Timeout=600")


def missing() -> list[str]:
    """Name the packages whose command is not on the PATH."""
    return [package for command, package in NEEDS.items() if not shutil.which(command)]


def _apt_get() -> list[str] | None:
    """Return how apt-get can be run here, or None where it cannot."""
    found = shutil.which("apt-get")
    if not found:
        return None
    if os.geteuid() == 0:
        return [found]
    sudo = shutil.which("sudo")
    if (
        not sudo
        or subprocess.run([sudo, "-n", "true"], capture_output=True, check=False).returncode
    ):
        return None
    return [sudo, "-n", "env", *(f"{name}={value}" for name, value in _QUIETLY.items()), found]


def _install(apt_get: list[str], packages: list[str]) -> None:
    environment = {**os.environ, **_QUIETLY}
    for step in (["update"], ["install", "--yes", "--no-install-recommends", *packages]):
        done = subprocess.run(
            [*apt_get, *_PATIENTLY, *step],
            env=environment,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            check=False,
        )
        if done.returncode:
            sys.stderr.write(done.stdout)
            return


def main() -> int:
    """Bring what the tests need, then run them; say so in one sentence where that fails."""
    needed = missing()
    apt_get = _apt_get()
    if needed and apt_get:
        sys.stderr.write(f"Installing {' and '.join(needed)} with apt-get; this takes minutes.\n")
        _install(apt_get, needed)
    if still := missing():
        sys.stderr.write(f"The tests need {' and '.join(still)}: install them and run again.\n")
        return 1
    os.chdir(Path(__file__).parents[1])
    return pytest.main(sys.argv[1:])


if __name__ == "__main__":
    raise SystemExit(main())
