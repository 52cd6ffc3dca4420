from collections.abc import Callable
from typing import Final

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring import Doubt, Entry, Fault, Moment, Question, RuleId, State
from scoring.findings import Finding
from tests.scoring.builders import (
    book,
    breached,
    card,
    closed,
    counted,
    findings,
    marked,
    measured,
    missed,
    moved,
    struck,
)


def rules(more: str = "", post: str = "north", costs: str = "grave") -> dict[str, str]:
    return {"rules": f"[{{correctable: C, text: The mast, post: {post}, costs: {costs}{more}}}]"}


PLAIN: Final = book(**rules())
PRICED: Final = book(**rules(", tries: 2, corrected: {seconds: 2}, judge-did: slip"))


def told(at: int = 0, **where: str) -> Entry:
    return moved("C", Moment.TOLD, at=at, **where)


def corrected(at: int = 0, **where: str) -> Entry:
    return moved("C", Moment.CORRECTED, at=at, **where)


def judge_did(at: int = 0, **where: str) -> Entry:
    return moved("C", Moment.JUDGE_DID, at=at, **where)


def not_corrected(at: int = 0, **where: str) -> Entry:
    return missed("C", at=at, **where)


def said(found: list[Finding]) -> list[tuple[Fault, int]]:
    return [(each.failure.fault, each.cost) for each in found]


def test_put_right_when_told_it_costs_nothing_unless_the_rule_says_so() -> None:
    assert findings(PLAIN, told(1_000), corrected(9_000)) == []
    assert said(findings(PRICED, told(1_000), corrected(9_000))) == [(Fault.CORRECTED, 2_000)]


def test_not_put_right_it_costs_what_the_rule_costs() -> None:
    mark = told(1_000), not_corrected(9_000)
    [finding] = findings(PLAIN, *mark)
    assert said([finding]) == [(Fault.NOT_CORRECTED, 30_000)]
    assert finding.id == f"C/{mark[0].id}"
    assert finding.failure.stands_on == (mark[0].id, mark[1].id)


def test_put_right_by_the_judge_it_costs_its_own_or_else_the_rules_cost() -> None:
    assert said(findings(PRICED, told(1), judge_did(2))) == [(Fault.JUDGE_DID, 10_000)]
    assert said(findings(PLAIN, told(1), judge_did(2))) == [(Fault.JUDGE_DID, 30_000)]


def test_put_right_after_more_tellings_than_tries_it_was_not_put_right() -> None:
    tellings = told(0), told(60_000), told(120_000)
    assert said(findings(PRICED, *tellings[:2], corrected(130_000))) == [(Fault.CORRECTED, 2_000)]
    assert said(findings(PRICED, *tellings, corrected(130_000))) == [(Fault.NOT_CORRECTED, 30_000)]


def test_two_judges_who_tell_at_almost_the_same_time_tell_once() -> None:
    together = told(0, by="jo"), told(10_000, by="al"), corrected(20_000, by="jo")
    apart = told(0, by="jo"), told(10_001, by="al"), corrected(20_000, by="jo")
    assert findings(PLAIN, *together) == []
    assert said(findings(PLAIN, *apart)) == [(Fault.NOT_CORRECTED, 30_000)]


def test_two_judges_who_say_what_became_of_it_make_one_finding() -> None:
    both = told(0), not_corrected(9_000, by="jo"), not_corrected(9_500, by="al")
    [finding] = findings(PLAIN, *both)
    assert (finding.doubts, finding.state) == ((), State.COUNTS)
    assert finding.failure.stands_on == tuple(each.id for each in both)


def test_a_second_judge_long_after_speaks_of_another_fault() -> None:
    far = told(0), not_corrected(9_000, by="jo"), not_corrected(19_001, by="al")
    assert len(findings(PLAIN, *far)) == 2


def test_where_judges_disagree_the_milder_failing_outcome_is_proposed_or_holds() -> None:
    told_, ours, theirs = told(0), judge_did(9_000, by="jo"), not_corrected(9_500, by="al")
    [milder] = findings(PRICED, told_, ours, theirs)
    assert (milder.cost, milder.state, milder.doubts) == (
        10_000,
        State.COUNTS,
        (Doubt.CONTESTED,),
    )
    [lone] = findings(PLAIN, told_, corrected(9_000, by="jo"), theirs)
    assert (lone.failure.fault, lone.state) == (Fault.NOT_CORRECTED, State.PROPOSED)


def test_a_judge_who_says_otherwise_afterwards_is_taken_at_the_last_word() -> None:
    assert findings(PLAIN, told(0), not_corrected(9_000), corrected(50_000)) == []


def test_told_again_after_an_outcome_it_is_another_fault() -> None:
    twice = told(0), not_corrected(9_000), told(60_000), corrected(70_000)
    assert said(findings(PRICED, *twice)) == [
        (Fault.NOT_CORRECTED, 30_000),
        (Fault.CORRECTED, 2_000),
    ]


def test_a_telling_without_an_outcome_is_a_question_and_costs_nothing() -> None:
    open_ = card(PLAIN, told(0))
    assert (open_.findings, open_.questions) == ((), (Question(RuleId("C")),))
    assert card(PLAIN, told(0), closed("north")).questions == (Question(RuleId("C"), unseen=True),)
    assert card(PLAIN).questions == ()


def test_observations_of_another_kind_are_no_outcomes() -> None:
    strays = (
        breached("C"),
        counted("C", 3),
        measured("C", 3_000),
        marked("C"),
        moved("C", Moment.BEGIN),
    )
    assert findings(PLAIN, told(0), *strays) == []


@pytest.mark.parametrize(
    ("seen_by", "state"), [("any", State.COUNTS), ("majority", State.PROPOSED)]
)
def test_seen_by_one_of_two_posts_it_counts_as_the_category_says(
    seen_by: str, state: State
) -> None:
    two = book(**rules(post="[north, south]", costs=f"{{seconds: 9, seen-by: {seen_by}}}"))
    [finding] = findings(two, told(0), not_corrected(1))
    assert (finding.state, finding.doubts) == (state, (Doubt.UNCORROBORATED,))


def test_struck_out_it_stays_struck_out_when_an_earlier_telling_comes_late() -> None:
    seen = told(5_000), not_corrected(9_000)
    ruling = struck(f"C/{seen[0].id}", stands_on=seen)
    [finding] = findings(PLAIN, *seen, ruling, told(4_000, by="al"))
    assert (finding.state, finding.doubts[-1]) == (State.STRUCK_OUT, Doubt.MOVED)


_STEPS: Final = st.sampled_from([told, corrected, judge_did, not_corrected])


@given(st.lists(st.tuples(_STEPS, st.integers(0, 90_000), st.sampled_from(["jo", "al"]))))
def test_it_costs_its_outcomes_and_never_a_telling(
    steps: list[tuple[Callable[..., Entry], int, str]],
) -> None:
    entries = [step(at, by=by) for step, at, by in steps]
    found = findings(PRICED, *entries)
    outcomes = [each for each in entries if each.what != told().what]
    assert len(found) <= len(outcomes)
    assert sum(each.cost for each in found) <= 30_000 * len(outcomes)
    stands_on = [entry for each in found for entry in each.failure.stands_on]
    assert len(stands_on) == len(set(stands_on))
