"""A block stands for its rules, as if the author had written them out at every place."""

from dataclasses import replace
from typing import Any, Final

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from scoring import Rulebook, RuleId, read_rulebook
from scoring.rulebook.reuse import MOST_RULES
from tests.scoring.builders import book, findings, marked, missed, rulebook_text
from tests.scoring.test_reader import refused

BLOCK: Final = """
  anchor:
    - {step: set, do: Set the <side> anchor, each: [<side> bolt, plate], after: <first>}
    - {callout: said, say: <Side> set, before: pull, after: {rules: set, costs: grave}}
    - {step: pull, do: Pull at it, times: 2, after: [set, said]}
    - {conduct: hands, text: Hands off the <side> anchor, from: set, until: pull}"""
TASKS: Final = """
  - task: A
    title: Anchors
    post: north
    costs: slip
    rules:
      - {step: A1, do: Walk in}
      - {use: anchor, as: up, with: {side: uphill, Side: Uphill, first: A1}}
      - {use: anchor, as: down, with: {side: downhill, Side: Downhill, first: up}}
      - {step: A2, do: Hoist, after: [up, down.pull]}"""
WRITTEN_OUT: Final = """
  - task: A
    title: Anchors
    post: north
    costs: slip
    rules:
      - {step: A1, do: Walk in}
      - {step: up.set, do: Set the uphill anchor, each: [uphill bolt, plate], after: A1}
      - {callout: up.said, say: Uphill set, before: up.pull, after: {rules: up.set, costs: grave}}
      - {step: up.pull, do: Pull at it, times: 2, after: [up.set, up.said]}
      - {conduct: up.hands, text: Hands off the uphill anchor, from: up.set, until: up.pull}
      - step: down.set
        do: Set the downhill anchor
        each: [downhill bolt, plate]
        after: [up.set, up.said, up.pull, up.hands]
      - callout: down.said
        say: Downhill set
        before: down.pull
        after: {rules: down.set, costs: grave}
      - {step: down.pull, do: Pull at it, times: 2, after: [down.set, down.said]}
      - {conduct: down.hands, text: Hands off the downhill anchor, from: down.set, until: down.pull}
      - {step: A2, do: Hoist, after: [up.set, up.said, up.pull, up.hands, down.pull]}"""


def same(one: Rulebook, other: Rulebook) -> bool:
    """Whether two rulebooks say the same, whatever their files."""
    return replace(one, hash="") == replace(other, hash="")


def test_a_block_is_the_same_as_its_rules_written_out() -> None:
    with_blocks = book(rules=None, blocks=BLOCK, tasks=TASKS)
    assert same(with_blocks, book(rules=None, tasks=WRITTEN_OUT))


def test_a_finding_names_the_place() -> None:
    rules = book(rules=None, blocks=BLOCK, tasks=TASKS)
    marks = missed("down.set", "plate", at=9_000), marked("up.set", item="plate", at=1_000)
    assert [each.id for each in findings(rules, *marks)] == ["down.set/plate"]


def test_rules_without_a_task_use_blocks_too() -> None:
    text = "[{use: pair, as: P}]"
    block = "{pair: [{step: one, do: A, post: north, costs: slip, after: two}, "
    block += "{step: two, do: B, post: north, costs: slip}]}"
    rules = book(rules=text, blocks=block).rules
    assert list(rules) == ["P.one", "P.two"]
    assert rules[RuleId("P.one")].after.rules == ("P.two",)


def test_a_category_called_like_a_rule_of_the_block_stays_a_category() -> None:
    block = "{b: [{step: slip, do: A, post: north, costs: slip}, "
    block += "{step: t, do: B, post: north, costs: slip, after: {rules: slip, costs: slip}}]}"
    rules = book(rules="[{use: b, as: P}]", blocks=block).rules
    assert {rule.costs for rule in rules.values()} == {"slip"}
    assert rules[RuleId("P.t")].after.costs == "slip"


_IDS: Final = st.lists(
    st.sampled_from(["a", "b", "c", "d-1", "e.2"]), min_size=1, max_size=5, unique=True
)


@st.composite
def _blocks(draw: st.DrawFn) -> tuple[list[dict[str, Any]], dict[str, str], list[str]]:
    """The rules of a block, the words for its gaps, and the places that use it."""
    ids = draw(_IDS)
    rules: list[dict[str, Any]] = []
    for n, name in enumerate(ids):
        rule: dict[str, Any] = {
            "step": name,
            "do": draw(st.sampled_from(["Do <it>", "Go", "<it>"])),
        }
        before = ids[:n]
        after = draw(st.lists(st.sampled_from(ids), unique=True).map(set))
        if earlier := [each for each in before if each in after]:
            rule["after"] = earlier
        if draw(st.integers(0, 1)):
            rule["each"] = ["<it>", "other"]
        rules.append(rule)
    gaps = "<it>" in str(rules)
    words = {"it": draw(st.sampled_from(["a", "the rope", "<x>"]))} if gaps else {}
    return rules, words, draw(st.lists(st.sampled_from(["P", "Q", "R"]), min_size=1, unique=True))


@given(_blocks())
def test_any_block_is_the_same_as_its_rules_written_out(
    drawn: tuple[list[dict[str, Any]], dict[str, str], list[str]],
) -> None:
    rules, words, places = drawn
    written = []
    for place in places:
        for rule in rules:
            said = {
                key: [_filled(each, words) for each in value]
                if isinstance(value, list)
                else _filled(value, words)
                for key, value in rule.items()
            }
            said["step"] = f"{place}.{rule['step']}"
            if "after" in rule:
                said["after"] = [f"{place}.{name}" for name in rule["after"]]
            written.append(said)
    common = {"title": "T", "post": "north", "costs": "slip"}
    uses = [{"use": "b", "as": place, "with": words} for place in places]
    one, other = (
        read_rulebook(
            (
                rulebook_text(rules=None)
                + yaml.safe_dump({"tasks": [{"task": "A", **common, "rules": each}], **more})
            ).encode()
        )
        for each, more in ((uses, {"blocks": {"b": rules}}), (written, {}))
    )
    assert same(one, other)


def _filled(text: str, words: dict[str, str]) -> str:
    return text.replace("<it>", words.get("it", "<it>"))


@pytest.mark.parametrize("uses", [1, 40])
def test_uses_that_make_too_many_rules_are_refused_before_they_are_written_out(uses: int) -> None:
    rules = "".join(
        f"    - {{step: s{n}, do: It, post: north, costs: slip}}\n" for n in range(MOST_RULES - 1)
    )
    places = "".join(f"  - {{use: b, as: p{n}}}\n" for n in range(uses))
    tasks = "".join(
        f"  - {{task: t{n}, title: T, rules: [{{use: b, as: q{n}}}]}}\n" for n in range(uses)
    )
    text = rulebook_text(rules=f"\n{places}", blocks=f"\n  b:\n{rules}", tasks=f"\n{tasks}")
    [says] = refused(text)
    assert says.endswith(f"That makes more than {MOST_RULES:,} rules.")
