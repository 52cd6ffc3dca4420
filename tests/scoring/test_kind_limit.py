from typing import Final

import pytest

from scoring import Entry, Fault, Mark, Moment, Moved, Outcome, Question, Rulebook, RuleId, score
from tests.scoring.builders import (
    ZERO,
    book,
    card,
    closed,
    false_started,
    findings,
    held,
    marked,
    missed,
    moved,
    resumed,
    started,
    stopped,
)


def tasks(more: str = "", costs: str = "{seconds: 2, per: second}", **sections: str) -> Rulebook:
    """Two tasks, and a minute for the second."""
    return book(
        rules=f"""
  - {{limit: L, text: A minute, task: B, time: 1 min, post: north, costs: {costs}{more}}}""",
        tasks="""
  - {task: A, title: First, post: north, costs: slip, rules: [{step: A1, do: One}]}
  - task: B
    title: Second
    post: north
    costs: slip
    rules: [{step: B1, do: Two}, {step: B2, do: Three}]""",
        **sections,
    )


BOOK: Final = tasks()


def done(*times: tuple[str, int]) -> list[Entry]:
    return [marked(rule, at=at) for rule, at in times]


@pytest.mark.parametrize(
    ("ended", "expected"),
    [(160_000, []), (160_001, [2_000]), (161_000, [2_000]), (161_001, [4_000])],
)
def test_each_second_begun_over_the_limit_costs(ended: int, expected: list[int]) -> None:
    marks = done(("A1", 100_000), ("B1", 110_000), ("B2", ended))
    found = findings(BOOK, *marks)
    assert [each.cost for each in found] == expected
    assert all(each.failure.fault is Fault.OVER_LIMIT for each in found)


def test_it_stands_on_the_mark_that_says_when_the_task_was_over() -> None:
    last = marked("B2", at=170_000)
    [finding] = findings(BOOK, *done(("A1", 100_000), ("B1", 110_000)), last)
    assert finding.failure.stands_on == (last.id,)
    assert (finding.failure.at, finding.failure.margin) == (ZERO + 170_000, 10_000)


def test_held_time_is_taken_out() -> None:
    marks = done(("A1", 100_000), ("B2", 170_000))
    assert len(findings(BOOK, *marks)) == 1
    assert findings(BOOK, *marks, held(at=120_000), resumed(at=130_000)) == []


def test_marks_at_close_out_and_of_an_earlier_attempt_say_nothing_of_time() -> None:
    late = missed("B1", at=500_000), marked("B2", timed=False, at=500_000)
    assert [each.failure.rule for each in findings(BOOK, *done(("A1", 100_000)), *late)] == ["B1"]
    again = false_started(at=400_000), started(at=500_000)
    assert findings(BOOK, *done(("A1", 100_000), ("B2", 300_000)), *again) == []


#: The second task goes on beside the first, and its time begins with its own first step.
BESIDE: Final = tasks(", from: B1")


def test_tasks_side_by_side_are_counted_from_the_rule_that_begins_them() -> None:
    marks = done(("B1", 10_000), ("B2", 75_000), ("A1", 100_000))
    assert findings(BOOK, *marks) == []
    [finding] = findings(BESIDE, *marks)
    assert (finding.failure.margin, finding.cost) == (5_000, 10_000)


def test_without_its_beginning_nobody_knows_how_long_it_took() -> None:
    assert findings(BESIDE, missed("B1"), *done(("B2", 500_000)))[0].failure.rule == "B1"


#: A flat cost, and the crew goes on with the next task.
CUT: Final = tasks(", cut: yes", "grave")


def stopped_task(at: int) -> Entry:
    return moved("L", Moment.END, at=at)


def test_a_task_that_the_judge_stopped_costs_once_and_asks_no_more() -> None:
    marks = done(("A1", 100_000), ("B1", 110_000))
    result = card(CUT, *marks, stopped_task(160_000))
    [finding] = result.findings
    assert (finding.cost, finding.failure.detail) == (30_000, "stopped by the judge")
    assert result.questions == ()
    assert card(CUT, *marks).questions == (Question(RuleId("B2")),)


def test_what_was_marked_missing_before_the_task_was_stopped_still_costs() -> None:
    marks = done(("A1", 100_000)), (missed("B1", at=110_000), stopped_task(160_000))
    assert [each.failure.rule for each in findings(CUT, *marks[0], *marks[1])] == ["B1", "L"]


def test_what_nobody_saw_of_a_stopped_task_is_not_counted_against_the_crew() -> None:
    harsh = tasks(", cut: yes", "grave", unseen="missing")
    run = *done(("A1", 100_000)), closed("north")
    assert [each.failure.rule for each in findings(harsh, *run)] == ["B1", "B2"]
    assert [each.failure.rule for each in findings(harsh, *run, stopped_task(160_000))] == ["L"]


def test_a_task_over_its_limit_that_nobody_stopped_costs_as_well() -> None:
    [finding] = findings(CUT, *done(("A1", 100_000), ("B2", 170_000)))
    assert (finding.cost, finding.failure.margin) == (30_000, 10_000)


def test_only_a_limit_that_cuts_off_takes_a_tap() -> None:
    tap, answer = Moved(RuleId("L"), Moment.END), Mark(RuleId("L"), Outcome.MISSING)
    limits = [each.rules[RuleId("L")] for each in (CUT, BOOK)]
    assert [limit.takes(tap) for limit in limits] == [True, False]
    assert [limit.takes(answer) for limit in limits] == [False, False]
    assert findings(BOOK, stopped_task(1)) == []


def test_a_run_without_a_mark_in_the_task_is_not_over_its_limit() -> None:
    assert score((started(), stopped()), BOOK).findings == ()
