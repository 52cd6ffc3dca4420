"""Blocks: rules written once and used at several places, each with ids and words of its own.

`{use: anchors, as: B1, with: {side: uphill}}` stands for the rules of the block `anchors`. Each
gets an id that names the place (`B1.set`); where a rule of the block names another of the block,
the name follows; `<side>` becomes what the place says. Where a rule names a place (`after: B1`),
all rules of that use are meant. No block uses a block, so nothing grows beyond what is written.
"""

import re
from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass, field
from itertools import islice
from typing import Any, Final

from scoring.fields import listed, nearest
from scoring.ids import NAME, NAME_SAYS
from scoring.kinds import KINDS
from scoring.kinds.base import Path

#: More rules than this nobody reads aloud, watches or marks.
MOST_RULES: Final = 2_000
_GAP: Final = re.compile(r"<([A-Za-z0-9][A-Za-z0-9._-]*)>")
USE_KEYS: Final = ("use", "as", "with")
#: The keys under which a rule names others, and of these the ones that may name all of a use.
_NAMES: Final = frozenset({"after", "before", "from", "until", "of", "computed"})
_ALL_OF: Final = frozenset({"after", "before"})


@dataclass(slots=True)
class Expanded:
    """The values with every use written out, where each rule came from, and what is wrong."""

    data: dict[str, Any]
    #: The path of a rule now, and where it is written: in the list itself, or in a block.
    origins: dict[Path, Path] = field(default_factory=dict)
    #: What is wrong, by the path where it is written.
    wrong: list[tuple[Path, str]] = field(default_factory=list)
    #: The lists that are empty because of that, so that nobody wants something in them.
    emptied: set[Path] = field(default_factory=set)


@dataclass(slots=True)
class _Writer:
    """What is written out so far."""

    blocks: Mapping[str, list[dict[str, Any]]]
    result: Expanded
    #: Where each place is, and the ids of the rules that it stands for.
    places: dict[str, tuple[Path, list[str]]] = field(default_factory=dict)
    used: set[str] = field(default_factory=set)
    #: Every list of rules as it is written out, and how many rules there are in all.
    lists: list[list[Any]] = field(default_factory=list)
    rules: int = 0
    is_full: bool = False

    def wrong(self, path: Path, says: str) -> None:
        self.result.wrong.append((path, says))


def expand(data: dict[str, Any]) -> Expanded:
    """Write out every use of a block. Values of the wrong shape are left to the schema."""
    result = Expanded({key: value for key, value in data.items() if key != "blocks"})
    writer = _Writer(_blocks(data.get("blocks"), result), result)
    if isinstance(tasks := data.get("tasks"), list):
        result.data["tasks"] = [
            {**task, "rules": _rules(task["rules"], ("tasks", n, "rules"), writer)}
            if isinstance(task, dict) and isinstance(task.get("rules"), list)
            else task
            for n, task in enumerate(tasks)
        ]
    if isinstance(free := data.get("rules"), list):
        result.data["rules"] = _rules(free, ("rules",), writer)
    _spread(writer)
    for name, rules in writer.blocks.items():
        if rules and name not in writer.used:
            writer.wrong(("blocks", name), f"No place uses the block '{name}'.")
    return result


def _blocks(blocks: Any, result: Expanded) -> dict[str, list[dict[str, Any]]]:
    """The rules of each block, none where something about it is wrong."""
    if blocks is None:
        return {}
    if not isinstance(blocks, dict):
        result.wrong.append((("blocks",), "Write a mapping (id: rules) here."))
        return {}
    usable: dict[str, list[dict[str, Any]]] = {}
    for name, rules in blocks.items():
        says = ""
        if not NAME.fullmatch(name):
            says = f"'{name[:60]}' cannot be an id; allowed are {NAME_SAYS}."
        elif not isinstance(rules, list) or not all(isinstance(rule, dict) for rule in rules):
            says = "Write a list of rules here."
        elif not rules:
            says = "An empty list; write something in it."
        elif any("use" in rule for rule in rules):
            says = "A block uses no block; write its rules out."
        if says:
            result.wrong.append((("blocks", name), says))
        usable[name] = [] if says else rules
    return usable


def _spread(writer: _Writer) -> None:
    """Where a rule names a place, have it name the rules there."""
    every = [rule for rules in writer.lists for rule in rules if isinstance(rule, dict)]
    ids = {_id(rule) for rule in every}
    for place, (path, _) in writer.places.items():
        if place in ids:
            writer.wrong((*path, "as"), f"'{place}' is a rule already; give this another id.")
    places = {place: names for place, (_, names) in writer.places.items()}
    for rules in writer.lists:
        for n, rule in enumerate(rules):
            if isinstance(rule, dict) and _ALL_OF & rule.keys():
                rules[n] = {
                    key: _in_names(value, lambda names: _all_of(places, names))
                    if key in _ALL_OF
                    else value
                    for key, value in rule.items()
                }


def _rules(rules: list[Any], path: Path, writer: _Writer) -> list[Any]:
    """A list of rules with its uses written out."""
    written: list[Any] = []
    writer.lists.append(written)
    for n, rule in enumerate(rules):
        here = (*path, n)
        uses = isinstance(rule, dict) and "use" in rule
        room = MOST_RULES - writer.rules
        copies = list(islice(_use(rule, here, writer), room + 1)) if uses else [(here, rule)]
        if len(copies) > room:
            if not writer.is_full:
                writer.wrong(here, f"That makes more than {MOST_RULES:,} rules.")
            writer.is_full = True
            break
        writer.rules += len(copies)
        for place, copy in copies:
            writer.result.origins[*path, len(written)] = place
            written.append(copy)
    if rules and not written:
        writer.result.emptied.add(path)
    return written


def _use(use: dict[str, Any], here: Path, writer: _Writer) -> Iterator[tuple[Path, dict[str, Any]]]:
    """The rules that a use stands for, each with where it is written."""
    name, words = str(use["use"]), use.get("with", {})
    place: Any = use.get("as")
    writer.used.add(name)
    for key in use:
        if key not in USE_KEYS:
            says = f"Unknown key '{key[:60]}'; allowed are {listed(USE_KEYS)}."
            writer.wrong((*here, key), says + nearest(key, USE_KEYS))
    wrong = _wrong_use(name, place, words, writer)
    if wrong is not None:
        key, says = wrong
        writer.wrong((*here, key) if key in use else here, says)
    elif rules := writer.blocks[name]:
        ids = dict.fromkeys(map(_id, rules))
        writer.places[place] = (here, [f"{place}.{each}" for each in ids])
        _check_words(name, set(_gaps(rules)), words, here, writer)
        for n, rule in enumerate(rules):
            yield ("blocks", name, n), _copy(rule, place, ids, words)


def _wrong_use(name: str, place: Any, words: Any, writer: _Writer) -> tuple[str, str] | None:
    """What makes a use no use: the key it is about, and a sentence."""
    if not isinstance(place, str) or not NAME.fullmatch(place):
        return "as", f"Say where it is used with 'as': {NAME_SAYS}."
    if place in writer.places:
        return "as", f"'{place}' is a place already; give this one another id."
    if not isinstance(words, dict) or not all(isinstance(word, str) for word in words.values()):
        return "with", "Write a mapping (word: text) here."
    if name not in writer.blocks:
        known = list(writer.blocks)
        says = f"There is no block '{name[:60]}'; there are {listed(known)}."
        return "use", says + nearest(name, known)
    return None


def _check_words(
    name: str, gaps: set[str], words: Mapping[str, str], here: Path, writer: _Writer
) -> None:
    """Whether a place says what each gap of a block becomes, and nothing else."""
    for missing in sorted(gaps - words.keys()):
        writer.wrong(here, f"The block '{name}' needs '{missing[:60]}'; give it with 'with'.")
    for extra in sorted(words.keys() - gaps):
        says = f"The block '{name}' has no '<{extra[:60]}>'; it has {listed(sorted(gaps))}."
        writer.wrong((*here, "with", extra), says)


def _copy(
    rule: dict[str, Any], place: str, own: Collection[str], words: Mapping[str, str]
) -> dict[str, Any]:
    """A rule of a block as it stands at a place."""

    def named(text: str) -> str:
        return f"{place}.{text}" if text in own else filled(text)

    def filled(text: str) -> str:
        return _GAP.sub(lambda gap: words.get(gap[1], gap[0]), text)

    copy = {key: _each(value, filled) for key, value in rule.items()}
    for key in _NAMES & rule.keys():
        copy[key] = _in_names(rule[key], lambda names: _each(names, named), filled)
    for key in KINDS.keys() & rule.keys():
        if isinstance(rule[key], str):
            copy[key] = f"{place}.{rule[key]}"
    return copy


def _each(value: Any, change: Callable[[str], str]) -> Any:
    """A value with each text in it changed."""
    if isinstance(value, list):
        return [_each(each, change) for each in value]
    if isinstance(value, dict):
        return {key: _each(each, change) for key, each in value.items()}
    return change(value)


def _in_names(
    value: Any, change: Callable[[Any], Any], rest: Callable[[str], str] = lambda text: text
) -> Any:
    """What stands under a key that names rules, with the names changed: `after` may say more."""
    if not isinstance(value, dict):
        return change(value)
    return {key: change(v) if key == "rules" else _each(v, rest) for key, v in value.items()}


def _all_of(places: Mapping[str, list[str]], names: Any) -> Any:
    """The names of rules, with each name of a place replaced by the ids of the rules there."""
    if isinstance(names, str):
        return places.get(names, names)
    if not isinstance(names, list):
        return names
    spread = [places.get(name, [name]) if isinstance(name, str) else [name] for name in names]
    return [each for those in spread for each in those]


def _id(rule: Mapping[str, Any]) -> str:
    """The id of a rule as it is written in a block."""
    return next((str(value) for key, value in rule.items() if key in KINDS), "")


def _gaps(value: Any) -> Iterator[str]:
    """Every `<word>` in the texts of a value."""
    if isinstance(value, list):
        for each in value:
            yield from _gaps(each)
    elif isinstance(value, dict):
        yield from _gaps(list(value.values()))
    else:
        yield from _GAP.findall(value)
