"""The engine is handed everything: no clock, chance, float, file, network or output in it."""

import ast
from collections.abc import Iterator
from typing import Final

import pytest

from tests.house.tree import ROOT, python_files

#: What the engine may import beside itself. A new name here must be as pure as these.
PURE: Final = {
    "collections",
    "dataclasses",
    "decimal",
    "difflib",
    "enum",
    "fractions",
    "functools",
    "hashlib",
    "itertools",
    "marshmallow",
    "operator",
    "pint",
    "re",
    "rfc8785",
    "scoring",
    "types",
    "typing",
    "unicodedata",
    "yaml",
}
IMPURE_CALLS: Final = {
    "__import__",
    "breakpoint",
    "eval",
    "exec",
    "float",
    "input",
    "open",
    "print",
}


def impurities(source: str) -> list[str]:
    """Return what in a text would make a result depend on more than record and rulebook."""
    return [
        f"line {getattr(node, 'lineno', 0)}: {what}"
        for node in ast.walk(ast.parse(source))
        for what in _of(node)
    ]


def _of(node: ast.AST) -> Iterator[str]:
    match node:
        case ast.Import(names=names):
            yield from (f"imports {name.name}" for name in names if not _pure(name.name))
        case ast.ImportFrom(module=str(module)) if not _pure(module):
            yield f"imports {module}"
        case ast.Constant(value=float() | complex()):
            yield f"float {node.value!r}"
        case ast.Call(func=ast.Name(id=name)) if name in IMPURE_CALLS:
            yield f"calls {name}"
        case ast.BinOp(op=ast.Div()) if not (_exact(node.left) or _exact(node.right)):
            yield "true division without a Fraction"
        case ast.AugAssign(op=ast.Div()):
            yield "true division in place"
        case ast.BinOp(op=ast.Pow(), right=ast.UnaryOp(op=ast.USub())):
            yield "negative power"


def _pure(module: str) -> bool:
    return module.split(".", maxsplit=1)[0] in PURE


def _exact(node: ast.expr) -> bool:
    return isinstance(node, ast.Call) and ast.unparse(node.func) == "Fraction"


def test_the_engine_is_handed_everything() -> None:
    found = {
        str(path): complaints
        for path in python_files("scoring")
        if (complaints := impurities((ROOT / path).read_text(encoding="utf-8")))
    }
    assert found == {}


@pytest.mark.parametrize(
    "source",
    [
        "import time",
        "from os import environ",
        "import collections, random",
        "from pathlib import Path",
        "from flask import request",
        "half = 0.5",
        "half = total / 2",
        "total /= 2",
        "tenth = 10 ** -1",
        "float('nan')",
        "print(total)",
        "with open('rulebook.yaml') as file: pass",
    ],
)
def test_an_impurity_is_noticed(source: str) -> None:
    assert impurities(source)


def test_an_exact_quotient_is_no_impurity() -> None:
    assert impurities("from fractions import Fraction\nhalf = Fraction(total) / 2") == []
