"""The twenty kinds of rule that the language was asked for: each used, explained, and sound."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from random import Random
from typing import Final

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring import Decision, Entry, Rulebook, State, read_rulebook, score
from scoring.entries import Ruling
from scoring.kinds.callout import Callout
from scoring.kinds.conduct import PHASES, Conduct
from scoring.kinds.limit import Limit
from scoring.kinds.placement import Placement
from scoring.kinds.repeated import Repeated
from scoring.kinds.step import Step
from tests.house.tree import ROOT
from tests.scoring.rulebooks import EVERY_KIND
from tests.scoring.strategies import records

BOOKS: Final = {
    path.stem: read_rulebook(path.read_bytes(), path.name)
    for path in sorted(
        (*ROOT.glob("rulebooks/*.yaml"), *ROOT.glob("tests/published/rulebooks/*.yaml"))
    )
}
README: Final = (ROOT / "rulebooks" / "README.md").read_text(encoding="utf-8")
EVERY: Final = read_rulebook(EVERY_KIND.encode())


@dataclass(frozen=True)
class Row:
    """A row of the table of kinds: what it is, whether a rulebook uses it, what explains it."""

    name: str
    uses: Callable[[Rulebook], bool]
    keys: tuple[str, ...]


def _has(kind: str) -> Callable[[Rulebook], bool]:
    return lambda book: any(rule.kind == kind for rule in book.rules.values())


def _some(uses: Callable[..., bool], of: type) -> Callable[[Rulebook], bool]:
    return lambda book: any(isinstance(rule, of) and uses(rule) for rule in book.rules.values())


def _ordered(book: Rulebook) -> bool:
    return any(rule.after.rules for rule in book.rules.values())


ROWS: Final = (
    Row("step", _has("step"), ("step", "step.do", "by", "post")),
    Row("checklist step", _some(lambda rule: bool(rule.points), Step), ("step.points",)),
    Row("callout", _has("callout"), ("callout", "callout.say", "callout.before")),
    Row("repeated callout", _some(lambda r: len(r.items) > 1, Callout), ("callout.each",)),
    Row("held duration", _has("held"), ("held.at-least", "held.at-most", "held.tolerance")),
    Row("conduct", _has("conduct"), ("conduct.during", "conduct.from", "conduct.charge")),
    Row(
        "conduct in a phase",
        _some(lambda r: not {*PHASES}.isdisjoint(r.during), Conduct),
        ("conduct.during",),
    ),
    Row("latch", _some(lambda rule: bool(rule.latch), Conduct), ("conduct.latch",)),
    Row("minimum crew", _has("crew"), ("crew.at-least",)),
    Row("order", _ordered, ("after", "order.tolerance", "after.at-once")),
    Row("last among several", _some(lambda rule: bool(rule.last), Repeated), ("step.last",)),
    Row("correctable fault", _has("correctable"), ("correctable.tries", "correctable.judge-did")),
    Row("setting", _has("setting"), ("setting.value", "setting.within", "setting.tries")),
    Row("reading", _has("reading"), ("reading.number", "reading.date", "reading.open")),
    Row("derived value", _has("derived"), ("derived.value", "derived.of")),
    Row("placement", _has("placement"), ("placement", "placement.at")),
    Row("graded placement", _some(lambda rule: rule.measured, Placement), ("placement.bands",)),
    Row("returns", _has("returns"), ("returns", "penalties.per", "penalties.cap")),
    Row("given", lambda book: bool(book.givens), ("givens.choices", "when")),
    Row(
        "limit of the walkthrough",
        lambda b: b.clock.walkthrough is not None,
        ("clock.walkthrough.limit",),
    ),
    Row("limit of a task", _has("limit"), ("limit.time", "limit.warn")),
    Row("a task cut off", _some(lambda rule: rule.cut, Limit), ("limit.cut",)),
    Row(
        "limit of the run",
        lambda book: book.clock.limit is not None,
        ("clock.run.limit", "clock.run.over"),
    ),
    Row("false start", lambda book: book.clock.false_start is not None, ("clock.run.false-start",)),
    Row("bonus", _has("bonus"), ("bonus.gives",)),
    Row("run ender", _has("ender"), ("ender.ends",)),
)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.name)
def test_a_rulebook_uses_it_and_the_reference_explains_it(row: Row) -> None:
    assert row.uses(EVERY) or any(row.uses(book) for book in BOOKS.values())
    explained = set(re.findall(r"^\| `([\w.-]+)` \|", README, re.MULTILINE))
    assert {*row.keys} <= explained


def test_clock_stops_need_no_rule_and_are_explained() -> None:
    assert "held" in README
    assert "time given back" in README


# What holds of any record, whatever its rules.


@given(records(EVERY), st.randoms(), st.data())
def test_any_order_and_any_repeats_give_the_same_scorecard(
    record: list[Entry], chance: Random, data: st.DataObject
) -> None:
    again = data.draw(st.lists(st.sampled_from(record), max_size=5)) if record else []
    arrived = chance.sample(record + again, len(record) + len(again))
    assert score(arrived, EVERY) == score(record, EVERY)


@given(records(EVERY))
def test_the_nth_finding_in_time_that_counts_stands_on_the_nth_rung(record: list[Entry]) -> None:
    nth = 0
    for each in score(record, EVERY).findings:
        ruled = each.ruling.what if each.ruling is not None else None
        if each.category.id != "safety" or each.state is not State.COUNTS:
            continue
        nth += 1
        if isinstance(ruled, Ruling) and ruled.decision is Decision.CHANGE:
            continue
        rung = each.category.rung(nth)
        assert each.cost == rung.amount
        assert each.disqualifies == rung.disqualifies


@given(records(EVERY))
def test_no_item_is_charged_twice_by_its_own_rule(record: list[Entry]) -> None:
    ids = [each.id for each in score(record, EVERY).findings]
    assert len(ids) == len(set(ids))
