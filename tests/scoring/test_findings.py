from collections.abc import Sequence
from itertools import permutations
from typing import Final

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring import (
    RUN_LIMIT,
    WALKTHROUGH_LIMIT,
    Decision,
    Doubt,
    Entry,
    Fault,
    SignalName,
    State,
    score,
)
from scoring.findings import Finding
from tests.scoring.builders import (
    TOOK,
    added,
    book,
    breached,
    card,
    changed,
    counted,
    findings,
    gave_back,
    marked,
    missed,
    signalled,
    started,
    stopped,
    struck,
    upheld,
    watch,
    withdrew,
)
from tests.scoring.strategies import records


def priced(category: str, *rules: str) -> dict[str, str]:
    """Sections of a rulebook whose conduct rules, `g` if none is named, share one category."""
    lines = [
        f"  - {{conduct: {rule}, text: Rule {rule}, post: north, costs: it}}"
        for rule in rules or ("g",)
    ]
    return {"penalties": f"{{it: {category}}}", "rules": "\n" + "\n".join(lines)}


def costs(found: Sequence[Finding]) -> list[int]:
    return [each.cost for each in found]


# Ladders.


def test_the_nth_breach_in_time_stands_on_the_nth_rung_whatever_came_first() -> None:
    rules = book(**priced("{seconds: 30, then: [60, warning, 90]}"))
    breaches = [breached("g", at=1_000 * n) for n in range(5)]
    for arrived in permutations(breaches):
        found = findings(rules, *arrived)
        assert [each.failure.stands_on[0] for each in found] == [each.id for each in breaches]
        assert costs(found) == [30_000, 60_000, 0, 90_000, 90_000]


def test_a_ladder_says_which_rung_it_was() -> None:
    rules = book(**priced("{seconds: 30, then: [warning, disqualify]}"))
    found = findings(rules, *(breached("g", at=1_000 * n) for n in range(3)))
    assert [each.how for each in found] == [
        "30 s (number 1)",
        "a warning (number 2)",
        "disqualified",
    ]
    assert [each.disqualifies for each in found] == [False, False, True]


def test_the_rules_of_a_category_climb_one_ladder_unless_it_says_otherwise() -> None:
    breaches = breached("g", at=1_000), breached("h", at=2_000)
    together = book(**priced("{seconds: 30, then: 60}", "g", "h"))
    apart = book(**priced("{seconds: 30, then: 60, ladder: rule}", "g", "h"))
    assert costs(findings(together, *breaches)) == [30_000, 60_000]
    assert costs(findings(apart, *breaches)) == [30_000, 30_000]


def test_a_struck_out_finding_costs_nothing_and_frees_its_rung() -> None:
    rules = book(**priced("{seconds: 30, then: 60}"))
    first, second = breached("g", at=1_000), breached("g", at=2_000)
    found = findings(rules, first, second, struck(f"g/{first.id}"))
    assert [(each.state, each.cost) for each in found] == [
        (State.STRUCK_OUT, 0),
        (State.COUNTS, 30_000),
    ]


def test_a_proposed_finding_takes_no_rung_until_it_is_upheld() -> None:
    rules = book(
        penalties="{it: {seconds: 30, then: 60, seen-by: majority}}",
        rules="[{conduct: g, text: G, post: [north, south], costs: it}]",
    )
    lone = breached("g", at=1_000)
    both = breached("g", at=60_000), breached("g", at=60_500, by="al", post="south")
    assert costs(findings(rules, lone, *both)) == [0, 30_000]
    assert costs(findings(rules, lone, *both, upheld(f"g/{lone.id}"))) == [30_000, 60_000]


def test_what_has_no_time_comes_last_on_the_ladder() -> None:
    rules = book(
        penalties="{it: {seconds: 30, then: 60}}",
        rules="""
  - {returns: back, text: Tools back, post: north, costs: it}
  - {conduct: g, text: Gloves, post: north, costs: it}""",
    )
    found = findings(rules, counted("back", 1, at=1_000), breached("g", at=9_000))
    assert [(each.failure.rule, each.cost) for each in found] == [("g", 30_000), ("back", 60_000)]


# Per item, caps.


def test_a_category_per_item_charges_each_item_counted() -> None:
    rules = book(penalties="{slip: {seconds: 2.5, per: item}, grave: {seconds: 30}}")
    [finding] = findings(rules, counted("tools", 3))
    assert (finding.cost, finding.how) == (7_500, "3 × 2.5 s")


def test_a_category_per_occurrence_charges_a_count_once() -> None:
    [finding] = findings(book(), counted("tools", 3))
    assert (finding.cost, finding.how) == (10_000, "10 s")


def test_a_cap_cuts_what_goes_beyond_it_and_says_so() -> None:
    rules = book(penalties="{slip: {seconds: 5, per: item, cap: 12}, grave: {seconds: 30}}")
    [finding] = findings(rules, counted("tools", 3))
    assert finding.cost == 12_000
    assert finding.how == "3 × 5 s, of which 12 s under the cap of 12 s"


@pytest.mark.parametrize(("scope", "total"), [("category", 50_000), ("rule", 100_000)])
def test_a_cap_reaches_as_far_as_its_category_says(scope: str, total: int) -> None:
    rules = book(**priced(f"{{seconds: 30, cap: 50, cap-of: {scope}}}", "g", "h"))
    breaches = [breached(rule, at=1_000 * n) for n in range(3) for rule in ("g", "h")]
    assert sum(costs(findings(rules, *breaches))) == total


def test_a_ruling_beyond_the_cap_leaves_nothing_under_it_for_the_next() -> None:
    rules = book(**priced("{seconds: 30, cap: 50}"))
    first, second = breached("g", at=1_000), breached("g", at=2_000)
    found = findings(rules, first, second, changed(f"g/{first.id}", 80_000))
    assert costs(found) == [80_000, 0]


CAPPED: Final = book(
    posts="{north: {title: North}, south: {title: South}, clock: {title: Clock, watches: 3}}",
    penalties="""
  of-all: {seconds: 7, then: [11, warning, 3], cap: 20, per: item}
  of-each: {seconds: 4, cap: 9, cap-of: rule, per: item}""",
    rules="""
  - {returns: a, text: A, post: south, costs: of-all}
  - {conduct: b, text: B, post: north, costs: of-all}
  - {step: c, do: C, post: north, each: [one, two, three], costs: of-all}
  - {returns: d, text: D, post: south, costs: of-each}
  - {conduct: e, text: E, post: north, costs: of-each}""",
)


@given(records(CAPPED))
def test_a_cap_is_never_exceeded_unless_a_ruling_sets_the_cost(record: list[Entry]) -> None:
    result = score(record, CAPPED)
    changes = {
        each.id
        for each in result.findings
        if each.ruling is not None
        and getattr(each.ruling.what, "decision", None) is Decision.CHANGE
    }
    if changes:
        return
    for category, limit in (("of-all", 20_000), ("of-each", 9_000)):
        charged: dict[str, int] = {}
        for each in result.findings:
            if each.category.id == category:
                scope = "" if category == "of-all" else each.failure.rule
                charged[scope] = charged.get(scope, 0) + each.cost
        assert all(cost <= limit for cost in charged.values())


# Rulings.


def test_a_changed_cost_stands_instead_and_says_what_it_was() -> None:
    [finding] = findings(book(), missed("A1"), changed("A1", 4_000))
    assert (finding.cost, finding.how) == (4_000, "changed by the head judge from 10 s")


def test_a_changed_cost_lifts_a_disqualification() -> None:
    rules = book(**priced("{disqualify: yes}"))
    breach = breached("g")
    assert card(rules, breach).status is not None
    changed_card = card(rules, breach, changed(f"g/{breach.id}", 60_000))
    assert (changed_card.status, changed_card.penalty) == (None, 60_000)


def test_of_several_rulings_the_latest_counts() -> None:
    mark = missed("A1")
    late, early = changed("A1", 4_000, at=TOOK + 9), struck("A1", at=TOOK)
    assert costs(findings(book(), mark, late, early)) == [4_000]


def test_a_withdrawn_ruling_leaves_the_finding_as_it_was() -> None:
    ruling = struck("A1")
    assert costs(findings(book(), missed("A1"), ruling, withdrew(ruling))) == [10_000]


def test_a_finding_that_has_changed_since_its_ruling_is_doubted() -> None:
    one = missed("A1", by="jo")
    ruling = upheld("A1", stands_on=(one,))
    [calm] = findings(book(), one, ruling)
    [moved] = findings(book(), one, ruling, missed("A1", by="al"))
    assert (Doubt.MOVED in calm.doubts, Doubt.MOVED in moved.doubts) == (False, True)


def test_a_ruling_on_what_no_longer_stands_is_an_orphan() -> None:
    mark = missed("A1")
    ruling = struck("A1", stands_on=(mark,))
    assert card(book(), mark, ruling).orphans == ()
    assert card(book(), mark, struck("A1")).orphans == ()
    assert card(book(), mark, ruling, withdrew(mark)).orphans == (ruling.id,)


def test_a_ruling_stays_with_a_breach_whose_first_mark_is_withdrawn() -> None:
    one, other = breached(at=1_000, by="jo"), breached(at=1_500, by="al")
    ruling = struck(f"gloves/{one.id}", stands_on=(one, other))
    result = card(book(), one, other, ruling, withdrew(one))
    [finding] = result.findings
    assert finding.id == f"gloves/{other.id}"
    assert (finding.state, finding.ruling) == (State.STRUCK_OUT, ruling)
    assert Doubt.MOVED in finding.doubts
    assert result.orphans == ()


def test_a_ruling_stays_with_a_breach_that_an_earlier_mark_joins_late() -> None:
    ruled_on, late = breached(at=1_500, by="al"), breached(at=1_000, by="jo")
    ruling = struck(f"gloves/{ruled_on.id}", stands_on=(ruled_on,))
    [finding] = findings(book(), ruled_on, ruling, late)
    assert (finding.id, finding.state) == (f"gloves/{late.id}", State.STRUCK_OUT)
    assert Doubt.MOVED in finding.doubts


def test_a_new_ruling_on_a_breach_named_anew_goes_before_the_old_one() -> None:
    one, other = breached(at=1_000, by="jo"), breached(at=1_500, by="al")
    old = struck(f"gloves/{one.id}", stands_on=(one, other), at=TOOK)
    new = upheld(f"gloves/{other.id}", stands_on=(other,), at=TOOK + 1)
    result = card(book(), one, other, old, withdrew(one), new)
    assert [(each.state, each.doubts) for each in result.findings] == [(State.COUNTS, ())]
    assert result.orphans == ()


# Additions.


def test_an_added_breach_costs_what_its_rule_costs_and_can_be_ruled_on() -> None:
    extra = added("gloves")
    [finding] = findings(book(), extra)
    assert (finding.failure.fault, finding.cost) == (Fault.ADDED, 30_000)
    assert finding.failure.stands_on == (extra.id,)
    assert costs(findings(book(), extra, struck(finding.id))) == [0]


def test_an_addition_to_a_rule_that_is_not_there_changes_nothing() -> None:
    assert findings(book(), added("nowhere")) == []


# Limits.


def limited(over: str) -> str:
    return f"{{walkthrough: {{limit: 1 min, over: {over}}}, run: {{limit: 9 min, over: {over}}}}}"


@pytest.mark.parametrize(
    ("over", "took", "expected"),
    [
        ("grave", 540_000, []),
        ("grave", 540_010, [30_000]),
        ("{seconds: 2, per: second}", 540_010, [2_000]),
        ("{seconds: 2, per: second}", 541_000, [2_000]),
        ("{seconds: 2, per: second}", 541_010, [4_000]),
        ("{seconds: 7, per: minute}", 600_000, [7_000]),
        ("{seconds: 7, per: minute}", 600_010, [14_000]),
    ],
)
def test_going_over_the_limit_costs_each_started_unit(
    over: str, took: int, expected: list[int]
) -> None:
    rules = book(clock=limited(over))
    result = score((started(), stopped(took)), rules)
    assert costs(result.findings) == expected
    assert all(each.failure.rule == RUN_LIMIT for each in result.findings)


def test_the_limit_is_held_against_the_official_time() -> None:
    rules = book(clock=limited("grave"))
    assert costs(findings(rules, watch(1, 540_000))) == []
    assert costs(findings(rules, gave_back(60_000))) == []


def test_an_overlong_walkthrough_costs_too() -> None:
    rules = book(clock=limited("{seconds: 1, per: second}"))
    walked = signalled(SignalName.WALKTHROUGH, at=-90_000)
    over = signalled(SignalName.WALKTHROUGH_OVER, at=-28_500)
    [finding] = score((walked, over), rules).findings
    assert (finding.failure.rule, finding.cost) == (WALKTHROUGH_LIMIT, 2_000)
    assert finding.failure.margin == 1_500


def test_findings_stand_in_order_of_time() -> None:
    marks = [marked("A1", at=1), breached(at=9_000), missed("A1", at=5_000), counted("tools", 1)]
    assert [each.failure.rule for each in findings(book(), *marks)] == ["A1", "gloves", "tools"]


@given(st.permutations([missed("A1"), missed("clear"), breached(at=0, id="b"), breached(id="c")]))
def test_findings_of_one_moment_stand_in_one_order(arrived: list[Entry]) -> None:
    assert [each.id for each in findings(book(), *arrived)] == [
        "A1",
        "clear",
        "gloves/b",
        "gloves/c",
    ]
