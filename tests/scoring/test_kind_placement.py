from typing import Final

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring import Doubt, Fault, Measured, Question, RuleId, State
from scoring.findings import Finding
from tests.scoring.builders import (
    book,
    card,
    closed,
    findings,
    marked,
    measured,
    missed,
)


def rules(more: str = "", costs: str = "slip", post: str = "north") -> dict[str, str]:
    return {"rules": f"[{{placement: P, text: On the cross, post: {post}, costs: {costs}{more}}}]"}


PER_CM: Final = "{seconds: 2, per: centimetre}"
PLAIN: Final = book(**rules())
GRADED: Final = book(**rules(", free: 3", PER_CM))
BANDS: Final = (
    ", bands: [{over: 0, costs: {seconds: 1}}, {over: 5, costs: {seconds: 4}}, "
    "{over: 10.5, costs: grave}]"
)
BANDED: Final = book(**rules(BANDS))


def costs(found: list[Finding]) -> list[int]:
    return [each.cost for each in found]


def test_it_is_in_place_or_it_is_not() -> None:
    assert findings(PLAIN, marked("P")) == []
    [finding] = findings(PLAIN, missed("P"))
    assert (finding.failure.fault, finding.cost) == (Fault.OUT_OF_PLACE, 10_000)


def test_where_nothing_is_graded_a_distance_says_nothing() -> None:
    assert findings(PLAIN, measured("P", 90_000)) == []
    assert not PLAIN.rules[RuleId("P")].takes(Measured(RuleId("P"), 90_000))


@pytest.mark.parametrize(
    ("distance", "expected"),
    [(0, []), (3_000, []), (3_001, [2_000]), (4_000, [2_000]), (4_001, [4_000]), (9_000, [12_000])],
)
def test_each_centimetre_begun_beyond_the_free_distance_costs(
    distance: int, expected: list[int]
) -> None:
    assert costs(findings(GRADED, measured("P", distance))) == expected


@pytest.mark.parametrize(
    ("distance", "expected"),
    [
        (0, []),
        (1, [1_000]),
        (5_000, [1_000]),
        (5_001, [4_000]),
        (10_500, [4_000]),
        (10_501, [30_000]),
    ],
)
def test_of_the_bands_the_widest_that_was_passed_costs(distance: int, expected: list[int]) -> None:
    assert costs(findings(BANDED, measured("P", distance))) == expected


def test_a_free_distance_without_a_cost_per_centimetre_is_charged_once() -> None:
    flat = book(**rules(", free: 3"))
    assert costs(findings(flat, measured("P", 3_001))) == [10_000]
    assert costs(findings(flat, measured("P", 90_000))) == [10_000]


def test_the_finding_says_how_far_out_it_was() -> None:
    [finding] = findings(GRADED, measured("P", 4_500))
    assert finding.failure.detail == "4.5 cm"


def test_a_distance_and_out_of_place_are_one_finding() -> None:
    found = findings(GRADED, measured("P", 9_000, by="jo"), missed("P", by="al"))
    assert costs(found) == [12_000]


def test_a_judges_latest_word_is_the_one_that_holds() -> None:
    assert findings(GRADED, measured("P", 9_000, at=1), marked("P", at=2)) == []
    assert costs(findings(GRADED, marked("P", at=1), measured("P", 9_000, at=2))) == [12_000]
    assert costs(findings(GRADED, measured("P", 9_000, at=1), missed("P", at=2))) == [2_000]


def test_of_two_distances_the_smaller_holds_and_is_contested() -> None:
    two = measured("P", 9_000, by="jo"), measured("P", 5_000, by="al")
    [finding] = findings(GRADED, *two)
    assert (finding.cost, finding.doubts, finding.state) == (
        4_000,
        (Doubt.CONTESTED,),
        State.COUNTS,
    )


def test_in_place_by_one_and_out_by_another_is_proposed() -> None:
    [finding] = findings(GRADED, measured("P", 9_000, by="jo"), marked("P", by="al"))
    assert (finding.state, finding.doubts) == (State.PROPOSED, (Doubt.CONTESTED,))


def test_a_distance_from_one_of_two_posts_counts_as_the_category_says() -> None:
    both = book(
        **rules(", free: 0", "{seconds: 2, per: centimetre, seen-by: majority}", "[north, south]")
    )
    [finding] = findings(both, measured("P", 1_000))
    assert (finding.state, finding.doubts) == (State.PROPOSED, (Doubt.UNCORROBORATED,))


def test_a_distance_answers_the_question() -> None:
    assert card(GRADED, measured("P", 0)).questions == ()
    assert card(GRADED).questions == (Question(RuleId("P")),)


def test_what_nobody_saw_is_out_of_place_where_the_rulebook_says_so() -> None:
    harsh = book(**rules(", free: 3", PER_CM), unseen="missing")
    [finding] = findings(harsh, closed("north"))
    assert (finding.cost, finding.doubts) == (2_000, (Doubt.UNSEEN,))


def test_several_things_cost_each_or_once() -> None:
    each = book(**rules(", free: 0, each: [one, two]", PER_CM))
    once = book(**rules(", free: 0, each: [one, two], charge: once", PER_CM))
    out = measured("P", 2_000, "one"), measured("P", 5_000, "two")
    assert costs(findings(each, *out)) == [4_000, 10_000]
    assert costs(findings(once, *out)) == [10_000]


@given(st.lists(st.integers(0, 50_000), min_size=2, max_size=8))
def test_further_out_never_costs_less(distances: list[int]) -> None:
    for rulebook in (GRADED, BANDED):
        charged = [
            sum(costs(findings(rulebook, measured("P", distance))))
            for distance in sorted(distances)
        ]
        assert charged == sorted(charged)
