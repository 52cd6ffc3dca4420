"""A rulebook file's bytes to a `Rulebook`, or every problem with its line and column.

Every scalar is read as the text its author wrote. Doubled keys are refused. What would grow a small
file beyond bounds (aliases of aliases), nest it without end or make it huge is refused before any
value is made.
"""

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

import yaml
from marshmallow import ValidationError

from scoring.errors import Problem, RulebookError
from scoring.rulebook.checks import Path, build
from scoring.rulebook.model import Rulebook
from scoring.rulebook.schema import RulebookSchema

LARGEST: Final = 1_000_000
_MOST_NODES: Final = 50_000
_DEEPEST: Final = 20
_Loader: Final = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_TEXT_TAGS: Final = "tag:yaml.org,2002:"


def read_rulebook(content: bytes, file: str = "rulebook") -> Rulebook:
    """The rulebook that the bytes of a YAML file say.

    Raises `RulebookError` with every problem, each at its line and column.
    """
    tree = _compose(content, file)
    reading = _Reading()
    data = reading.value(tree, (), 0)
    if reading.problems:
        raise RulebookError(file, tuple(reading.problems))
    try:
        values = RulebookSchema().load(data)
    except ValidationError as error:
        raise RulebookError(
            file, tuple(reading.problem(path, says) for path, says in _flat(error.messages, ()))
        ) from error
    book, complaints = build(values, hashlib.sha256(content).hexdigest())
    if book is None:
        raise RulebookError(
            file,
            tuple(
                reading.problem(
                    each.path,
                    each.says
                    + (f" First at line {reading.line(each.first)}." if each.first else ""),
                )
                for each in complaints
            ),
        )
    return book


def _compose(content: bytes, file: str) -> yaml.Node:
    def refuse(line: int, column: int, says: str) -> RulebookError:
        return RulebookError(file, (Problem(line, column, "", says),))

    if len(content) > LARGEST:
        raise refuse(1, 1, f"The file has {len(content):,} bytes; at most {LARGEST:,} are allowed.")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise refuse(line, 1, "The file is not UTF-8 text; save it as UTF-8.") from error
    try:
        _bounded(text)
        tree = yaml.compose(text, Loader=_Loader)
    except _TooDeepError as error:
        raise refuse(error.line, 1, f"Nested more than {_DEEPEST} deep.") from error
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        line, column = (mark.line + 1, mark.column + 1) if mark else (1, 1)
        said = " ".join(part for part in (error.context, error.problem) if part)
        raise refuse(line, column, f"This is not YAML: {said}.") from error
    except yaml.YAMLError as error:
        raise refuse(1, 1, f"This is not YAML: {str(error).splitlines()[0]}.") from error
    if tree is None:
        raise refuse(1, 1, "The file is empty; a rulebook begins with 'rulebook: its-id'.")
    return tree


class _TooDeepError(Exception):
    def __init__(self, line: int) -> None:
        self.line = line


def _bounded(text: str) -> None:
    """Refuse nesting that would exhaust the stack of the composer, which calls itself."""
    depth = 0
    for event in yaml.parse(text, Loader=_Loader):
        if isinstance(event, yaml.CollectionStartEvent):
            depth += 1
            if depth > _DEEPEST:
                raise _TooDeepError(event.start_mark.line + 1 if event.start_mark else 1)
        elif isinstance(event, yaml.CollectionEndEvent):
            depth -= 1


@dataclass(slots=True)
class _Place:
    """Where a key and its value stand."""

    key: Any
    value: Any


class _Reading:
    """Values out of nodes, with the place of each path and what is wrong on the way."""

    def __init__(self) -> None:
        self.problems: list[Problem] = []
        self._places: dict[Path, _Place] = {}
        self._nodes = 0

    def value(self, node: yaml.Node, path: Path, depth: int) -> Any:
        """Plain text, lists and mappings of a node."""
        self._nodes += 1
        if self._nodes > _MOST_NODES or depth > _DEEPEST:
            if not self.problems:
                bounds = f"{_MOST_NODES:,} values or {_DEEPEST} levels"
                says = f"Aliases make this file grow beyond {bounds}."
                self.problems.append(
                    Problem(node.start_mark.line + 1, node.start_mark.column + 1, "", says)
                )
            return None
        self._places.setdefault(path, _Place(node.start_mark, node.start_mark))
        if isinstance(node, yaml.MappingNode):
            return self._mapping(node, path, depth)
        if isinstance(node, yaml.SequenceNode):
            return [
                self.value(each, (*path, index), depth + 1) for index, each in enumerate(node.value)
            ]
        if not node.tag.startswith(_TEXT_TAGS):
            self._refuse(node, path, f"The tag {node.tag[:40]} is not allowed; write plain text.")
        return node.value

    def _mapping(self, node: yaml.MappingNode, path: Path, depth: int) -> dict[str, Any]:
        values: dict[str, Any] = {}
        for key, value in node.value:
            if not isinstance(key, yaml.ScalarNode):
                self._refuse(key, path, "A key must be a plain word.")
            elif key.value == "<<":
                self._refuse(key, path, "Merge keys (<<) are not allowed; write the keys out.")
            elif key.value in values:
                line = self._places[(*path, key.value)].key.line + 1
                self._refuse(
                    key, path, f"The key '{key.value}' stands here twice. First at line {line}."
                )
            else:
                self._places[(*path, key.value)] = _Place(key.start_mark, value.start_mark)
                values[key.value] = self.value(value, (*path, key.value), depth + 1)
        return values

    def _refuse(self, node: yaml.Node, path: Path, says: str) -> None:
        mark = node.start_mark
        self.problems.append(Problem(mark.line + 1, mark.column + 1, _said(path), says))

    def problem(self, path: Path, says: str) -> Problem:
        """A complaint about a path, at the place of the nearest thing that is written."""
        mark = self._mark(path, at_key=says.startswith("Unknown key"))
        return Problem(mark.line + 1, mark.column + 1, _said(path), says)

    def line(self, path: Path) -> int:
        """The 1-based line a path stands on."""
        return int(self._mark(path, at_key=True).line) + 1

    def _mark(self, path: Path, *, at_key: bool) -> Any:
        while path not in self._places:
            path = path[:-1]
        place = self._places[path]
        return place.key if at_key else place.value


def _flat(messages: Any, path: Path) -> Iterator[tuple[Path, str]]:
    """Marshmallow's nested messages as paths and sentences."""
    if isinstance(messages, dict):
        for key, below in messages.items():
            yield from _flat(below, path if key in {"_schema", "key", "value"} else (*path, key))
    else:
        for message in messages if isinstance(messages, list) else [messages]:
            yield path, str(message)


def _said(path: Path) -> str:
    """A path as people read it: `tasks[0].rules[2].costs`."""
    said = ""
    for key in path:
        said += f"[{key}]" if isinstance(key, int) else f".{key}" if said else key
    return said
