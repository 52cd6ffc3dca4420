from typing import Final

from scoring import Entry, Fault, Outcome, Rulebook, State
from scoring.findings import Finding
from tests.scoring.builders import (
    book,
    false_started,
    findings,
    marked,
    missed,
    started,
    upheld,
    withdrew,
)

#: A2 after A1, two seconds' tolerance.
PAIR: Final = """
  - {step: A1, do: Isolate, post: north, costs: slip}
  - {step: A2, do: Open the cover, post: south, costs: slip, after: A1}"""
ID: Final = "A2 after/A1"


def disorder(rules: Rulebook, *entries: Entry) -> list[Finding]:
    return [
        finding
        for finding in findings(rules, *entries)
        if finding.failure.fault is Fault.OUT_OF_ORDER
    ]


def test_what_was_begun_before_what_must_come_first_is_proposed_and_costs_nothing_yet() -> None:
    [finding] = disorder(book(rules=PAIR), marked("A1", at=9_000), marked("A2", at=5_000))
    assert (finding.failure.rule, finding.failure.item) == ("A2", "A1")
    assert (finding.failure.margin, finding.cost, finding.state) == (4_000, 0, State.PROPOSED)


def test_the_right_order_is_no_finding() -> None:
    assert disorder(book(rules=PAIR), marked("A1", at=5_000), marked("A2", at=9_000)) == []


def test_a_tap_late_by_just_the_tolerance_and_both_clocks_is_no_disorder() -> None:
    just = marked("A1", at=7_300, off_by=200), marked("A2", at=5_000, off_by=100)
    assert disorder(book(rules=PAIR), *just) == []


def test_a_millisecond_beyond_the_tolerance_and_both_clocks_is_disorder() -> None:
    over = marked("A1", at=7_301, off_by=200), marked("A2", at=5_000, off_by=100)
    [finding] = disorder(book(rules=PAIR), *over)
    assert finding.failure.margin == 2_301


def test_the_rulebook_sets_the_tolerance() -> None:
    rules = book(rules=PAIR, order="{tolerance: 5 s}")
    assert disorder(rules, marked("A1", at=10_000), marked("A2", at=5_000)) == []


def test_upheld_disorder_costs_what_the_rule_costs() -> None:
    marks = marked("A1", at=9_000), marked("A2", at=5_000)
    [finding] = disorder(book(rules=PAIR), *marks, upheld(ID))
    assert (finding.cost, finding.state) == (10_000, State.COUNTS)


def test_the_rulebooks_word_on_what_disorder_costs_goes_before_the_rules() -> None:
    rules = book(rules=PAIR, order="{costs: grave}")
    [finding] = disorder(rules, marked("A1", at=9_000), marked("A2", at=5_000), upheld(ID))
    assert finding.cost == 30_000


def test_an_order_written_with_its_own_cost_and_at_once_counts_unconfirmed() -> None:
    rules = book(rules=PAIR.replace("after: A1", "after: {rules: A1, costs: grave, at-once: yes}"))
    [finding] = disorder(rules, marked("A1", at=9_000), marked("A2", at=5_000))
    assert (finding.cost, finding.state) == (30_000, State.COUNTS)


def test_disorder_stands_on_the_two_marks_that_show_it() -> None:
    first, then = marked("A1", at=9_000), marked("A2", at=5_000)
    [finding] = disorder(book(rules=PAIR), first, then, marked("A2", at=20_000, by="al"))
    assert finding.failure.stands_on == (first.id, then.id)


def test_a_mark_that_its_judge_took_back_with_another_answer_says_nothing_of_order() -> None:
    mistaken = marked("A2", at=5_000), missed("A2", at=6_000)
    assert disorder(book(rules=PAIR), marked("A1", at=9_000), *mistaken) == []


def test_a_withdrawn_mark_says_nothing_of_order() -> None:
    mark = marked("A2", at=5_000)
    assert disorder(book(rules=PAIR), marked("A1", at=9_000), mark, withdrew(mark)) == []


def test_an_answer_given_at_close_out_says_nothing_of_order() -> None:
    late = marked("A1", at=9_000, timed=False)
    assert disorder(book(rules=PAIR), late, marked("A2", at=5_000)) == []


def test_a_step_done_wrongly_was_still_done_at_its_time() -> None:
    wrong = marked("A1", Outcome.WRONG, at=9_000)
    assert len(disorder(book(rules=PAIR), wrong, marked("A2", at=5_000))) == 1


def test_the_last_of_several_items_must_come_before_the_first_of_the_next_rule() -> None:
    rules = book(rules=PAIR.replace("Isolate,", "Isolate, each: [one, two],"))
    early = marked("A1", item="one", at=1_000), marked("A2", at=5_000)
    assert disorder(rules, *early) == []
    [finding] = disorder(rules, *early, marked("A1", item="two", at=9_000))
    assert finding.failure.margin == 4_000


def test_a_callout_is_heard_before_what_it_clears() -> None:
    rules = book(
        rules="""
  - {callout: ready, say: Ready, post: north, costs: slip, before: A2}
  - {step: A2, do: Hoist, post: north, costs: slip}"""
    )
    [finding] = disorder(rules, marked("ready", at=9_000), marked("A2", at=5_000))
    assert (finding.failure.rule, finding.failure.item) == ("A2", "ready")


def test_an_order_written_from_both_sides_is_one_finding() -> None:
    rules = book(
        rules="""
  - {callout: ready, say: Ready, post: north, costs: slip, before: A2}
  - {step: A2, do: Hoist, post: north, costs: slip, after: ready}"""
    )
    assert len(disorder(rules, marked("ready", at=9_000), marked("A2", at=5_000))) == 1


def test_a_task_in_order_orders_its_steps_as_written() -> None:
    rules = book(
        rules=None,
        tasks="""
  - task: A
    title: Isolate
    post: north
    costs: slip
    in-order: yes
    rules:
      - {step: A1, do: One}
      - {callout: said, say: Two}
      - {step: A3, do: Three}""",
    )
    marks = marked("A1", at=9_000), marked("said", at=1_000), marked("A3", at=5_000)
    assert [finding.id for finding in disorder(rules, *marks)] == ["A3 after/A1"]


def test_an_item_with_the_words_of_an_order_keeps_a_name_of_its_own() -> None:
    rules = book(rules=PAIR.replace("cover,", "cover, each: [after A1, after/A1],"))
    marks = marked("A1", at=9_000), marked("A2", item="after A1", at=5_000)
    names = [each.id for each in findings(rules, *marks, missed("A2", "after/A1"))]
    assert sorted(names) == ["A2 after/A1", "A2/after/A1"]


def test_what_was_marked_before_a_false_start_says_nothing_of_order() -> None:
    marks = marked("A2", at=5_000), false_started(at=6_000), started(at=7_000)
    assert disorder(book(rules=PAIR), *marks, marked("A1", at=9_000)) == []
