from typing import Final

import pytest
from hypothesis import given

from scoring import Decision, Doubt, Entry, Fault, Outcome, State, score
from scoring.entries import Ruling
from tests.scoring.builders import added, book, card, findings, marked, missed, struck, upheld
from tests.scoring.strategies import records


def rules(gives: str = "slip", post: str = "north") -> dict[str, str]:
    return {"rules": f"[{{bonus: B, text: Unasked, post: {post}, gives: {gives}}}]"}


PLAIN: Final = book(**rules())


def test_earned_it_takes_its_amount_off_the_time_and_stands_apart() -> None:
    result = card(PLAIN, marked("B", at=7_000))
    [finding] = result.findings
    assert (finding.failure.fault, finding.cost, finding.failure.bonus) == (
        Fault.EARNED,
        -10_000,
        True,
    )
    assert (result.bonus, result.penalty, result.total) == (10_000, 0, 590_000)


@pytest.mark.parametrize("outcome", [Outcome.MISSING, Outcome.UNSEEN])
def test_not_earned_it_gives_nothing_and_costs_nothing(outcome: Outcome) -> None:
    assert findings(PLAIN, marked("B", outcome)) == []


def test_a_bonus_per_run_is_capped_like_a_cost() -> None:
    capped = book(
        penalties="{extra: {seconds: 6, cap: 9}}",
        rules="""
  - {bonus: B, text: One, post: north, gives: extra}
  - {bonus: D, text: Two, post: north, gives: extra}""",
    )
    result = card(capped, marked("B", at=1), marked("D", at=2))
    assert [each.cost for each in result.findings] == [-6_000, -3_000]


def test_where_judges_disagree_it_is_proposed() -> None:
    [finding] = findings(PLAIN, marked("B", by="jo"), missed("B", by="al"))
    assert (finding.state, finding.cost, finding.doubts) == (
        State.PROPOSED,
        0,
        (Doubt.CONTESTED,),
    )
    [given_] = findings(PLAIN, marked("B", by="jo"), missed("B", by="al"), upheld("B"))
    assert given_.cost == -10_000


@pytest.mark.parametrize(
    ("seen_by", "state"), [("any", State.COUNTS), ("majority", State.PROPOSED)]
)
def test_seen_by_one_of_two_posts_it_is_given_as_the_category_says(
    seen_by: str, state: State
) -> None:
    two = book(**rules(f"{{seconds: 5, seen-by: {seen_by}}}", "[north, south]"))
    [finding] = findings(two, marked("B"))
    assert (finding.state, finding.doubts) == (state, (Doubt.UNCORROBORATED,))
    [finding] = findings(two, marked("B"), marked("B", by="al", post="south"))
    assert (finding.state, finding.doubts) == (State.COUNTS, ())


def test_struck_out_it_gives_nothing() -> None:
    assert card(PLAIN, marked("B"), struck("B")).total == 600_000


def test_what_the_head_judge_adds_is_given_too() -> None:
    result = card(PLAIN, added("B"))
    assert (result.bonus, result.total) == (10_000, 590_000)


@given(records(PLAIN))
def test_it_never_raises_a_total_unless_a_ruling_sets_its_amount(record: list[Entry]) -> None:
    changed = any(
        isinstance(each.what, Ruling) and each.what.decision is Decision.CHANGE for each in record
    )
    result = score(record, PLAIN)
    assert changed or all(each.cost <= 0 for each in result.findings)
    assert changed or result.bonus >= 0
