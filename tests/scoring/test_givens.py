from typing import Final

from scoring import Doubt, Entry, Fault, Question, RuleId, State
from tests.scoring.builders import book, card, drawn, findings, marked, missed

#: The middle step of three in order is for one side of the line only.
SIDED: Final = book(
    givens="{side: {choices: [uphill, downhill]}}",
    rules=None,
    tasks="""
  - task: A
    title: Set up
    post: north
    costs: slip
    in-order: yes
    rules:
      - {step: A1, do: One}
      - {step: A2, do: Two, when: {side: uphill}}
      - {step: A3, do: Three}""",
)


def names(*entries: Entry) -> list[str]:
    return [each.id for each in findings(SIDED, *entries)]


def test_a_rule_costs_only_where_what_was_drawn_asks_for_it() -> None:
    assert names(missed("A2"), drawn("side", "uphill")) == ["A2"]
    assert names(missed("A2"), drawn("side", "downhill")) == []
    assert names(missed("A2")) == []


def test_what_does_not_apply_is_no_question_and_what_was_not_drawn_is_one() -> None:
    marks = marked("A1", at=1_000), marked("A3", at=9_000)
    assert card(SIDED, *marks, drawn("side", "downhill")).questions == ()
    assert card(SIDED, *marks, drawn("side", "uphill")).questions == (Question(RuleId("A2")),)
    assert [str(each.rule) for each in card(SIDED, *marks).questions] == ["given side"]


def test_of_two_draws_the_later_holds() -> None:
    first, second = drawn("side", "uphill", at=1), drawn("side", "downhill", at=2)
    assert names(missed("A2"), second, first) == []


def test_a_rule_that_does_not_apply_is_in_nobodys_way() -> None:
    marks = marked("A2", at=1_000), marked("A1", at=9_000), marked("A3", at=20_000)
    assert names(*marks, drawn("side", "uphill")) == ["A2 after/A1"]
    assert names(*marks, drawn("side", "downhill")) == []


def test_what_comes_after_a_rule_that_does_not_apply_comes_after_what_was_before_it() -> None:
    marks = marked("A3", at=1_000), marked("A1", at=9_000)
    assert names(*marks, drawn("side", "downhill")) == ["A3 after/A1"]
    assert names(*marks, drawn("side", "uphill")) == []


def test_the_order_that_leads_over_a_rule_that_does_not_apply_is_the_later_rules() -> None:
    rules = book(
        givens="{side: {choices: [uphill, downhill]}}",
        rules="""
  - {step: A1, do: One, post: north, costs: slip}
  - {step: A2, do: Two, post: north, costs: slip, when: {side: uphill}, after: A1}
  - step: A3
    do: Three
    post: north
    costs: slip
    after: {rules: A2, costs: grave, at-once: yes}""",
    )
    marks = marked("A3", at=1_000), marked("A1", at=9_000), drawn("side", "downhill")
    [finding] = findings(rules, *marks)
    assert (finding.failure.fault, finding.cost, finding.state) == (
        Fault.OUT_OF_ORDER,
        30_000,
        State.COUNTS,
    )
    assert Doubt.OUTSIDE not in finding.doubts
