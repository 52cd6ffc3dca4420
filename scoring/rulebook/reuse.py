"""Blocks: rules written once and used at several places, each with ids and words of its own.

`{use: anchors, as: B1, with: {side: uphill}}` stands for the rules of the block `anchors`. Each
gets an id that names the place (`B1.set`); where a rule of the block names another of the block,
the name follows; `<side>` in a text becomes what the place says. No block uses a block, so nothing
grows beyond what is written.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from scoring.fields import listed, nearest
from scoring.ids import NAME, NAME_SAYS
from scoring.kinds import KINDS
from scoring.kinds.base import Path

#: More rules than this nobody reads aloud, watches or marks.
MOST_RULES: Final = 2_000
_GAP: Final = re.compile(r"<([A-Za-z0-9][A-Za-z0-9._-]*)>")
_USE_KEYS: Final = ("use", "as", "with")
#: The keys under which a rule names others.
_NAMES: Final = ("after", "before", "from", "until", "of", "rules")


@dataclass(slots=True)
class Expanded:
    """The values with every use written out, where each rule came from, and what is wrong."""

    data: dict[str, Any]
    #: The path of a rule now, and where it is written: in the list itself, or in a block.
    origins: dict[Path, Path] = field(default_factory=dict)
    #: What is wrong, by the path where it is written.
    wrong: list[tuple[Path, str]] = field(default_factory=list)


def expand(data: dict[str, Any]) -> Expanded:
    """Write out every use of a block. Values of the wrong shape are left to the schema."""
    blocks = data.get("blocks")
    known: Mapping[str, Any] = blocks if isinstance(blocks, dict) else {}
    result = Expanded({key: value for key, value in data.items() if key != "blocks"})
    _check_blocks(blocks, result)
    used: set[str] = set()
    if isinstance(tasks := data.get("tasks"), list):
        result.data["tasks"] = [
            {**task, "rules": _rules(task["rules"], ("tasks", n, "rules"), known, result, used)}
            if isinstance(task, dict) and isinstance(task.get("rules"), list)
            else task
            for n, task in enumerate(tasks)
        ]
    if isinstance(rules := data.get("rules"), list):
        result.data["rules"] = _rules(rules, ("rules",), known, result, used)
    for name in known:
        if name not in used:
            result.wrong.append((("blocks", name), f"No place uses the block '{name}'."))
    return result


def _check_blocks(blocks: Any, result: Expanded) -> None:
    if blocks is None:
        return
    if not isinstance(blocks, dict):
        result.wrong.append((("blocks",), "Write a mapping (id: rules) here."))
        return
    for name, rules in blocks.items():
        if not NAME.fullmatch(name):
            says = f"'{name[:60]}' cannot be an id; allowed are {NAME_SAYS}."
            result.wrong.append((("blocks", name), says))
        if not isinstance(rules, list) or not all(isinstance(rule, dict) for rule in rules):
            result.wrong.append((("blocks", name), "Write a list of rules here."))
        elif any("use" in rule for rule in rules):
            result.wrong.append((("blocks", name), "A block uses no block; write its rules out."))


def _rules(
    rules: list[Any], path: Path, blocks: Mapping[str, Any], result: Expanded, used: set[str]
) -> list[Any]:
    """A list of rules with its uses written out."""
    written: list[Any] = []
    for n, rule in enumerate(rules):
        here = (*path, n)
        if not isinstance(rule, dict) or "use" not in rule:
            result.origins[*path, len(written)] = here
            written.append(rule)
            continue
        used.add(str(rule["use"]))
        for place, copy in _use(rule, here, blocks, result):
            result.origins[*path, len(written)] = place
            written.append(copy)
        if len(written) > MOST_RULES:
            result.wrong.append((here, f"That makes more than {MOST_RULES:,} rules."))
            return written[:MOST_RULES]
    return written


def _use(
    use: dict[str, Any], here: Path, blocks: Mapping[str, Any], result: Expanded
) -> Iterator[tuple[Path, dict[str, Any]]]:
    """The rules that a use stands for, each with where it is written."""
    name, place, words = use["use"], use.get("as"), use.get("with", {})
    for key in use:
        if key not in _USE_KEYS:
            says = f"Unknown key '{key[:60]}'; allowed are {listed(_USE_KEYS)}."
            result.wrong.append(((*here, key), says + nearest(key, _USE_KEYS)))
    if not isinstance(place, str) or not NAME.fullmatch(place):
        result.wrong.append((here, f"Say where it is used with 'as': {NAME_SAYS}."))
        return
    if not isinstance(words, dict) or not all(isinstance(word, str) for word in words.values()):
        result.wrong.append(((*here, "with"), "Write a mapping (word: text) here."))
        return
    rules = blocks.get(name) if isinstance(name, str) else None
    if not isinstance(rules, list):
        says = f"There is no block '{str(name)[:60]}'; there are {listed(list(blocks))}."
        result.wrong.append(((*here, "use"), says + nearest(str(name), list(blocks))))
        return
    own = {_id(rule) for rule in rules if isinstance(rule, dict)}
    gaps = set(_gaps(rules))
    for missing in sorted(gaps - words.keys()):
        result.wrong.append((here, f"The block '{name}' needs '{missing}'; give it with 'with'."))
    for extra in sorted(words.keys() - gaps):
        says = f"The block '{name}' has no '<{extra[:60]}>'; it has {listed(sorted(gaps))}."
        result.wrong.append(((*here, "with", extra), says))
    for n, rule in enumerate(rules):
        if isinstance(rule, dict):
            yield ("blocks", name, n), _copy(rule, place, own, words)


def _copy(
    rule: dict[str, Any], place: str, own: set[str], words: Mapping[str, str]
) -> dict[str, Any]:
    """A rule of a block as it stands at a place."""

    def named(value: Any) -> Any:
        if isinstance(value, list):
            return [named(each) for each in value]
        if isinstance(value, dict):
            return {key: named(each) for key, each in value.items()}
        return f"{place}.{value}" if value in own else value

    def filled(value: Any) -> Any:
        if isinstance(value, list):
            return [filled(each) for each in value]
        if isinstance(value, dict):
            return {key: filled(each) for key, each in value.items()}
        return _GAP.sub(lambda gap: words.get(gap[1], gap[0]), value)

    return {
        key: f"{place}.{value}"
        if key in KINDS and isinstance(value, str)
        else named(value)
        if key in _NAMES
        else filled(value)
        for key, value in rule.items()
    }


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
