"""Remarks on rulebooks that can be read and will still trouble somebody, word for word."""

import pytest

from scoring import Grade, lint, read_rulebook
from scoring.ids import PostId
from scoring.lint import busiest
from tests.scoring.builders import book
from tests.scoring.rulebooks import EVERY_KIND

QUIET: dict[str, str | None] = {
    "crew": "{size: 4, roles: {lead: Lead}}",
    "posts": "{north: {title: North}}",
    "penalties": "{slip: {seconds: 10}, grave: {seconds: 10}}",
    "rules": """
  - {step: A1, do: Stop, by: lead, post: north, costs: slip}
  - {conduct: G, text: Gloves, post: north, costs: grave}""",
}


def said(**sections: str | None) -> list[tuple[str, str]]:
    return [(remark.grade, remark.says) for remark in lint(book(**{**QUIET, **sections}))]


def test_a_sound_rulebook_has_no_remarks() -> None:
    assert said() == []


@pytest.mark.parametrize(
    ("section", "text", "grade", "says"),
    [
        (
            "penalties",
            "{slip: {seconds: 10}, grave: {seconds: 10}, dire: {seconds: 60}}",
            Grade.WARNING,
            "Nothing costs 'dire'.",
        ),
        (
            "posts",
            "{north: {title: North}, south: {title: South}}",
            Grade.WARNING,
            "Post 'south' has nothing to watch.",
        ),
        (
            "crew",
            "{size: 4, roles: {lead: Lead, mate: Mate}}",
            Grade.ADVICE,
            "No rule is for the role 'mate'.",
        ),
        (
            "givens",
            "{side: {choices: [left, right]}}",
            Grade.ADVICE,
            "Nothing depends on the given 'side'.",
        ),
        (
            "penalties",
            "{slip: {seconds: 40}, grave: {seconds: 10}}",
            Grade.ADVICE,
            (
                "If everything went wrong once, 'slip' would be 80 % of all penalties: it decides "
                "the event, whatever else happens."
            ),
        ),
        (
            "penalties",
            "{slip: {seconds: 10, then: [20, disqualify]}, grave: {seconds: 10}}",
            Grade.WARNING,
            (
                "The ladder of 'slip' has 3 steps, but in a run only 1 thing can go wrong that it "
                "counts. What comes after step 1 is never reached."
            ),
        ),
    ],
)
def test_each_remark_says_what_and_how_grave(
    section: str, text: str, grade: Grade, says: str
) -> None:
    assert said(**{section: text}) == [(grade, says)]


def test_a_post_that_reads_a_watch_has_something_to_do() -> None:
    assert said(posts="{north: {title: North}, clock: {title: Clock, watches: 3}}") == []


def test_a_given_that_points_start_from_is_used() -> None:
    remarks = said(
        result="points",
        penalties="{slip: {points: 10}, grave: {points: 10}}",
        points="{start: carried}",
        givens="{carried: {number: 1}}",
    )
    assert remarks == []


def test_rules_in_the_same_words_are_told() -> None:
    rules = """
  - {step: A1, do: Stop, by: lead, post: north, costs: slip}
  - {step: A2, do: stop, by: lead, post: north, costs: grave}"""
    assert said(rules=rules) == [
        (Grade.ADVICE, "'A1' and 'A2' say the same; word them so that a sheet tells them apart.")
    ]


def test_a_callout_that_two_may_claim_is_told_unless_each_has_their_own() -> None:
    crew = "{size: 4, roles: {lead: Lead, mate: Mate}}"
    rules = """
  - {callout: clear, say: Clear, by: [lead, mate], post: north, costs: slip}
  - {conduct: G, text: Gloves, post: north, costs: grave}"""
    assert said(crew=crew, rules=rules) == [
        (
            Grade.ADVICE,
            (
                "Callout 'clear' is for 'lead' and 'mate': each may wait for the other to say it. "
                "Name one of them."
            ),
        )
    ]
    each = rules.replace("say: Clear", "say: Clear, each: [lead, mate]")
    assert (
        said(crew=crew, rules=each, penalties="{slip: {seconds: 10}, grave: {seconds: 20}}") == []
    )


@pytest.mark.parametrize(
    ("category", "rule"),
    [
        ("{seconds: 1, then: 2}", "{step: A1, do: Stop, by: lead, times: 2"),
        ("{seconds: 1, then: 2, ladder: rule}", "{step: A1, do: Stop, by: lead, times: 2"),
        ("{seconds: 1, then: 2}", "{conduct: A1, text: Stop, by: lead"),
        ("{seconds: 1, then: 2}", "{correctable: A1, text: Stop, by: lead"),
        ("{seconds: 1, then: 2}", "{step: A1, do: Stop, by: lead, after: G"),
    ],
)
def test_a_ladder_that_can_be_climbed_is_no_remark(category: str, rule: str) -> None:
    rules = f"""
  - {rule}, post: north, costs: slip}}
  - {{conduct: G, text: Gloves, post: north, costs: grave}}"""
    remarks = said(penalties=f"{{slip: {category}, grave: {{seconds: 3}}}}", rules=rules)
    assert [each for each in remarks if "ladder" in each[1]] == []


@pytest.mark.parametrize(
    ("category", "rule"),
    [
        ("{seconds: 1, then: 2}", "{step: A1, do: Stop, times: 2, charge: once"),
        ("{seconds: 1, then: [2, 3], ladder: rule}", "{step: A1, do: Stop, times: 2"),
        ("{seconds: 1, then: 2}", "{conduct: A1, text: Stop, charge: once"),
    ],
)
def test_a_ladder_that_no_run_climbs_is_a_warning(category: str, rule: str) -> None:
    rules = f"""
  - {rule}, by: lead, post: north, costs: slip}}
  - {{conduct: G, text: Gloves, post: north, costs: grave}}"""
    remarks = said(penalties=f"{{slip: {category}, grave: {{seconds: 3}}}}", rules=rules)
    assert [each[0] for each in remarks if "ladder" in each[1]] == [Grade.WARNING]


def test_a_ladder_that_a_false_start_climbs_too_is_no_remark() -> None:
    remarks = said(
        penalties="{slip: {seconds: 10, then: 20}, grave: {seconds: 10}}",
        clock="{run: {false-start: slip}}",
    )
    assert remarks == []


#: Twelve callouts of three seconds each, and how they are watched.
BUSY = "".join(
    f"\n      - {{callout: c{n}, say: Word {n}, by: lead, takes: 3 s}}" for n in range(12)
)
TASK = f"""
  - task: A
    title: Words
    post: north
    costs: slip
    rules:{BUSY}
      - {{conduct: h, text: Hats on, costs: grave, during: A}}
      - {{correctable: e, text: No end hangs over, costs: grave}}"""


def test_a_post_with_more_to_watch_than_a_person_can_is_told_with_the_measure() -> None:
    rules = "".join(
        f"\n  - {{conduct: g{n}, text: Rule {n}, post: north, costs: grave}}" for n in range(5)
    )
    assert said(tasks=TASK, rules=rules) == [
        (
            Grade.WARNING,
            (
                "Post 'north' has more to watch than a person can. At a usual pace 12 marks fall "
                "due there in the minute from 0:03 on, in task A, while 7 rules of conduct must be "
                "kept in sight. At 4 s a mark and 2 s a rule of conduct that is 62 s of watching. "
                "Give some of it to another post, or say with 'takes' how long the work really "
                "takes."
            ),
        )
    ]


def test_work_that_takes_longer_gives_a_post_time() -> None:
    slow = TASK.replace("takes: 3 s", "takes: 30 s")
    rules = book(**{**QUIET, "tasks": slow})
    load = busiest(rules, PostId("north"))
    assert (load.marks, load.conduct) == (2, 3)


def test_what_holds_before_the_start_or_after_the_stop_is_not_in_the_way() -> None:
    rules = QUIET["rules"] or ""
    phases = rules.replace("text: Gloves", "text: Gloves, during: [walkthrough, after-stop]")
    load = busiest(book(**{**QUIET, "tasks": TASK, "rules": phases}), PostId("north"))
    assert load.conduct == 2


def test_what_must_be_held_takes_as_long_as_it_must_be_held() -> None:
    held = "{held: H, do: Hold, at-least: 2 min}"
    task = (
        f"[{{task: A, title: T, post: north, costs: slip, rules: [{held}, {{step: S, do: It}}]}}]"
    )
    load = busiest(
        book(**{**QUIET, "rules": None, "tasks": task, "penalties": "{slip: {seconds: 1}}"}),
        PostId("north"),
    )
    assert (load.marks, load.begins) == (2, 120_000)


def test_a_checklist_takes_as_long_as_it_says_however_many_points_it_has() -> None:
    checklist = "{step: B1, do: Check, post: north, costs: slip, takes: 60 s, points: [one, two]}"
    after = "{step: B2, do: Rig, post: south, costs: slip}"
    rules = book(tasks=f"[{{task: A, title: A, rules: [{checklist}, {after}]}}]")
    assert busiest(rules, PostId("south")).begins == 60_000 + 20_000
    assert busiest(rules, PostId("north")).marks == 1


def test_a_rulebook_of_every_kind_can_be_remarked_on() -> None:
    assert [each.grade for each in lint(read_rulebook(EVERY_KIND.encode()))] == []
