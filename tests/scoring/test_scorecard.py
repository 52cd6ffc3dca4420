from dataclasses import replace
from random import Random
from typing import Final

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring import (
    RUN_LIMIT,
    WALKTHROUGH_LIMIT,
    Entrant,
    Entry,
    Fault,
    Outcome,
    RuleId,
    Scorecard,
    SignalName,
    Split,
    Stage,
    Status,
    TaskId,
    TeamId,
    Withdrawal,
    fold,
    rank,
    score,
)
from scoring.entries import Measured, Moment, Moved
from tests.scoring.builders import (
    book,
    breached,
    card,
    changed,
    closed,
    counted,
    ended,
    entry,
    false_started,
    held,
    marked,
    missed,
    resumed,
    signalled,
    started,
    stopped,
    upheld,
    watch,
    withdrew,
)
from tests.scoring.strategies import records

#: A rulebook in which everything hangs together: ladders, caps, order, limits, several posts.
FULL: Final = book(
    posts="{north: {title: North}, south: {title: South}, clock: {title: Clock, watches: 3}}",
    penalties="""
  slip: {seconds: 10, then: [15, warning], cap: 40}
  both: {seconds: 5, seen-by: all}
  item: {seconds: 2, per: item, cap: 9, cap-of: rule}
  grave: {seconds: 30, then: disqualify, ladder: rule, severity: safety}""",
    clock="""
  walkthrough: {limit: 5 s, over: slip}
  run: {limit: 20 s, over: {seconds: 1, per: second}}
  official: {from: [middle of three, slower of two], to: 0.1 s}""",
    order="{tolerance: 1 s, costs: slip}",
    tasks="""
  - task: A
    title: First
    post: [north, south]
    costs: slip
    in-order: yes
    rules:
      - {step: A1, do: One}
      - {step: A2, do: Two, each: [one, two], charge: once}
      - {step: A3, do: Three, costs: both}
      - {callout: ready, say: Ready, before: B1}
  - task: B
    title: Second
    post: south
    costs: slip
    rules:
      - {step: B1, do: Four, after: {rules: A3, at-once: yes}}
      - {callout: set, say: Set, times: 3}""",
    rules="""
  - {conduct: gloves, text: Gloves, post: [north, south], costs: grave, charge: person}
  - {conduct: load, text: Load, post: [north, south], costs: both, during: B, window: 2 s}
  - {returns: tools, text: Tools, post: [north, south], costs: item}
  - {held: blow, do: Blow, at-least: 5 s, post: north, costs: slip}
  - {correctable: cable, text: Cable, post: south, costs: slip, corrected: item, tries: 2}
  - {placement: stand, text: Stand, free: 3, post: south, costs: {seconds: 1, per: centimetre}}
  - {bonus: tidy, text: Tidy, post: south, gives: {seconds: 4}}
  - {ender: reckless, text: Reckless, ends: disqualified, post: [north, south]}""",
    ties="[{fewer: safety}, {less: time}]",
)


#: A run on which every kind of rule was broken.
BROKEN: Final = [
    signalled(SignalName.WALKTHROUGH, at=-20_000),
    signalled(SignalName.WALKTHROUGH_OVER, at=-9_000),
    started(),
    marked("B1", at=1_000, post="south"),
    marked("A1", at=9_000),
    missed("A2", "two", at=10_000),
    marked("A2", item="one", at=11_000),
    marked("A3", at=12_000),
    marked("A3", Outcome.WRONG, at=12_400, by="al", post="south"),
    marked("ready", at=13_000),
    missed("set", "2", at=14_000, by="al", post="south"),
    *(breached(whom=whom, at=at) for at, whom in ((2_000, "lead"), (3_000, "hand"), (9_000, ""))),
    breached("load", at=15_000),
    breached("load", at=15_300, by="al", post="south"),
    counted("tools", 7, at=31_000),
    entry(Moved(RuleId("blow"), Moment.BEGIN), at=16_000),
    entry(Moved(RuleId("blow"), Moment.END), at=19_000),
    entry(Moved(RuleId("cable"), Moment.TOLD), at=17_000, post="south"),
    entry(Moved(RuleId("cable"), Moment.CORRECTED), at=18_000, post="south"),
    entry(Measured(RuleId("stand"), 4_500), at=32_000, post="south"),
    marked("tidy", at=32_500, post="south"),
    breached("reckless", at=20_000),
    stopped(at=30_000),
    *(watch(number, 30_000 + 40 * number, at=30_500) for number in (1, 2, 3)),
]


def test_the_broken_run_breaks_every_kind_of_rule() -> None:
    found = score(BROKEN, FULL).findings
    broken = {each.failure.rule for each in found}
    assert {rule.kind for name, rule in FULL.rules.items() if name not in broken} <= {
        "step",
        "callout",
    }
    assert {RUN_LIMIT, WALKTHROUGH_LIMIT, "B1"} <= broken
    assert any(each.failure.fault is Fault.OUT_OF_ORDER for each in found)


@given(records(FULL) | records(FULL).map(BROKEN.__add__), st.randoms(), st.data())
def test_any_order_of_arrival_and_any_repeats_give_the_same_scorecard(
    record: list[Entry], chance: Random, data: st.DataObject
) -> None:
    again = data.draw(st.lists(st.sampled_from(record), max_size=5)) if record else []
    arrived = chance.sample(record + again, len(record) + len(again))
    assert score(arrived, FULL) == score(record, FULL)


@given(records(FULL))
def test_any_record_at_all_has_a_scorecard_that_adds_up(record: list[Entry]) -> None:
    result = score([*BROKEN, *record], FULL)
    assert result.penalty - result.bonus == sum(each.cost for each in result.findings)
    if result.total is not None:
        assert result.official is not None
        assert result.total == result.official.time + result.penalty - result.bonus
        assert result.status is None
    assert result.undecided >= 0
    names = [each.id for each in result.findings]
    assert len(set(names)) == len(names)
    known = {each.id for each in (*BROKEN, *record)}
    assert {each for finding in result.findings for each in finding.failure.stands_on} <= known
    assert rank([(Entrant(TeamId("t"), "T"), result)], FULL)[0].scorecard == result


@given(records(FULL), st.data())
def test_a_withdrawal_gives_the_scorecard_without_what_it_takes_back(
    record: list[Entry], data: st.DataObject
) -> None:
    targets = [each for each in fold(record).entries if not isinstance(each.what, Withdrawal)]
    if not targets:
        return
    target = data.draw(st.sampled_from(targets))
    back = withdrew(target, id="last")
    after = score([*record, back], FULL)
    never = score([each for each in record if each.id != target.id] + [back], FULL)
    assert _without_history(after) == _without_history(never)


def _without_history(result: Scorecard) -> Scorecard:
    return replace(result, anomalies=(), run=fold(()))


def test_the_total_is_the_official_time_and_every_cost() -> None:
    result = card(book(), missed("A1"), breached(), watch(1, 61_234))
    assert (result.penalty, result.total) == (40_000, 101_240)


def test_before_the_stop_there_is_no_total() -> None:
    result = score((started(), missed("A1")), book())
    assert (result.penalty, result.total, result.official) == (10_000, None, None)


# Stages.


@pytest.mark.parametrize(
    ("record", "stage"),
    [
        ((), Stage.WAITING),
        ((signalled(SignalName.WALKTHROUGH),), Stage.WALKTHROUGH),
        (
            (signalled(SignalName.WALKTHROUGH), signalled(SignalName.WALKTHROUGH_OVER, at=1)),
            Stage.WAITING,
        ),
        ((started(),), Stage.RUNNING),
        ((started(), held(at=1)), Stage.HELD),
        ((started(), held(at=1), resumed(at=2)), Stage.RUNNING),
        ((started(), false_started(at=1)), Stage.WAITING),
        ((started(), stopped()), Stage.CLOSING),
        ((started(), stopped(), closed("north")), Stage.CLOSING),
        ((started(), stopped(), closed("north"), closed("south")), Stage.CLOSED),
    ],
)
def test_the_stage_follows_the_record(record: tuple[Entry, ...], stage: Stage) -> None:
    assert score(record, book()).stage is stage


def test_a_post_that_is_asked_nothing_need_not_close_out() -> None:
    rules = book(
        rules="""
  - {step: A1, do: It, post: north, costs: slip}
  - {conduct: g, text: G, post: south, costs: slip}"""
    )
    assert score((started(), stopped(), closed("north")), rules).stage is Stage.CLOSED


# Statuses.

DISQUALIFIES: Final = book(penalties="{slip: {seconds: 10}, grave: {disqualify: yes}}")
ENDS: Final = "{run: {limit: 10 min, over: did not finish}}"


def test_a_disqualifying_finding_is_the_status_with_the_rule_as_the_reason() -> None:
    result = card(DISQUALIFIES, breached())
    assert (result.status, result.why) == (Status.DISQUALIFIED, "Gloves on")
    assert result.total is None


def test_the_head_judges_word_goes_before_the_rules() -> None:
    result = card(DISQUALIFIES, breached(), ended(Status.DID_NOT_FINISH, "gave up"))
    assert (result.status, result.why) == (Status.DID_NOT_FINISH, "gave up")


def test_lifting_a_status_leaves_what_the_rules_say() -> None:
    lifted = ended(Status.DID_NOT_START, at=1), ended(None, at=2)
    assert card(book(), *lifted).status is None
    assert card(DISQUALIFIES, breached(), *lifted).status is Status.DISQUALIFIED


def test_a_disqualification_goes_before_the_limit() -> None:
    rules = book(
        penalties="{slip: {seconds: 10}, grave: {disqualify: yes}}",
        clock=ENDS,
    )
    slow = watch(1, 700_000)
    assert card(rules, slow).status is Status.DID_NOT_FINISH
    assert card(rules, slow).why == RUN_LIMIT
    assert card(rules, slow, breached()).status is Status.DISQUALIFIED


def test_within_the_limit_a_run_is_not_ended() -> None:
    assert card(book(clock=ENDS), watch(1, 599_990)).status is None


# Splits.

TASKS: Final = book(
    rules=None,
    tasks="""
  - {task: A, title: First, post: north, costs: slip, rules: {step: A1, do: One}}
  - {task: B, title: Second, post: north, costs: slip, rules: {step: B1, do: Two}}
  - {task: C, title: Third, post: north, costs: slip, rules: {step: C1, do: Three}}""",
)


def split(task: str, end: int | None, took: int | None) -> Split:
    return Split(TaskId(task), end, took)


def test_a_task_takes_from_the_end_of_the_one_before() -> None:
    marks = marked("A1", at=20_000), marked("B1", at=50_000), marked("C1", at=90_000)
    assert card(TASKS, *marks).splits == (
        split("A", 20_000, 20_000),
        split("B", 50_000, 30_000),
        split("C", 90_000, 40_000),
    )


def test_a_task_without_a_timed_mark_has_no_split() -> None:
    marks = marked("A1", at=20_000), marked("B1", at=50_000, timed=False), missed("C1", at=90_000)
    assert card(TASKS, *marks).splits == (
        split("A", 20_000, 20_000),
        split("B", None, None),
        split("C", None, None),
    )


def test_a_task_done_while_another_went_on_took_no_time_of_its_own() -> None:
    marks = marked("A1", at=50_000), marked("B1", at=20_000)
    assert card(TASKS, *marks).splits[1] == split("B", 20_000, 0)


def test_holds_are_no_part_of_a_split() -> None:
    marks = held(at=5_000), resumed(at=15_000), marked("A1", at=20_000)
    assert card(TASKS, *marks).splits[0] == split("A", 10_000, 10_000)


def test_a_mark_before_the_start_ends_a_task_at_the_start() -> None:
    assert card(TASKS, marked("A1", at=-4_000)).splits[0] == split("A", 0, 0)


def test_a_false_start_leaves_its_marks_out_of_the_splits() -> None:
    record = started(), marked("A1", at=2_000), false_started(at=5_000), started(at=60_000)
    result = score((*record, stopped(at=90_000), marked("B1", at=70_000)), TASKS)
    assert result.splits[:2] == (split("A", None, None), split("B", 10_000, 10_000))


# What is undecided.


def test_what_waits_for_a_person_is_counted() -> None:
    rules = book(rules="[{step: A1, do: It, post: north, costs: {seconds: 1, seen-by: all}}]")
    contested = missed("A1", by="jo"), marked("A1", by="al")
    assert card(rules).undecided == 1
    assert card(rules, *contested).undecided == 1
    assert card(rules, *contested, upheld("A1")).undecided == 0
    assert card(rules, marked("A1", Outcome.UNSEEN)).undecided == 1


def test_before_the_run_nothing_is_undecided() -> None:
    assert score((), book()).undecided == 0


def test_rulings_and_changes_count_in_the_total() -> None:
    marks = missed("A1"), counted("tools", 1), changed("A1", 2_500)
    assert card(book(), *marks).penalty == 12_500
