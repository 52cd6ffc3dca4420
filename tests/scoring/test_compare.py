"""What a comparison of two editions says, word for word."""

import pytest

from scoring import Matter, Rulebook, compare, read_rulebook
from tests.scoring.builders import book
from tests.scoring.rulebooks import EVERY_KIND

RULES = """
  - {step: A1, do: Stop the drive at its panel, post: north, costs: slip}
  - {step: A2, do: Hang the locks, post: north, costs: slip, each: [one, two]}
  - {callout: clear, say: Line clear, post: north, costs: {seconds: 3}}
  - {held: blow, do: Blow, post: north, costs: slip, at-least: 5 s, wrong: {seconds: 1}}
  - {conduct: gloves, text: Gloves on, post: north, costs: grave}"""
CLOCK = "{run: {limit: 9 min}}"


def edition(number: int, rules: str = RULES, **sections: str) -> Rulebook:
    return book(rules=rules, edition=str(number), clock=sections.pop("clock", CLOCK), **sections)


OLD = edition(1)


def said(old: Rulebook, new: Rulebook) -> list[tuple[str, str]]:
    return [(change.matter.name, change.says) for change in compare(old, new)]


@pytest.mark.parametrize(
    ("was", "now", "matter", "says"),
    [
        (
            "Stop the drive at its panel",
            "Stop the drive at the panel and wait",
            "WORDS",
            (
                "'A1' is now worded “Stop the drive at the panel and wait” "
                "(was “Stop the drive at its panel”)."
            ),
        ),
        (
            "Hang the locks",
            "Close the main switch",
            "NEW_MEANING",
            (
                "'A2' said “Hang the locks” and now says “Close the main switch”; if that is "
                "another rule, give it a new id."
            ),
        ),
        (
            "Gloves on",
            "Gloves stay on all the time",
            "WORDS",
            "'gloves' is now worded “Gloves stay on all the time” (was “Gloves on”).",
        ),
        (
            "step: A2, do: Hang the locks, post: north, costs: slip, each: [one, two]",
            "callout: A2, say: Hang the locks, post: north, costs: slip, each: [one, two]",
            "NEW_MEANING",
            "'A2' was a step and is now a callout; give it a new id.",
        ),
        (
            "costs: grave",
            "costs: slip",
            "COST",
            "'gloves' now costs 10 s (was 30 s).",
        ),
        (
            "{seconds: 3}",
            "{seconds: 4, then: 8}",
            "COST",
            "'clear' now costs 4 s, then 8 s (was 3 s).",
        ),
        (
            ", wrong: {seconds: 1}",
            "",
            "COST",
            "'blow', wrong, now costs nothing of its own (was 1 s).",
        ),
        (
            "at-least: 5 s",
            "at-least: 1 min",
            "WORK",
            "'blow' now needs at least 1 minute (was 5 seconds).",
        ),
        (
            "each: [one, two]",
            "each: [one, two, three], last: two",
            "WORK",
            "'A2' now is for each of one, two, three (was one, two).",
        ),
        (
            "post: north, costs: grave",
            "post: [north, south], costs: grave, window: 2 s",
            "JUDGING",
            "'gloves' now is watched from north, south (was north).",
        ),
        (
            "costs: slip, each",
            "costs: slip, after: {rules: A1, at-once: yes}, each",
            "WORK",
            "'A2' now comes after A1, at once (was nothing).",
        ),
    ],
)
def test_a_change_of_a_rule_is_told(was: str, now: str, matter: str, says: str) -> None:
    assert RULES.count(was) == 1
    assert (matter, says) in said(OLD, edition(2, RULES.replace(was, now)))


def test_rules_that_swapped_their_words_have_new_meanings() -> None:
    swapped = RULES.replace("Stop the drive at its panel", "?").replace(
        "Hang the locks", "Stop the drive at its panel"
    )
    assert said(OLD, edition(2, swapped.replace("?", "'Hang the locks'"))) == [
        (
            "NEW_MEANING",
            (
                "'A1' said “Stop the drive at its panel” and now says “Hang the locks”, as 'A2' "
                "did; if that is another rule, give it a new id."
            ),
        ),
        (
            "NEW_MEANING",
            (
                "'A2' said “Hang the locks” and now says “Stop the drive at its panel”, as 'A1' "
                "did; if that is another rule, give it a new id."
            ),
        ),
    ]


def test_a_rule_under_a_new_id_is_no_new_rule() -> None:
    renamed = RULES.replace("A2", "B2").replace(
        "post: north, costs: grave", "post: south, costs: grave"
    )
    assert said(OLD, edition(2, renamed)) == [
        ("WORDS", "'A2' is now called 'B2': Hang the locks."),
        ("JUDGING", "'gloves' now is watched from south (was north)."),
    ]


def test_new_and_dropped_rules_are_told_with_what_they_cost() -> None:
    other = RULES.replace("conduct: gloves, text: Gloves on", "conduct: hat, text: A hat is worn")
    assert said(OLD, edition(2, other)) == [
        ("ADDED", "New conduct 'hat': A hat is worn. It costs 30 s."),
        ("DROPPED", "No longer a conduct: 'gloves', Gloves on."),
    ]


def test_a_category_that_costs_more_is_told_once_and_for_how_many_rules() -> None:
    dearer = edition(
        2, penalties="{slip: {seconds: 12, cap: 60}, grave: {seconds: 30, severity: danger}}"
    )
    assert said(edition(1), dearer) == [
        ("COST", "'slip' now costs 12 s, at most 60 s in all for 3 rules (was 10 s)."),
        ("COST", "The severity of 'grave' is now 'danger' (was 'safety')."),
    ]


def test_categories_that_come_and_go_are_told() -> None:
    other = RULES.replace("costs: grave", "costs: dire")
    new = edition(2, other, penalties="{slip: {seconds: 10}, dire: {disqualify: yes}}")
    assert [each for each in said(OLD, new) if "ategory" in each[1]] == [
        ("ADDED", "New penalty category 'dire': disqualified."),
        ("DROPPED", "Penalty category 'grave' is gone."),
    ]


@pytest.mark.parametrize(
    ("clock", "says"),
    [
        (
            "{run: {limit: 10 min, over: {seconds: 1, per: second}, warn: 1 min}}",
            (
                "The limit of the run is now 10 minutes, over it 1 s per second, told 1 minute "
                "before (was 9 minutes, over it nothing)."
            ),
        ),
        (
            "{run: {limit: 9 min, over: did not finish, of: total, when: passed}}",
            (
                "The limit of the run is now 9 minutes, and who passes it with the time with "
                "penalties did not finish (was 9 minutes, over it nothing)."
            ),
        ),
        (
            "{run: {limit: 9 min, false-start: {seconds: 0, then: 10}}}",
            "A false start is now a warning, then 10 s (was nothing).",
        ),
        (
            "{run: {limit: 9 min}, official: {to: 1 s, long: {from: 5 min, to: 10 s}}}",
            "Its rounding is now up to 1 s, from 5 minutes on up to 10 s (was up to 0.01 s).",
        ),
        (
            "{run: {limit: 9 min}, official: {from: [automatic, one watch]}}",
            "The official time is now automatic, else one watch (was one watch).",
        ),
        (
            "{run: {limit: 9 min, ends: clear}}",
            "What ends the run is now clear (was the signal).",
        ),
    ],
)
def test_a_change_of_the_clock_is_told(clock: str, says: str) -> None:
    assert said(OLD, edition(2, clock=clock)) == [("CLOCK", says)]


def test_people_and_places_that_change_are_told() -> None:
    new = edition(
        2,
        posts="{north: {title: The north}, east: {title: East}}",
        crew="{size: 5, roles: {lead: Lead, mate: Mate}}",
        cautions="Other words.",
        unseen="missing",
        order="{tolerance: 3 s, costs: grave}",
    )
    assert said(OLD, new) == [
        ("OTHER", says)
        for says in (
            "The crew is now 5 (was 4).",
            "What nobody saw is now counted against the crew (was in the crew's favour).",
            "The tolerance of order is now 3 s (was 2 s).",
            "The cost of disorder is now 30 s (was what the later rule costs).",
            "The post 'north' is now The north (was North).",
            "New post 'east': East.",
            "The post 'south' is gone.",
            "New role 'mate': Mate.",
            "The role 'hand' is gone.",
            "The cautions have changed: read them aloud again.",
        )
    ]


def test_an_edition_that_was_not_counted_up_is_told_first() -> None:
    new = edition(1, RULES.replace("Gloves on", "Gloves always on"))
    assert compare(OLD, new)[0].matter is Matter.NEW_MEANING
    assert compare(OLD, new)[0].says == (
        "The edition is 1, which is no higher than 1; count it up."
    )


def test_nothing_has_changed_between_a_rulebook_and_itself() -> None:
    every = read_rulebook(EVERY_KIND.encode())
    assert compare(every, every) == ()


def test_every_field_of_every_kind_is_said_as_an_author_writes_it() -> None:
    changes = (
        ("at-least: 4 s", "at-least: 3 s", "'press' now needs at least 3 seconds (was 4 seconds)."),
        ("tries: 2, corr", "tries: 3, corr", "'end' now has 'tries' 3 (was 2)."),
        (
            "latch: it is away",
            "latch: it is gone",
            "'hose' now has 'latch' it is gone (was it is away).",
        ),
        ("free: 2", "free: 2.5", "'foot' now has 'free' 2.5 (was 2)."),
        (
            "over: 5, costs",
            "over: 6, costs",
            "'lamp' now has 'bands' over 0 cm, over 6 cm (was over 0 cm, over 5 cm).",
        ),
        ("at: start", "at: end", "'lamp' now has 'at' end (was start)."),
        ("cut: yes", "cut: no", "'raise' now has 'cut' no (was yes)."),
        (
            "warn: [1 min, 30 s]",
            "warn: 1 min",
            "'soon' now has 'warn' 1 minute (was 1 minute, 30 seconds).",
        ),
        ("from: carry", "from: sling", "'raise' now counts from sling (was carry)."),
        (
            "side: south",
            "side: north",
            "'shade' now applies where side is north (was side is south).",
        ),
        ("value: 60 N", "value: 65 N", "'wrench' now has 'value' 65 N·m (was 60 N·m)."),
        ("within: 4 %", "within: 3 %", "'wrench' now has 'within' 3 % (was 4 %)."),
        (
            "ends: disqualified",
            "ends: did not finish",
            "'fall' now has 'ends' did not finish (was disqualified).",
        ),
        ("gives: {seconds: 10}", "gives: {seconds: 9}", "'tidy' now gives 9 s (was 10 s)."),
        ("takes: 40 s", "takes: 50 s", "'test' now usually takes 50 seconds (was 40 seconds)."),
        (
            "points: [flat, not twisted]",
            "points: [flat]",
            "'sling' now is judged by flat (was flat, not twisted).",
        ),
        ("until: test", "until: lock", "'hands' now holds until lock (was test)."),
        ("charge: once}", "charge: breach}", "'talk' now has 'charge' breach (was once)."),
    )
    old = read_rulebook(EVERY_KIND.encode())
    for was, now, says in changes:
        assert EVERY_KIND.count(was) == 1, was
        new = read_rulebook(
            EVERY_KIND.replace(was, now).replace("edition: 1", "edition: 2").encode()
        )
        assert [change.says for change in compare(old, new)] == [says]
