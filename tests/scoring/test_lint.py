"""What the lint remarks on, and what it does not."""

from scoring import PostId, lint
from scoring.lint import busiest
from tests.scoring.builders import book


def test_a_given_that_points_start_from_is_of_use() -> None:
    sections = {
        "givens": '{carried: {number: "1"}, spare: {number: "1"}}',
        "result": "points",
        "points": "{start: carried}",
        "penalties": "{slip: {points: 1}, grave: {points: 3}}",
    }
    idle = [each.says for each in lint(book(**sections)) if "given" in each.says]
    assert idle == ["No rule depends on the given 'spare'."]


def test_a_checklist_takes_as_long_as_it_says_however_many_points_it_has() -> None:
    tasks = "[{task: A, title: A, rules: [%s]}]"
    checklist = "{step: B1, do: Check, post: north, costs: slip, takes: 60 s, points: [one, two]}"
    after = "{step: B2, do: Rig, post: south, costs: slip}"
    rules = book(tasks=tasks % f"{checklist}, {after}")
    assert busiest(rules, PostId("south")).begins == 60_000 + 20_000
