from collections.abc import Callable
from itertools import pairwise
from typing import Final

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring import Doubt, Entry, Moment, Moved, Rulebook, RuleId, SignalName, State, score
from tests.scoring.builders import (
    book,
    breached,
    findings,
    marked,
    moved,
    signalled,
    started,
    stopped,
)


def rules(more: str = "", post: str = "north", costs: str = "slip") -> Rulebook:
    return book(
        rules=f"""
  - {{conduct: G, text: A hand on it, post: {post}, costs: {costs}{more}}}
  - {{step: A1, do: Lift, post: north, costs: slip}}
  - {{step: A2, do: Set down, post: south, costs: slip}}"""
    )


# A latch.

LATCHED: Final = rules(", latch: Put back on its stand")


def breach(at: int, by: str = "jo", whom: str = "") -> Entry:
    return breached("G", whom, at=at, by=by)


def released(at: int, by: str = "jo") -> Entry:
    return moved("G", Moment.RELEASED, at=at, by=by)


def test_inside_the_latch_breaches_are_kept_and_cost_nothing() -> None:
    breaches = [breach(60_000 * n) for n in range(3)]
    [finding] = findings(LATCHED, *breaches)
    assert finding.cost == 10_000
    assert finding.failure.stands_on == tuple(each.id for each in breaches)


def test_once_it_is_released_the_next_breach_costs() -> None:
    found = findings(LATCHED, breach(0), breach(60_000), released(90_000), breach(120_000))
    assert [len(each.failure.stands_on) for each in found] == [2, 1]


def test_releasing_what_is_not_latched_changes_nothing() -> None:
    assert len(findings(LATCHED, released(0), breach(60_000), breach(120_000))) == 1


def test_without_a_latch_there_is_nothing_to_release() -> None:
    assert len(findings(rules(), breach(0), released(90_000), breach(120_000))) == 2
    assert not rules().rules[RuleId("G")].takes(Moved(RuleId("G"), Moment.RELEASED))


def test_a_latch_closes_for_everybody() -> None:
    [finding] = findings(LATCHED, breach(0, whom="lead"), breach(60_000, whom="hand"))
    assert finding.failure.item == "lead"


_MARKS: Final = st.tuples(
    st.sampled_from([breach, released]), st.integers(0, 300).map(lambda s: s * 1_000)
)


@given(st.lists(_MARKS, max_size=20))
def test_a_latch_never_charges_twice(steps: list[tuple[Callable[[int], Entry], int]]) -> None:
    entries = [step(at) for step, at in steps]
    found = findings(LATCHED, *entries)
    releases = sorted(entry.when for entry in entries if entry.what == released(0).what)
    charged = sorted(
        next(entry.when for entry in entries if entry.id == each.failure.stands_on[0])
        for each in found
    )
    for one, two in pairwise(charged):
        assert any(one < release < two for release in releases)
    breaches = [entry.id for entry in entries if entry.what == breach(0).what]
    assert sorted(entry for each in found for entry in each.failure.stands_on) == sorted(breaches)


# Who saw it, where several breaches make one finding.


@pytest.mark.parametrize("more", [", charge: once", ", charge: person", ", latch: Put back"])
def test_two_judges_who_each_saw_another_breach_corroborate_none(more: str) -> None:
    watched = rules(more, "[north, south]", "{seconds: 10, seen-by: majority}")
    [finding] = findings(watched, breach(0, "jo"), breach(60_000, "al"))
    assert (finding.state, finding.doubts) == (State.PROPOSED, (Doubt.UNCORROBORATED,))
    [finding] = findings(watched, breach(0, "jo"), breach(60_000, "al"), breach(60_500, "jo"))
    assert (finding.state, finding.doubts) == (State.COUNTS, ())


# When it holds.

WHILE: Final = rules(", from: A1, until: A2")


@pytest.mark.parametrize(
    ("at", "outside"),
    [(7_699, True), (7_700, False), (30_000, False), (62_300, False), (62_301, True)],
)
def test_a_breach_beyond_both_clocks_and_the_tolerance_was_outside(
    at: int, *, outside: bool
) -> None:
    span = (
        marked("A1", at=10_000, off_by=200, by="al"),
        marked("A2", at=60_000, off_by=200, by="al", post="south"),
    )
    [finding] = findings(WHILE, *span, breached("G", at=at, off_by=100))
    assert (Doubt.OUTSIDE in finding.doubts) is outside
    assert finding.state is State.COUNTS


def test_while_nobody_marked_the_beginning_or_the_end_nothing_is_outside() -> None:
    [finding] = findings(WHILE, breach(0))
    assert finding.doubts == ()


def test_a_charge_for_several_breaches_is_outside_only_where_all_are() -> None:
    once = rules(", from: A1, charge: once")
    [finding] = findings(once, marked("A1", at=60_000), breach(0), breach(90_000))
    assert finding.doubts == ()


def walked(*, over: bool = True) -> list[Entry]:
    walk = [signalled(SignalName.WALKTHROUGH, at=-600_000)]
    return [*walk, signalled(SignalName.WALKTHROUGH_OVER, at=-300_000)] if over else walk


@pytest.mark.parametrize(
    ("during", "at", "outside"),
    [
        ("walkthrough", -602_000, False),
        ("walkthrough", -602_001, True),
        ("walkthrough", -298_000, False),
        ("walkthrough", -297_999, True),
        ("run", -2_000, False),
        ("run", -2_001, True),
        ("run", 602_000, False),
        ("run", 602_001, True),
        ("after-stop", 598_000, False),
        ("after-stop", 597_999, True),
        ("[walkthrough, run]", -100_000, True),
        ("[walkthrough, run]", 100_000, False),
    ],
)
def test_a_phase_is_left_only_beyond_the_tolerance(during: str, at: int, *, outside: bool) -> None:
    rulebook = rules(f", during: {during}")
    [finding] = score((*walked(), started(), stopped(), breach(at)), rulebook).findings
    assert (Doubt.OUTSIDE in finding.doubts) is outside


@pytest.mark.parametrize("during", ["walkthrough", "run", "after-stop"])
def test_without_signals_no_phase_is_left(during: str) -> None:
    [finding] = score((breach(0),), rules(f", during: {during}")).findings
    assert finding.doubts == ()


def test_a_walkthrough_that_was_never_ended_ends_with_the_start() -> None:
    rulebook = rules(", during: walkthrough")
    [finding] = score((*walked(over=False), started(), breach(2_001)), rulebook).findings
    assert finding.doubts == (Doubt.OUTSIDE,)
