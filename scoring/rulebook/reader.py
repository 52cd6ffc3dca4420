"""A rulebook file's bytes to a `Rulebook`, or every problem with its line and column.

Every scalar is read as the text its author wrote. Doubled keys are refused. What would grow a small
file beyond bounds (aliases of aliases), nest it without end or make it huge is refused before any
value is made.
"""

import hashlib
from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final, Generic, TypeVar

import yaml
from marshmallow import Schema, ValidationError

from scoring.errors import Problem, RulebookError
from scoring.fields import KEY, UNREADABLE
from scoring.rulebook.checks import Complaint, Path, build
from scoring.rulebook.model import Rulebook
from scoring.rulebook.reuse import Expanded, expand
from scoring.rulebook.schema import RulebookSchema

Made = TypeVar("Made")

LARGEST: Final = 1_000_000
_MOST_VALUES: Final = 20_000
_DEEPEST: Final = 20
_Loader: Final = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_TAG: Final = "tag:yaml.org,2002:"
#: What YAML takes a plain text for; all of it stays text here.
_TEXTS: Final = frozenset(
    _TAG + kind for kind in ("str", "null", "bool", "int", "float", "timestamp", "merge", "value")
)


def read_rulebook(content: bytes, file: str = "rulebook") -> Rulebook:
    """The rulebook that the bytes of a YAML file say.

    Raises `RulebookError` with every problem, each at its line and column.
    """
    return read_file(content, file, _RULEBOOK)


@dataclass(frozen=True, slots=True)
class FileKind(Generic[Made]):
    """A kind of file: its schema, what its values make (or every complaint), how it begins.

    `build` is handed the values and the SHA-256 of the bytes, in hex. `expand` writes out what
    the file says once and uses at several places.
    """

    schema: type[Schema]
    build: Callable[[Mapping[str, Any], str], tuple[Made | None, list[Complaint]]]
    begins: str
    expand: Callable[[dict[str, Any]], Expanded] = Expanded


_RULEBOOK: Final = FileKind(
    RulebookSchema, build, "a rulebook begins with 'rulebook: its-id'", expand
)


def read_file(content: bytes, file: str, kind: FileKind[Made]) -> Made:
    """What the bytes of a YAML file make.

    Raises `RulebookError` with every problem, each at its line and column.
    """
    tree = _compose(content, file, kind.begins)
    reading = _Reading()
    try:
        data = reading.value(tree, (), 0)
    except _TooMuchError as error:
        raise RulebookError(file, (error.problem,)) from error
    if reading.problems:
        raise RulebookError(file, tuple(reading.problems))
    if isinstance(data, dict):
        data = reading.expanded(kind.expand(data))
    problems, values = list(reading.problems), {}
    try:
        values = kind.schema().load(data)
    except ValidationError as error:
        problems += [
            reading.problem(path, says)
            for path, says in _flat(error.messages, ())
            if path not in reading.emptied
        ]
    if problems:
        raise RulebookError(file, tuple(problems))
    made, complaints = kind.build(values, hashlib.sha256(content).hexdigest())
    if made is None:
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
    return made


def _compose(content: bytes, file: str, begins: str) -> yaml.Node:
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
    except _TooMuchError as error:
        raise RulebookError(file, (error.problem,)) from error
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        line, column = (mark.line + 1, mark.column + 1) if mark else (1, 1)
        said = " ".join(part for part in (error.context, error.problem) if part)
        raise refuse(line, column, f"This is not YAML: {said}.") from error
    except yaml.YAMLError as error:
        odd = next((each for each in UNREADABLE.finditer(text) if each[0] not in "\r\x85"), None)
        line = text.count("\n", 0, odd.start()) + 1 if odd else 1
        raise refuse(line, 1, f"This is not YAML: {str(error).splitlines()[0]}.") from error
    if tree is None:
        raise refuse(1, 1, f"The file is empty; {begins}.")
    return tree


class _TooMuchError(Exception):
    def __init__(self, mark: Any, says: str) -> None:
        self.problem = Problem(mark.line + 1, mark.column + 1, "", says)


def _bounded(text: str) -> None:
    """Refuse nesting that would exhaust the stack of the composer, which calls itself."""
    depth = 0
    for event in yaml.parse(text, Loader=_Loader):
        if isinstance(event, yaml.CollectionStartEvent):
            depth += 1
            if depth > _DEEPEST:
                raise _TooMuchError(event.start_mark, f"Nested more than {_DEEPEST} deep.")
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
        self._values = 0
        #: Where a rule is written whose number a use of a block has moved.
        self._origins: Mapping[Any, Path] = {}
        #: The lists that such a use has left empty.
        self.emptied: Collection[Any] = ()

    def value(self, node: yaml.Node, path: Path, depth: int) -> Any:
        """Plain text, lists and mappings of a node."""
        self._values += 1
        if self._values > _MOST_VALUES or depth > _DEEPEST:
            bounds = f"{_MOST_VALUES:,} values or {_DEEPEST} levels"
            says = f"With its aliases written out, the file grows beyond {bounds}."
            raise _TooMuchError(node.start_mark, says)
        self._places.setdefault(path, _Place(node.start_mark, node.start_mark))
        if node.tag not in _TEXTS and node.tag not in {_TAG + "map", _TAG + "seq"}:
            self._refuse(node, path, f"The tag {node.tag[:40]} is not allowed; leave it out.")
        if isinstance(node, yaml.MappingNode):
            return self._mapping(node, path, depth)
        if isinstance(node, yaml.SequenceNode):
            return [
                self.value(each, (*path, index), depth + 1) for index, each in enumerate(node.value)
            ]
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
                says = f"The key '{key.value[:60]}' stands here twice. First at line {line}."
                self._refuse(key, path, says)
            else:
                self._places[(*path, key.value)] = _Place(key.start_mark, value.start_mark)
                values[key.value] = self.value(value, (*path, key.value), depth + 1)
        return values

    def expanded(self, result: Expanded) -> dict[str, Any]:
        """The values with every use of a block written out."""
        self.problems.extend(self.problem(path, says) for path, says in result.wrong)
        self._origins, self.emptied = result.origins, result.emptied
        return result.data

    def _refuse(self, node: yaml.Node, path: Path, says: str) -> None:
        mark = node.start_mark
        self.problems.append(Problem(mark.line + 1, mark.column + 1, _said(path), _shown(says)))

    def problem(self, path: Path, says: str) -> Problem:
        """A complaint about a path, at the place of the nearest thing that is written."""
        written, meant = self._written(path)
        place = self._places[written]
        mark = place.key if path[-1:] == (KEY,) else place.value
        return Problem(mark.line + 1, mark.column + 1, _said(meant), _shown(says))

    def line(self, path: Path) -> int:
        """The 1-based line a path stands on."""
        return int(self._places[self._written(path)[0]].key.line) + 1

    def _written(self, path: Path) -> tuple[Path, Path]:
        """As far as a path is written in the file, and the whole of it as the author sees it.

        Where one thing stands without the brackets of a list, nobody wrote its number.
        """
        for length in (4, 2):
            if path[:length] in self._origins:
                path = (*self._origins[path[:length]], *path[length:])
                break
        written: Path = ()
        for n, part in enumerate(path):
            if (*written, part) in self._places:
                written = (*written, part)
            elif part not in {0, KEY}:
                return written, (*written, *path[n:])
        return written, written


def _flat(messages: Any, path: Path) -> Iterator[tuple[Path, str]]:
    """Marshmallow's nested messages as paths and sentences."""
    if isinstance(messages, dict):
        for key, below in messages.items():
            of_all = key == "_schema" and not isinstance(below, dict)
            yield from _flat(below, path if of_all else (*path, key))
    else:
        for message in messages if isinstance(messages, list) else [messages]:
            yield path, str(message)


def _said(path: Path) -> str:
    """A path as people read it: `tasks[0].rules[2].costs`."""
    said = ""
    for key in path:
        if isinstance(key, int):
            said += f"[{key}]"
        elif key is not KEY:
            said += f".{key[:40]}" if said else key[:40]
    return _shown(said)


def _shown(text: str) -> str:
    """A text that stays on its line and does nothing to a terminal."""
    return UNREADABLE.sub("?", " ".join(text.split()))
