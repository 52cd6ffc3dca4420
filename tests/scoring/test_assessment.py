"""Assessments: competent or not yet, why, what is shown again, and who signed that."""

from typing import Any, Final

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring import (
    Addition,
    Assessed,
    Competence,
    Entrant,
    Entry,
    Rulebook,
    RuleId,
    Scorecard,
    Signature,
    Stage,
    Status,
    TeamId,
    rank,
    score,
)
from tests.scoring.builders import (
    book,
    breached,
    card,
    closed,
    ended,
    entry,
    marked,
    missed,
    started,
    struck,
    withdrew,
)

_PENALTIES: Final = "{slip: {points: 10}, grave: {points: 30, severity: safety}}"
_TASKS: Final = """
  - task: knots
    title: Tie on
    post: north
    costs: slip
    rules:
      - {step: K1, do: Tie the figure of eight}
      - {step: K2, do: Check the partner}
  - task: descent
    title: Go down
    post: north
    costs: slip
    rules:
      - {step: D1, do: Lock the device}"""
_RULES: Final = """
  - {conduct: gloves, text: Gloves on, post: north, costs: grave}
  - {bonus: neat, text: Neat work, post: south, gives: slip}"""


def of(assessment: str, **more: Any) -> Rulebook:
    sections = {
        "result": "assessment",
        "penalties": _PENALTIES,
        "points": "{start: 100}",
        "tasks": _TASKS,
        "rules": _RULES,
    }
    return book(**{**sections, "assessment": assessment, **more})


def whole(rules: Rulebook, *seen: Entry) -> Scorecard:
    """The scorecard of an assessment that every post has closed out, without any clock."""
    return score([*seen, closed("north"), closed("south")], rules)


def assessed(rules: Rulebook, *seen: Entry) -> Assessed:
    made = whole(rules, *seen).assessed
    assert made is not None
    return made


def signed(outcome: Competence, by: str = "jo", at: int = 700_000) -> Entry:
    return entry(Signature(outcome, "seen it all"), by=by, at=at)


def test_no_clock_is_needed() -> None:
    made = whole(of("{pass: 80}"))
    assert (made.stage, made.official, made.total) == (Stage.CLOSED, None, 100_000)
    assert made.assessed is not None


def test_while_a_post_is_open_there_is_no_outcome() -> None:
    made = score([missed("K1"), closed("north")], of("{pass: 80}"))
    assert (made.stage, made.assessed) == (Stage.CLOSING, None)


def test_where_the_rulebook_runs_a_clock_the_outcome_waits_for_the_stop() -> None:
    rules = of("{pass: 80}", clock="{run: {limit: 20 min}}")
    assert whole(rules, started()).assessed is None
    made = card(rules, missed("K1"))
    assert made.official is not None
    assert made.assessed is not None
    assert made.assessed.outcome is Competence.COMPETENT


@pytest.mark.parametrize(
    ("mark", "slips", "outcome"),
    [
        ("80", 2, Competence.COMPETENT),
        ("80.001", 2, Competence.NOT_YET),
        ("80 %", 2, Competence.COMPETENT),
        ("80.1 %", 2, Competence.NOT_YET),
        ("100 %", 0, Competence.COMPETENT),
        ("0 %", 3, Competence.COMPETENT),
    ],
)
def test_the_mark_is_reached_or_not(mark: str, slips: int, outcome: Competence) -> None:
    seen = [missed(rule) for rule in ("K1", "K2", "D1")[:slips]]
    assert assessed(of(f"{{pass: {mark}}}"), *seen).outcome is outcome


def test_where_the_least_points_are_best_the_mark_is_the_most_there_may_be() -> None:
    rules = of("{pass: 10}", points="{best: least}")
    assert assessed(rules, missed("K1")).outcome is Competence.COMPETENT
    assert assessed(rules, missed("K1"), missed("D1")).outcome is Competence.NOT_YET


@pytest.mark.parametrize("name", ["K1", "slip"])
def test_what_must_be_met_is_met_only_without_a_finding(name: str) -> None:
    rules = of(f"{{must: {name}}}")
    assert assessed(rules).outcome is Competence.COMPETENT
    failed = assessed(rules, missed("K1"))
    assert failed.outcome is Competence.NOT_YET
    assert [(each.name, each.met, each.rules) for each in failed.criteria] == [
        (name, False, ("K1",))
    ]


def test_a_severity_can_be_what_must_be_met() -> None:
    rules = of("{must: safety}")
    assert assessed(rules, missed("K1")).outcome is Competence.COMPETENT
    assert assessed(rules, breached()).outcome is Competence.NOT_YET


def test_a_bonus_that_must_be_met_is_one_to_earn() -> None:
    rules = of("{must: neat}")
    assert assessed(rules).outcome is Competence.NOT_YET
    assert assessed(rules, marked("neat", post="south")).outcome is Competence.COMPETENT


def test_a_finding_struck_out_fails_nothing() -> None:
    rules = of("{must: K1}")
    assert assessed(rules, missed("K1"), struck("K1")).outcome is Competence.COMPETENT


def test_what_the_head_judge_added_fails_too() -> None:
    added = entry(Addition(RuleId("K2"), 1, "seen from the door"), post=None)
    assert assessed(of("{must: K2}"), added).outcome is Competence.NOT_YET


def test_each_criterion_is_told() -> None:
    made = assessed(of("{pass: 90, must: [safety, D1]}"), missed("K1"), missed("D1"))
    assert [(each.name, each.met) for each in made.criteria] == [
        ("pass mark", False),
        ("safety", True),
        ("D1", False),
    ]


@pytest.mark.parametrize(
    ("assessment", "again"),
    [
        ("{must: K2}", ("K2",)),
        ("{must: K2, again: task}", ("knots",)),
        ("{pass: 90}", ("K2", "D1", "gloves")),
        ("{pass: 90, again: task}", ("knots", "descent", "gloves")),
        ("{pass: 90, must: K2, again: rules}", ("K2", "D1", "gloves")),
    ],
)
def test_what_is_shown_again_is_what_failed_or_its_tasks(
    assessment: str, again: tuple[str, ...]
) -> None:
    assert assessed(of(assessment), missed("K2"), missed("D1"), breached()).again == again


def test_who_is_competent_shows_nothing_again() -> None:
    assert assessed(of("{pass: 90}"), missed("K1")).again == ()


def test_who_lacked_points_without_a_failure_shows_everything_again() -> None:
    made = assessed(of("{pass: 5}", points=None, tasks=None))
    assert made.again == ("gloves", "neat")


@pytest.mark.parametrize("status", [Status.DID_NOT_FINISH, Status.DISQUALIFIED])
def test_who_did_not_finish_is_not_yet_competent(status: Status) -> None:
    made = score([ended(status)], of("{must: K1, again: task}")).assessed
    assert made is not None
    assert made.outcome is Competence.NOT_YET
    assert made.again == ("knots", "descent", "gloves", "neat")


def test_who_did_not_start_is_not_assessed() -> None:
    assert score([ended(Status.DID_NOT_START)], of("{must: K1}")).assessed is None


def test_an_outcome_waits_for_a_signature() -> None:
    rules = of("{must: K1}")
    good = [marked(rule) for rule in ("K1", "K2", "D1")] + [marked("neat", post="south")]
    assert whole(rules, *good).undecided == 1
    assert whole(rules, *good, signed(Competence.COMPETENT)).undecided == 0


def test_a_signature_holds_for_the_outcome_it_was_given_on() -> None:
    rules = of("{must: K1}")
    sign = signed(Competence.COMPETENT)
    assert assessed(rules, sign).signed == (sign,)
    later = assessed(rules, sign, missed("K1"))
    assert (later.signed, later.stale) == ((), (sign,))


def test_each_assessors_latest_signature_holds() -> None:
    rules = of("{must: K1}")
    first, then = signed(Competence.NOT_YET), signed(Competence.COMPETENT, at=710_000)
    other = signed(Competence.COMPETENT, by="kim", at=705_000)
    assert assessed(rules, then, first, other).signed == (then, other)


def test_a_signature_can_be_withdrawn() -> None:
    sign = signed(Competence.COMPETENT)
    made = assessed(of("{must: K1}"), sign, withdrew(sign, at=800_000))
    assert (made.signed, made.stale) == ((), ())


def test_nobody_is_ranked() -> None:
    rules = of("{pass: 90}")
    rows = rank(
        [
            (Entrant(TeamId("z"), "Zoe"), whole(rules)),
            (Entrant(TeamId("b"), "Bea", "guides"), whole(rules, missed("K1"), missed("K2"))),
            (Entrant(TeamId("a"), "Al"), score([ended(Status.DID_NOT_START)], rules)),
        ],
        rules,
    )
    assert [row.entrant.name for row in rows] == ["Al", "Bea", "Zoe"]
    assert {(row.place, row.division_place, row.tied, row.broken_by) for row in rows} == {
        (None, None, False, "")
    }


def test_of_several_attempts_one_that_is_competent_is_enough() -> None:
    rules = of("{must: K1}", attempts="{count: 2}", points="{start: 100}")
    tries = [whole(rules, missed("K1")), whole(rules, missed("K2"), missed("D1"))]
    [row] = rank([(Entrant(TeamId("a"), "A"), each) for each in tries], rules)
    assert row.scorecard.assessed is not None
    assert row.scorecard.assessed.outcome is Competence.COMPETENT
    assert [attempt.counts for attempt in row.scorecard.attempts] == [False, True]


@given(st.sets(st.sampled_from(["K1", "K2", "D1"])), st.integers(0, 2), st.booleans())
def test_competent_is_who_meets_every_criterion_and_nobody_else(
    slips: set[str],
    breaches: int,
    neat: bool,  # noqa: FBT001 - drawn
) -> None:
    seen = [missed(rule) for rule in sorted(slips)]
    seen += [breached(at=turn * 60_000) for turn in range(breaches)]
    seen += [marked("neat", post="south")] if neat else []
    points = 100 - 10 * len(slips) - 30 * breaches + 10 * neat
    met = points >= 75 and not breaches and "K1" not in slips
    made = assessed(of("{pass: 75, must: [safety, K1]}"), *seen)
    assert (made.outcome is Competence.COMPETENT) is met
    assert bool(made.again) is not met
