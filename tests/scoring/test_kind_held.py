from typing import Final

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring import Doubt, Entry, Fault, Moment, Outcome, Question, RuleId, State
from scoring.findings import Finding
from tests.scoring.builders import (
    book,
    card,
    closed,
    false_started,
    findings,
    marked,
    measured,
    missed,
    moved,
    started,
    upheld,
)


def rules(more: str = "at-least: 5 s", post: str = "north", costs: str = "slip") -> dict[str, str]:
    return {"rules": f"[{{held: H, do: Blow, post: {post}, costs: {costs}, {more}}}]"}


FIVE: Final = book(**rules())


def taps(lasted: int, begin: int = 1_000, item: str = "", **where: str | int) -> list[Entry]:
    return [
        moved("H", Moment.BEGIN, item, at=begin, **where),
        moved("H", Moment.END, item, at=begin + lasted, **where),
    ]


def said(found: list[Finding]) -> list[tuple[Fault, int | None, State]]:
    return [(each.failure.fault, each.failure.margin, each.state) for each in found]


def test_two_taps_within_the_tolerance_are_long_enough() -> None:
    assert findings(FIVE, *taps(4_500)) == []


def test_a_millisecond_beyond_the_tolerance_is_too_short_and_proposed() -> None:
    [finding] = findings(FIVE, *taps(4_499))
    assert said([finding]) == [(Fault.TOO_SHORT, 501, State.PROPOSED)]
    assert (finding.id, finding.cost) == ("H", 0)


def test_once_upheld_it_costs() -> None:
    [finding] = findings(FIVE, *taps(3_000), upheld("H"))
    assert (finding.cost, finding.state) == (10_000, State.COUNTS)


@pytest.mark.parametrize("lasted", [4_999, 5_001])
def test_the_rule_sets_its_tolerance(lasted: int) -> None:
    exact = book(**rules("at-least: 5 s, at-most: 5 s, tolerance: 1 ms"))
    assert findings(exact, *taps(lasted)) == []


def test_at_once_needs_nobody_to_confirm() -> None:
    [finding] = findings(book(**rules("at-most: 5 s, at-once: yes")), *taps(5_501))
    assert said([finding]) == [(Fault.TOO_LONG, 501, State.COUNTS)]


def test_a_count_is_the_judges_word_and_needs_no_tolerance() -> None:
    assert findings(FIVE, measured("H", 5_000)) == []
    assert said(findings(FIVE, measured("H", 4_999))) == [(Fault.TOO_SHORT, 1, State.COUNTS)]


def test_taps_of_two_tablets_are_out_by_both_clocks() -> None:
    def apart(lasted: int) -> list[Entry]:
        return [
            moved("H", Moment.BEGIN, at=0, by="jo", off_by=200),
            moved("H", Moment.END, at=lasted, by="al", off_by=100),
        ]

    assert findings(FIVE, *apart(4_200)) == []
    assert said(findings(FIVE, *apart(4_199))) == [(Fault.TOO_SHORT, 801, State.PROPOSED)]


def test_one_tablets_taps_are_out_by_no_clock() -> None:
    assert len(findings(FIVE, *taps(4_499, off_by=3_600_000))) == 1


def test_of_one_judge_the_latest_pair_of_taps_counts() -> None:
    assert findings(FIVE, *taps(2_000), *taps(5_000, begin=60_000)) == []
    assert len(findings(FIVE, *taps(5_000), *taps(2_000, begin=60_000))) == 1


def test_a_pair_begun_and_never_ended_leaves_the_pair_before() -> None:
    again = moved("H", Moment.BEGIN, at=60_000)
    assert said(findings(FIVE, *taps(2_000), again)) == [(Fault.TOO_SHORT, 3_000, State.PROPOSED)]


def test_a_judges_later_answer_stands_for_their_taps() -> None:
    assert findings(FIVE, *taps(2_000), marked("H", at=9_000)) == []
    [finding] = findings(FIVE, *taps(6_000), missed("H", at=9_000))
    assert said([finding]) == [(Fault.NOT_DONE, None, State.COUNTS)]


def test_a_judges_later_taps_stand_for_their_answer() -> None:
    assert findings(FIVE, missed("H", at=0), *taps(5_000, begin=2_000)) == []


def test_what_is_both_not_done_and_too_short_is_one_finding() -> None:
    found = findings(FIVE, *taps(2_000, by="jo"), missed("H", by="al"))
    assert [(each.failure.fault, each.doubts) for each in found] == [
        (Fault.NOT_DONE, (Doubt.CONTESTED,))
    ]


def test_where_one_judge_saw_it_long_enough_it_is_proposed_and_contested() -> None:
    once = book(**rules("at-least: 5 s, at-once: yes"))
    [finding] = findings(once, *taps(2_000, by="jo"), *taps(5_000, by="al"))
    assert (finding.state, finding.doubts) == (State.PROPOSED, (Doubt.CONTESTED,))


def test_of_several_short_lengths_the_longest_holds() -> None:
    both = *taps(2_000, by="jo"), *taps(3_000, by="al")
    [finding] = findings(book(**rules("at-least: 5 s, at-once: yes")), *both)
    assert (finding.failure.margin, finding.doubts) == (2_000, ())
    assert set(finding.failure.stands_on) == {each.id for each in both}


@pytest.mark.parametrize(
    ("seen_by", "state"), [("any", State.COUNTS), ("majority", State.PROPOSED)]
)
def test_a_count_by_one_of_two_posts_counts_as_the_category_says(
    seen_by: str, state: State
) -> None:
    two = book(**rules(post="[north, south]", costs=f"{{seconds: 3, seen-by: {seen_by}}}"))
    [finding] = findings(two, measured("H", 1_000))
    assert (finding.state, finding.doubts) == (state, (Doubt.UNCORROBORATED,))


def test_a_category_per_second_charges_each_second_begun() -> None:
    per = book(**rules(costs="{seconds: 2, per: second}"))
    assert [each.cost for each in findings(per, measured("H", 2_999))] == [6_000]


def test_each_item_is_held_and_a_set_can_cost_once() -> None:
    each = book(**rules("at-least: 1 s, each: [one, two]"))
    once = book(**rules("at-least: 1 s, each: [one, two], charge: once"))
    short = measured("H", 500, "one"), measured("H", 900, "two")
    assert [f.failure.item for f in findings(each, *short)] == ["one", "two"]
    [finding] = findings(once, *short)
    assert (finding.id, finding.failure.item, finding.cost) == ("H", "one, two", 10_000)


def test_a_length_answers_the_question_and_half_a_length_does_not() -> None:
    assert card(FIVE, *taps(5_000)).questions == ()
    assert card(FIVE, measured("H", 5_000)).questions == ()
    assert card(FIVE, taps(5_000)[0]).questions == (Question(RuleId("H")),)


def test_what_was_tapped_before_a_false_start_is_no_length() -> None:
    again = false_started(at=20_000), started(at=30_000)
    assert card(FIVE, *taps(5_000), *again).questions == (Question(RuleId("H")),)


def test_nobody_saw_it_and_the_rulebook_counts_that() -> None:
    harsh = book(**rules(), unseen="missing")
    [finding] = findings(harsh, closed("north"))
    assert (finding.failure.fault, finding.doubts) == (Fault.NOT_DONE, (Doubt.UNSEEN,))
    assert findings(harsh, closed("north"), *taps(5_000)) == []


ORDERED: Final = book(
    rules="""
  - {held: H, do: Blow, post: north, costs: slip, at-least: 5 s}
  - {step: S, do: Open, post: north, costs: slip, after: H}"""
)


def test_what_comes_after_it_comes_after_its_end() -> None:
    assert findings(ORDERED, *taps(5_000, begin=0), marked("S", at=3_000)) == []
    [finding] = findings(ORDERED, *taps(5_000, begin=0), marked("S", at=2_999))
    assert (finding.failure.fault, finding.failure.margin) == (Fault.OUT_OF_ORDER, 2_001)


def test_it_comes_after_what_it_follows_by_its_beginning() -> None:
    follows = book(
        rules="""
  - {step: S, do: Open, post: north, costs: slip}
  - {held: H, do: Blow, post: north, costs: slip, at-least: 5 s, after: S}"""
    )
    [finding] = findings(follows, *taps(9_000, begin=0), marked("S", at=2_001))
    assert (finding.id, finding.failure.margin) == ("H after/S", 2_001)


def test_the_other_answers_are_of_a_judge_too() -> None:
    [finding] = findings(FIVE, marked("H", Outcome.WRONG))
    assert finding.failure.fault is Fault.DONE_WRONGLY


@given(st.integers(0, 20_000), st.integers(1, 3_000), st.integers(0, 500), st.integers(0, 500))
def test_only_beyond_the_limits_tolerance_and_clocks_is_anything_found(
    lasted: int, tolerance: int, one: int, other: int
) -> None:
    timed = book(**rules(f"at-least: 5 s, at-most: 9 s, tolerance: {tolerance} ms"))
    found = findings(
        timed,
        moved("H", Moment.BEGIN, at=0, by="jo", off_by=one),
        moved("H", Moment.END, at=lasted, by="al", off_by=other),
    )
    slack = tolerance + one + other
    expected = [Fault.TOO_SHORT] if lasted < 5_000 - slack else []
    expected += [Fault.TOO_LONG] if lasted > 9_000 + slack else []
    assert [each.failure.fault for each in found] == expected
