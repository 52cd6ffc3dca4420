from collections.abc import Callable
from typing import Final

import pytest

from scoring import Doubt, Entry, Fault, Outcome, Question, RuleId, State
from scoring.findings import Finding
from tests.scoring.builders import (
    ZERO,
    book,
    breached,
    card,
    closed,
    counted,
    findings,
    marked,
    missed,
    withdrew,
)

BOOK: Final = book()


def watched_by_two(rule: str, seen_by: str = "any") -> str:
    """A rulebook section with one rule that both posts watch, and its category."""
    return f"[{{{rule}, post: [north, south], costs: {{seconds: 10, seen-by: {seen_by}}}}}]"


def said(*found: Finding) -> list[tuple[str, str, str]]:
    return [(each.failure.rule, each.failure.item, each.failure.fault) for each in found]


# Steps and callouts.


@pytest.mark.parametrize(
    ("rule", "outcome", "fault"),
    [
        ("A1", Outcome.MISSING, Fault.NOT_DONE),
        ("A1", Outcome.WRONG, Fault.DONE_WRONGLY),
        ("clear", Outcome.MISSING, Fault.NOT_HEARD),
        ("clear", Outcome.WRONG, Fault.WRONG_WORDS),
    ],
)
def test_each_failing_answer_has_its_fault(rule: str, outcome: Outcome, fault: Fault) -> None:
    mark = marked(rule, outcome, at=7_000)
    [finding] = findings(BOOK, mark)
    assert (finding.failure.fault, finding.cost, finding.id) == (fault, 10_000, rule)
    assert (finding.failure.at, finding.failure.stands_on) == (ZERO + 7_000, (mark.id,))


@pytest.mark.parametrize("outcome", [Outcome.GOOD, Outcome.UNSEEN])
def test_good_and_unseen_are_no_findings(outcome: Outcome) -> None:
    assert findings(BOOK, marked("A1", outcome)) == []


def test_each_failing_item_is_a_finding_of_its_own() -> None:
    marks = missed("A2", "two", at=5_000), marked("A2", Outcome.WRONG, "three", at=1_000)
    assert said(*findings(BOOK, *marks)) == [
        ("A2", "three", Fault.DONE_WRONGLY),
        ("A2", "two", Fault.NOT_DONE),
    ]


def test_a_set_charged_once_is_one_finding_from_its_first_failing_item_in_time() -> None:
    once = book(
        rules="[{step: A2, do: Lock, post: north, costs: slip, each: [a, b, c], charge: once}]"
    )
    marks = missed("A2", "c", at=1_000), missed("A2", "a", at=5_000)
    [finding] = findings(once, *marks)
    assert (finding.id, finding.failure.item, finding.cost) == ("A2", "a, c", 10_000)
    assert finding.failure.at == ZERO + 1_000
    assert finding.failure.stands_on == (marks[0].id, marks[1].id)


def test_a_rule_to_be_repeated_numbers_its_items() -> None:
    thrice = book(rules="[{callout: set, say: Set, post: north, costs: slip, times: 3}]")
    assert thrice.rules[RuleId("set")].items == ("1", "2", "3")
    assert said(*findings(thrice, missed("set", "2"))) == [("set", "2", Fault.NOT_HEARD)]


def test_a_judges_last_word_is_the_one_that_holds() -> None:
    assert findings(BOOK, missed("A1", at=1_000), marked("A1", at=2_000)) == []
    assert len(findings(BOOK, marked("A1", at=1_000), missed("A1", at=2_000))) == 1


def test_a_judge_who_marks_again_speaks_when_the_last_mark_was_made() -> None:
    first, again = missed("A1", at=1_000), marked("A1", Outcome.WRONG, at=9_000)
    [finding] = findings(BOOK, first, missed("A1", at=5_000, by="al"), again)
    assert (finding.failure.at, finding.failure.fault) == (ZERO + 5_000, Fault.NOT_DONE)


def test_a_withdrawn_mark_leaves_the_judges_earlier_word() -> None:
    later = marked("A1", at=2_000)
    assert len(findings(BOOK, missed("A1", at=1_000), later, withdrew(later))) == 1


def test_an_item_that_the_rule_does_not_have_changes_nothing() -> None:
    assert findings(BOOK, missed("A2", "four"), missed("A1", "one"), missed("nowhere")) == []


def test_an_observation_of_another_kind_changes_nothing() -> None:
    strays = breached("A1"), counted("A1", 3), missed("gloves"), breached("tools"), missed("tools")
    assert findings(BOOK, *strays) == []


# Several judges.

Failing = Callable[..., Entry]
STEP: Final = "step: S, do: It"
RETURNS: Final = "returns: S, text: It"
CONDUCT: Final = "conduct: S, text: It"


def _missing(by: str, post: str) -> Entry:
    return missed("S", by=by, post=post)


def _breach(by: str, post: str) -> Entry:
    return breached("S", by=by, post=post)


def _short(by: str, post: str) -> Entry:
    return counted("S", 1, by=by, post=post)


@pytest.mark.parametrize(
    ("rule", "failing"), [(STEP, _missing), (CONDUCT, _breach), (RETURNS, _short)]
)
@pytest.mark.parametrize(
    ("seen_by", "state"),
    [("any", State.COUNTS), ("majority", State.PROPOSED), ("all", State.PROPOSED)],
)
def test_what_one_of_two_posts_saw_is_uncorroborated_and_counts_as_its_category_says(
    rule: str, failing: Failing, seen_by: str, state: State
) -> None:
    [finding] = findings(book(rules=watched_by_two(rule, seen_by)), failing("jo", "north"))
    assert (finding.state, finding.doubts) == (state, (Doubt.UNCORROBORATED,))


@pytest.mark.parametrize(
    ("rule", "failing"), [(STEP, _missing), (CONDUCT, _breach), (RETURNS, _short)]
)
@pytest.mark.parametrize("seen_by", ["any", "majority", "all"])
def test_what_both_posts_saw_is_one_finding_that_counts(
    rule: str, failing: Failing, seen_by: str
) -> None:
    rules = book(rules=watched_by_two(rule, seen_by))
    [finding] = findings(rules, failing("jo", "north"), failing("al", "south"))
    assert (finding.state, finding.doubts) == (State.COUNTS, ())


@pytest.mark.parametrize(
    ("seen_by", "failing", "state"),
    [
        ("any", 1, State.COUNTS),
        ("majority", 1, State.PROPOSED),
        ("majority", 2, State.COUNTS),
        ("all", 2, State.PROPOSED),
        ("all", 3, State.COUNTS),
    ],
)
def test_how_many_of_three_judges_must_have_seen_it(
    seen_by: str, failing: int, state: State
) -> None:
    rules = book(rules=f"[{{{STEP}, post: north, costs: {{seconds: 10, seen-by: {seen_by}}}}}]")
    marks = [
        missed("S", by=judge) if n < failing else marked("S", by=judge)
        for n, judge in enumerate(("ann", "bo", "cy"))
    ]
    [finding] = findings(rules, *marks)
    assert finding.state is state
    assert (Doubt.CONTESTED in finding.doubts) is (failing < 3)


def test_not_seen_is_no_word_for_or_against() -> None:
    rules = book(rules=watched_by_two(STEP))
    marks = missed("S", by="jo"), marked("S", Outcome.UNSEEN, by="al", post="south")
    [finding] = findings(rules, *marks)
    assert (finding.state, finding.doubts) == (State.COUNTS, (Doubt.UNCORROBORATED,))


# Conduct.


def test_each_breach_is_a_finding() -> None:
    breaches = breached(at=1_000, whom="lead"), breached(at=2_000)
    assert said(*findings(BOOK, *breaches)) == [
        ("gloves", "lead", Fault.BREACH),
        ("gloves", "", Fault.BREACH),
    ]
    assert [each.id for each in findings(BOOK, *breaches)] == [
        f"gloves/{breaches[0].id}",
        f"gloves/{breaches[1].id}",
    ]


def test_two_judges_within_the_window_saw_one_breach() -> None:
    one, other = breached(by="jo", at=1_000), breached(by="al", at=11_000)
    [finding] = findings(BOOK, one, other)
    assert finding.failure.stands_on == (one.id, other.id)


def test_two_judges_a_millisecond_beyond_the_window_saw_two() -> None:
    assert len(findings(BOOK, breached(by="jo", at=1_000), breached(by="al", at=11_001))) == 2


def test_the_rule_sets_its_window() -> None:
    rules = book(rules="[{conduct: g, text: G, post: north, costs: slip, window: 500 ms}]")
    assert len(findings(rules, breached("g", at=0), breached("g", by="al", at=500))) == 1
    assert len(findings(rules, breached("g", at=0), breached("g", by="al", at=501))) == 2


def test_one_judges_two_marks_are_two_however_close() -> None:
    assert len(findings(BOOK, breached(at=1_000), breached(at=1_001))) == 2


def test_marks_on_different_people_are_never_one_breach() -> None:
    marks = breached(whom="lead", by="jo"), breached(whom="hand", by="al")
    assert len(findings(BOOK, *marks)) == 2


def test_a_judge_who_could_not_tell_whom_saw_the_same_breach() -> None:
    [finding] = findings(BOOK, breached(by="jo"), breached(whom="hand", by="al", at=500))
    assert finding.failure.item == "hand"


def test_two_breaches_seen_by_two_judges_are_two() -> None:
    marks = [breached(by=by, at=at) for by in ("jo", "al") for at in (1_000, 5_000)]
    assert len(findings(BOOK, *marks)) == 2


def charged(how: str) -> str:
    return f"[{{conduct: g, text: G, post: north, costs: slip, charge: {how}}}]"


def test_a_breach_charged_per_person_is_one_finding_a_person() -> None:
    marks = [breached("g", whom, at=at) for at, whom in enumerate(["lead", "hand", "lead"])]
    found = findings(book(rules=charged("person")), *marks)
    assert [(each.id, each.failure.stands_on) for each in found] == [
        ("g/lead", (marks[0].id, marks[2].id)),
        ("g/hand", (marks[1].id,)),
    ]


def test_a_breach_charged_once_is_one_finding_a_run() -> None:
    marks = [breached("g", whom, at=100_000 * n) for n, whom in enumerate(["lead", "hand", ""])]
    [finding] = findings(book(rules=charged("once")), *marks)
    assert (finding.id, len(finding.failure.stands_on)) == ("g", 3)


def test_no_mark_on_conduct_is_no_question() -> None:
    rules = book(rules=charged("once"))
    assert card(rules).questions == ()


# Returns.


def test_a_count_is_one_finding_of_so_many() -> None:
    count = counted("tools", 3)
    [finding] = findings(BOOK, count)
    assert (finding.failure.fault, finding.failure.count) == (Fault.NOT_RETURNED, 3)
    assert finding.failure.stands_on == (count.id,)


def test_a_count_of_nothing_is_no_finding() -> None:
    assert findings(BOOK, counted("tools", 0)) == []


def test_a_judges_latest_count_is_their_word() -> None:
    assert findings(BOOK, counted("tools", 3, at=1), counted("tools", 0, at=2)) == []


def test_where_judges_count_differently_the_smaller_number_holds_and_is_contested() -> None:
    [finding] = findings(BOOK, counted("tools", 3, by="jo"), counted("tools", 2, by="al"))
    assert (finding.failure.count, finding.state) == (2, State.COUNTS)
    assert finding.doubts == (Doubt.CONTESTED,)


def test_what_one_judge_missed_and_another_found_is_proposed() -> None:
    [finding] = findings(BOOK, counted("tools", 3, by="jo"), counted("tools", 0, by="al"))
    assert (finding.failure.count, finding.state) == (3, State.PROPOSED)
    assert finding.doubts == (Doubt.CONTESTED,)


# Questions.


def test_what_nobody_marked_is_a_question() -> None:
    entries = marked("A1"), marked("A2", item="one"), missed("A2", "two"), counted("tools", 0)
    assert card(BOOK, *entries).questions == (
        Question(RuleId("A2"), "three"),
        Question(RuleId("clear")),
    )


def test_what_a_post_left_open_at_its_close_out_was_not_seen() -> None:
    entries = marked("A1"), *(marked("A2", item=each) for each in ("one", "two", "three"))
    assert card(BOOK, *entries, closed("north"), closed("south")).questions == (
        Question(RuleId("clear"), unseen=True),
        Question(RuleId("tools"), unseen=True),
    )


def test_not_seen_by_one_post_is_no_last_word_while_another_may_have_seen_it() -> None:
    rules = book(rules=watched_by_two(STEP))
    unseen = marked("S", Outcome.UNSEEN)
    assert card(rules, unseen).questions == (Question(RuleId("S"), unseen=False),)
    assert card(rules, unseen, closed("south")).questions == (Question(RuleId("S"), unseen=True),)
    assert card(rules, unseen, marked("S", by="al", post="south")).questions == ()
