import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

import scoring
from tests.house.tree import ROOT, python_files


def side_doors(source: str) -> list[str]:
    """Return the modules inside `scoring` that a text imports past the front door."""
    found = []
    for node in ast.walk(ast.parse(source)):
        match node:
            case ast.Import(names=names):
                found += [name.name for name in names if name.name.startswith("scoring.")]
            case ast.ImportFrom(module=str(module)) if module.startswith("scoring."):
                found.append(module)
            case ast.ImportFrom(module="scoring", names=names):
                found += [
                    f"scoring.{name.name}" for name in names if name.name not in scoring.__all__
                ]
    return found


def _outsiders() -> Iterator[Path]:
    for path in python_files("web", "tests"):
        if path.parts[:2] != ("tests", "scoring"):
            yield path


def test_the_front_door_lists_what_it_imports() -> None:
    tree = ast.parse(Path(scoring.__file__).read_text(encoding="utf-8"))
    imported = [
        name.asname or name.name
        for node in tree.body
        if isinstance(node, ast.ImportFrom)
        for name in node.names
    ]
    assert sorted(imported) == sorted(scoring.__all__)


def test_whoever_is_outside_comes_in_by_the_front_door() -> None:
    found = {
        str(path): doors
        for path in _outsiders()
        if (doors := side_doors((ROOT / path).read_text(encoding="utf-8")))
    }
    assert found == {}


@pytest.mark.parametrize(
    "source",
    ["import scoring.fold", "from scoring.fold import fold", "from scoring import _hidden"],
)
def test_a_side_door_is_noticed(source: str) -> None:
    assert side_doors(source)
