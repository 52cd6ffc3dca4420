"""Rules in plain words, word for word: `explained.txt` is what somebody reads aloud."""

from pathlib import Path
from typing import Final

import pytest

from scoring import KINDS, Rule, explain, read_rulebook
from tests.house.tree import ROOT
from tests.scoring.builders import book
from tests.scoring.rulebooks import EVERY_KIND

BOOK: Final = read_rulebook(EVERY_KIND.encode())
_SAID: Final = (Path(__file__).parent / "explained.txt").read_text(encoding="utf-8")
EXPLAINED: Final = dict(zip(BOOK.rules, _SAID.rstrip("\n").split("\n\n"), strict=True))


def test_every_kind_is_explained() -> None:
    assert {rule.kind for rule in BOOK.rules.values()} == {*KINDS}


@pytest.mark.parametrize("rule", BOOK.rules.values(), ids=lambda rule: rule.id)
def test_a_rule_is_explained_with_what_it_would_cost(rule: Rule) -> None:
    said = explain(rule, BOOK)
    lines = [*said.sentences, *(f"  {each.happens}: {each.costs}" for each in said.examples)]
    assert lines == EXPLAINED[rule.id].split("\n")


def test_a_warning_is_said_to_be_one() -> None:
    rules = book(
        penalties="{mild: {seconds: 0, then: 10}}",
        rules="[{conduct: G, text: Gloves, post: north, costs: mild}]",
    )
    [rule] = rules.rules.values()
    assert [each.costs for each in explain(rule, rules).examples] == [
        "a warning",
        "costs 10 s",
        "costs 20 s",
    ]


def test_what_several_must_see_is_priced_as_seen_by_all() -> None:
    rules = book(
        rules="""
  - {step: S, do: It, post: [north, south], costs: {seconds: 9, seen-by: all}}
  - {bonus: B, text: More, post: [north, south], gives: {seconds: 9, seen-by: all}}"""
    )
    costs = [explain(rule, rules).examples[0].costs for rule in rules.rules.values()]
    assert costs == ["costs 9 s", "gives 9 s"]


SHIPPED: Final = sorted((ROOT / "rulebooks").glob("*.yaml"))


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_every_shipped_rule_can_be_explained(path: Path) -> None:
    rules = read_rulebook(path.read_bytes())
    for rule in rules.rules.values():
        said = explain(rule, rules)
        assert all(sentence[-1] in ".!?”" for sentence in said.sentences)
        assert rule.kind == "derived" or said.examples
