"""Rulebooks with readings, and what judges key in."""

from typing import Any

from scoring import Entry, Given, Rulebook, Value
from scoring.ids import RuleId
from tests.scoring.builders import book, entry

#: The lines that stand before the rules in a rulebook of `values`.
GIVENS = (
    "{supply: {number: V}, target: {choices: [left, right]}, today: {date: month/day/year}, "
    "cold: {number: °C}}"
)


def values(*rules: str, givens: str | None = GIVENS, post: str = "north") -> Rulebook:
    """A rulebook of these rules, each as its author writes it, at one post or several."""
    lines = [f"  - {{{rule}, post: {post}{_costs(rule)}}}" for rule in rules]
    return book(rules="\n" + "\n".join(lines), givens=givens)


def _costs(rule: str) -> str:
    """A derived value without limits cannot fail."""
    fails = not rule.startswith("derived") or "at-" in rule or "band" in rule
    return ", costs: slip" if fails else ""


def wrote(
    value: str, item: str = "", *, rule: str = "r", legible: bool = True, **where: Any
) -> Entry:
    """What a judge keyed in."""
    return entry(Value(RuleId(rule), value, item, legible), **where)


def drawn(name: str, value: str, **where: Any) -> Entry:
    """What was drawn for the run, or measured at its bay."""
    return entry(Given(name, value), post=None, by="head", **where)
