"""A rulebook as a workbook and back, without loss.

The sheet `Rules` has a row a rule, in order, with the place it stands at (a task, `block: …`, or
nothing for the whole run), its kind, its id and a column for each further key. The sheet `Rulebook`
has a row for everything else: the keys that lead to it, and its value. Lists and mappings stand in
a cell as YAML on one line. Brought back into the file it came from, only what was changed changes:
comments and layout stay.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from io import BytesIO
from typing import Any, Final

from openpyxl import Workbook
from openpyxl.styles import Alignment, Font
from openpyxl.utils import get_column_letter
from ruamel.yaml.comments import CommentedMap, CommentedSeq
from ruamel.yaml.error import YAMLError

from scoring import KINDS, Problem, TableError
from web.exports.rulebook_file import document_text, load_document, one_line, parse_line
from web.exports.run_table import read_sheets

_RULES: Final = "Rules"
_REST: Final = "Rulebook"
_FIXED: Final = ("place", "kind", "id")
_USES: Final = "use"
_AS: Final = "as"
_BLOCK: Final = "block: "
_SEPARATOR: Final = " > "
_WIDEST: Final = 60


@dataclass(frozen=True, slots=True)
class Row:
    """One rule: where it stands, its kind and id, and its other keys as cells."""

    place: str
    kind: str
    id: str
    cells: dict[str, str]

    @property
    def name(self) -> tuple[str, str]:
        """What sets it apart from the rules beside it: a use of a block is its own place."""
        return self.kind, self.cells.get(_AS, "") if self.kind == _USES else self.id


@dataclass(frozen=True, slots=True)
class Rows:
    """A whole rulebook as rows: its rules in order, and the rest by path."""

    rules: tuple[Row, ...]
    rest: dict[str, str]


def rulebook_workbook(text: str) -> bytes:
    """The workbook of a rulebook's text."""
    rows = rows_of(load_document(text))
    book = Workbook()
    sheet = book.active
    assert sheet is not None  # noqa: S101 - a new workbook has one
    sheet.title = _RULES
    keys = list(dict.fromkeys(key for row in rows.rules for key in row.cells))
    _write(
        sheet,
        [
            [*_FIXED, *keys],
            *(
                [row.place, row.kind, row.id, *(row.cells.get(key, "") for key in keys)]
                for row in rows.rules
            ),
        ],
    )
    _write(book.create_sheet(_REST), [["keys", "value"], *map(list, rows.rest.items())])
    out = BytesIO()
    book.save(out)
    return out.getvalue()


def _write(sheet: Any, lines: list[list[str]]) -> None:
    for n, line in enumerate(lines, start=1):
        for m, value in enumerate(line, start=1):
            cell = sheet.cell(n, m)
            if value:
                cell.value = value
                # A text that begins with an equals sign is no formula.
                cell.data_type = "s"
            cell.alignment = Alignment(wrap_text=True, vertical="top")
            if n == 1:
                cell.font = Font(bold=True)
    for m in range(1, len(lines[0]) + 1):
        widest = max((len(line[m - 1]) for line in lines if m <= len(line)), default=0)
        sheet.column_dimensions[get_column_letter(m)].width = min(_WIDEST, widest + 2)
    sheet.freeze_panes = "D2" if sheet.title == _RULES else "A2"


def rows_of(document: CommentedMap) -> Rows:
    """A document as rows."""
    rules, rest = [], {}
    for place, rule in _placed(document):
        kind = next((key for key in rule if key in KINDS or key == _USES), "")
        cells = {str(key): one_line(value) for key, value in rule.items() if key != kind}
        rules.append(Row(place, kind, str(rule.get(kind, "")), cells))
    for path, value in _rest(document):
        rest[_SEPARATOR.join(path)] = one_line(value)
    return Rows(tuple(rules), rest)


def _lists(document: CommentedMap) -> Iterator[tuple[str, CommentedMap, str]]:
    """Every list of rules: its place, and the mapping and key it stands under."""
    for task in document.get("tasks", ()):
        yield str(task.get("task", "")), task, "rules"
    if "rules" in document:
        yield "", document, "rules"
    for name in document.get("blocks", {}):
        yield f"{_BLOCK}{name}", document["blocks"], name


def _placed(document: CommentedMap) -> Iterator[tuple[str, CommentedMap]]:
    for place, holder, key in _lists(document):
        for rule in holder.get(key, ()):
            yield place, rule


def _rest(document: CommentedMap) -> Iterator[tuple[tuple[str, ...], Any]]:
    """Everything but rules, by path; a task's path is its id."""
    for key, value in document.items():
        if key == "tasks":
            for task in value:
                for name, said in task.items():
                    if name not in {"rules", "task"}:
                        yield ("tasks", str(task["task"]), str(name)), said
        elif key not in {"rules", "blocks"}:
            yield from _leaves((str(key),), value)


def _leaves(path: tuple[str, ...], value: Any) -> Iterator[tuple[tuple[str, ...], Any]]:
    if isinstance(value, dict) and value:
        for key, below in value.items():
            yield from _leaves((*path, str(key)), below)
    else:
        yield path, value


def changed_text(text: str, content: bytes, file: str) -> str:
    """A rulebook's text with what was changed in its workbook brought into it.

    Raises `TableError` for a workbook that is none of ours.
    """
    document = load_document(text)
    before, after = rows_of(document), _read(content, file)
    _apply_rest(document, before.rest, after.rest)
    _apply_rules(document, before, after, file)
    return document_text(document)


def _read(content: bytes, file: str) -> Rows:
    sheets = read_sheets(content, file)
    for name in (_RULES, _REST):
        if not sheets.get(name):
            raise _wrong(file, 1, f"There is no sheet '{name}' in this workbook, or it is empty.")
    heads, *lines = sheets[_RULES]
    if tuple(heads[: len(_FIXED)]) != _FIXED:
        raise _wrong(file, 1, f"The sheet '{_RULES}' begins with the columns {', '.join(_FIXED)}.")
    rules = []
    for number, line in enumerate(lines, start=2):
        if not line:
            continue
        place, kind, name, *cells = [*line, *[""] * (len(heads) - len(line))]
        if kind not in KINDS and kind != _USES:
            kinds = ", ".join(f"'{each}'" for each in (*KINDS, _USES))
            raise _wrong(file, number, f"'{kind[:60]}' is no kind of rule; there are {kinds}.")
        said = zip(heads[len(_FIXED) :], cells, strict=False)
        rules.append(Row(place, kind, name, {key: value for key, value in said if value}))
    rest = {line[0]: line[1] for line in sheets[_REST][1:] if len(line) > 1}
    return Rows(tuple(rules), rest)


def _wrong(file: str, row: int, says: str) -> TableError:
    return TableError(file, (Problem(row, 1, "", says),))


def _apply_rest(document: CommentedMap, before: dict[str, str], after: dict[str, str]) -> None:
    """Set what has another value now, drop what is gone, add what is new."""
    for path, value in after.items():
        if before.get(path) != value:
            *above, key = path.split(_SEPARATOR)
            _holder(document, above)[key] = _typed(value)
    for path in before.keys() - after.keys():
        *above, key = path.split(_SEPARATOR)
        _holder(document, above).pop(key, None)


def _holder(document: CommentedMap, above: list[str]) -> Any:
    """The mapping under which a path's last key stands; it is made where it is missing."""
    if above[:1] == ["tasks"]:
        task = next((each for each in document["tasks"] if str(each["task"]) == above[1]), None)
        if task is None:
            task = CommentedMap(task=above[1])
            document["tasks"].append(task)
        return task
    holder: Any = document
    for key in above:
        holder = holder.setdefault(key, CommentedMap())
    return holder


def _apply_rules(document: CommentedMap, before: Rows, after: Rows, file: str) -> None:
    """Bring each place's rules into the order and words of the workbook."""
    known = {(place, _named(rule)): rule for place, rule in _placed(document)}
    was = {(row.place, row.name): row for row in before.rules}
    places = {place: (holder, key) for place, holder, key in _lists(document)}
    wanted: dict[str, list[Row]] = {place: [] for place in places}
    for number, row in enumerate(after.rules, start=2):
        if row.place not in wanted:
            there = ", ".join(f"'{place}'" for place in wanted)
            raise _wrong(file, number, f"There is no place '{row.place[:60]}'; there are {there}.")
        wanted[row.place].append(row)
    for place, rows in wanted.items():
        holder, key = places[place]
        old = list(holder.get(key, ()))
        new = []
        for row in rows:
            name = (place, row.name)
            rule = known.get(name)
            if rule is None:
                rule = CommentedMap({row.kind: row.id})
                rule.fa.set_flow_style()
            _apply_cells(rule, was[name].cells if name in was else {}, row.cells)
            new.append(rule)
        if [id(rule) for rule in old] != [id(rule) for rule in new]:
            rules = holder.get(key)
            if rules is None:
                rules = holder[key] = CommentedSeq()
            rules[:] = new


def _apply_cells(rule: CommentedMap, before: dict[str, str], after: dict[str, str]) -> None:
    for key, value in after.items():
        if before.get(key) != value:
            rule[key] = _typed(value)
    for key in before.keys() - after.keys():
        del rule[key]


def _named(rule: CommentedMap) -> tuple[str, str]:
    kind = next((str(key) for key in rule if key in KINDS or key == _USES), "")
    return kind, str(rule.get(_AS if kind == _USES else kind, ""))


def _typed(value: str) -> Any:
    """A cell as it stands in the file: a list or mapping where it is written as one."""
    if value[:1] in {"[", "{"}:
        try:
            return parse_line(value)
        except YAMLError:
            return value
    return value
