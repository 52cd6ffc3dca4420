from typing import Final

import pytest

from scoring import Doubt, Fault, Outcome, Question, RuleId, State
from scoring.findings import Finding
from tests.scoring.builders import (
    book,
    card,
    closed,
    findings,
    marked,
    missed,
    upheld,
)


def rules(more: str, costs: str = "slip") -> dict[str, str]:
    return {"rules": f"[{{step: S, do: Lash it, post: north, costs: {costs}, {more}}}]"}


#: One checklist, and a step after it.
LIST: Final = book(
    rules="""
  - {step: S, do: Lash it, post: north, costs: slip, points: [flat, tight, seated]}
  - {step: T, do: Lift it, post: north, costs: slip, after: S}"""
)


def said(found: list[Finding]) -> list[tuple[str, str, Fault]]:
    return [(each.id, each.failure.item, each.failure.fault) for each in found]


# A step with points.


def test_all_good_is_one_tap_and_answers_every_point() -> None:
    assert card(LIST, marked("S"), marked("T", at=9_000)).questions == ()
    assert findings(LIST, marked("S")) == []


def test_each_point_that_failed_is_a_finding() -> None:
    found = findings(LIST, marked("S", Outcome.WRONG, "flat"), missed("S", "seated"))
    assert said(found) == [
        ("S/flat", "flat", Fault.DONE_WRONGLY),
        ("S/seated", "seated", Fault.NOT_DONE),
    ]


def test_all_good_is_the_word_on_the_points_that_nothing_else_is_said_of() -> None:
    result = card(LIST, missed("S", "flat", at=1), marked("S", at=2), marked("T", at=9_000))
    assert said(list(result.findings)) == [("S/flat", "flat", Fault.NOT_DONE)]
    assert result.questions == ()


@pytest.mark.parametrize(
    ("outcome", "fault"),
    [(Outcome.MISSING, Fault.NOT_DONE), (Outcome.WRONG, Fault.DONE_WRONGLY)],
)
def test_a_whole_step_that_failed_is_one_finding(outcome: Outcome, fault: Fault) -> None:
    result = card(LIST, marked("S", outcome))
    assert said(list(result.findings)) == [("S", "", fault)]
    assert result.questions == (Question(RuleId("T")),)


def test_once_somebody_speaks_of_a_point_the_points_are_what_failed() -> None:
    found = findings(LIST, missed("S", by="jo"), marked("S", item="flat", by="al"))
    assert [(each.failure.item, each.doubts) for each in found] == [
        ("flat", (Doubt.CONTESTED,)),
        ("seated", ()),
        ("tight", ()),
    ]


def test_a_whole_step_is_contested_where_another_judge_finds_all_good() -> None:
    [finding] = findings(LIST, missed("S", by="jo"), marked("S", by="al"))
    assert (finding.id, finding.doubts) == ("S", (Doubt.CONTESTED,))


def test_what_comes_after_a_checklist_that_was_never_done_is_in_order() -> None:
    assert said(findings(LIST, missed("S", at=9_000), marked("T", at=1_000))) == [
        ("S", "", Fault.NOT_DONE)
    ]


def test_what_comes_after_a_checklist_comes_after_its_first_mark() -> None:
    points = marked("S", item="flat", at=5_000), marked("S", item="tight", at=60_000)
    assert findings(LIST, *points, marked("T", at=3_000)) == []
    [finding] = findings(LIST, *points, marked("T", at=2_999))
    assert (finding.id, finding.failure.margin) == ("T after/S", 2_001)


def test_the_points_can_cost_once() -> None:
    once = book(**rules("points: [flat, tight], charge: once"))
    [finding] = findings(once, missed("S", "flat"), missed("S", "tight"))
    assert (finding.id, finding.failure.item, finding.cost) == ("S", "flat, tight", 10_000)


# What nobody saw.


HARSH: Final = {"unseen": "missing"}


def test_what_nobody_saw_costs_nothing_unless_the_rulebook_says_so() -> None:
    assert findings(book(**rules("times: 2")), closed("north")) == []
    harsh = book(**rules("times: 2"), **HARSH)
    assert [(each.id, each.doubts) for each in findings(harsh, closed("north"))] == [
        ("S/1", (Doubt.UNSEEN,)),
        ("S/2", (Doubt.UNSEEN,)),
    ]
    assert findings(harsh) == []


def test_what_nobody_saw_of_a_set_that_costs_once_costs_once() -> None:
    harsh = book(**rules("times: 3, charge: once"), **HARSH)
    [finding] = findings(harsh, missed("S", "2"), closed("north"))
    assert (finding.failure.item, finding.cost) == ("1, 2, 3", 10_000)
    assert finding.doubts == (Doubt.UNSEEN,)


def test_a_whole_checklist_nobody_saw_is_a_finding_a_point() -> None:
    harsh = book(**rules("points: [flat, tight]"), **HARSH)
    assert len(findings(harsh, marked("S", Outcome.UNSEEN), closed("north"))) == 2


# Wrong costs something else than missing.


def test_wrong_costs_what_the_rule_says_and_missing_what_it_costs() -> None:
    own = book(**rules("each: [one, two], wrong: {seconds: 3}"))
    marks = marked("S", Outcome.WRONG, "one", at=1), missed("S", "two", at=2)
    assert [each.cost for each in findings(own, *marks)] == [3_000, 10_000]


def test_a_set_that_costs_once_costs_what_the_first_item_that_counts_does() -> None:
    own = book(
        **rules(
            "each: [one, two], charge: once, wrong: {seconds: 3}",
            "{seconds: 10, seen-by: majority}",
        )
    )
    contested = marked("S", Outcome.WRONG, "one", by="jo"), marked("S", item="one", by="al")
    [finding] = findings(own, *contested, missed("S", "two"))
    assert (finding.cost, finding.state) == (10_000, State.COUNTS)
    assert finding.failure.item == "one, two"


# The first and the last of several items.

EACH: Final = "each: [lead, hand, electrician], last: electrician"


def disorder(more: str, *times: tuple[str, int, int]) -> list[Finding]:
    marks = [marked("S", item=item, at=at, off_by=off) for item, at, off in times]
    return findings(book(**rules(more)), *marks)


def test_the_last_item_done_before_another_is_proposed_as_out_of_order() -> None:
    [finding] = disorder(EACH, ("lead", 9_000, 0), ("electrician", 5_000, 0))
    assert (finding.id, finding.failure.item) == ("S last/electrician", "electrician")
    assert (finding.failure.fault, finding.state) == (Fault.OUT_OF_ORDER, State.PROPOSED)
    assert (finding.failure.margin, finding.failure.detail) == (4_000, "had to be the last")


def test_the_first_item_done_after_another_is_proposed_as_out_of_order() -> None:
    more = EACH.replace("last: electrician", "first: lead")
    [finding] = disorder(more, ("lead", 9_000, 0), ("hand", 8_500, 0), ("electrician", 5_000, 0))
    assert (finding.id, finding.failure.margin) == ("S first/lead", 4_000)


@pytest.mark.parametrize(("late", "found"), [(2_300, 0), (2_301, 1)])
def test_the_order_of_items_grants_the_tolerance_and_both_clocks(late: int, found: int) -> None:
    times = ("lead", 5_000 + late, 200), ("electrician", 5_000, 100)
    assert len(disorder(EACH, *times)) == found


def test_an_item_by_a_wild_clock_hides_no_other() -> None:
    times = ("lead", 60_000, 86_400_000), ("hand", 9_000, 0), ("electrician", 5_000, 0)
    [finding] = disorder(EACH, *times)
    assert finding.failure.margin == 4_000


def test_an_item_that_was_not_done_was_neither_first_nor_last() -> None:
    assert disorder(EACH, ("lead", 9_000, 0), ("hand", 5_000, 0)) == []
    assert disorder(EACH, ("electrician", 5_000, 0)) == []


def test_the_order_of_items_costs_and_counts_as_after_says() -> None:
    rulebook = book(
        rules=f"""
  - {{step: A, do: Test, post: north, costs: slip}}
  - step: S
    do: Take off your lock
    post: north
    costs: slip
    {EACH.replace(", last", chr(10) + "    last")}
    after: {{rules: A, costs: grave, at-once: yes}}"""
    )
    times = (("lead", 9_000), ("electrician", 5_000))
    marks = [marked("S", item=item, at=at) for item, at in times]
    [finding] = findings(rulebook, *marks)
    assert (finding.cost, finding.state) == (30_000, State.COUNTS)


def test_upheld_it_costs_what_the_rule_costs() -> None:
    marks = marked("S", item="lead", at=9_000), marked("S", item="electrician", at=5_000)
    [finding] = findings(book(**rules(EACH)), *marks, upheld("S last/electrician"))
    assert finding.cost == 10_000
