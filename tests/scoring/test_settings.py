from fractions import Fraction
from typing import Final

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring import Doubt, Entry, Fault, Question, Rulebook, RuleId, State
from scoring.units import parse_unit
from tests.published.sheets import vectors
from tests.scoring.builders import card, closed, findings
from tests.scoring.readings import values, wrote

WRENCH: Final = "setting: r, text: Wrench, value: 50 lbf·ft, within: 2 lbf·ft, tries: 2"
BOOK: Final = values(WRENCH)
#: Deviations of torque tools: ISO 6789:2003 as a maker's manual prints it (Facom S.325DA); the
#: figures are computed, the sign convention is from memory.
ISO_6789: Final = vectors("torque_units.json")["tolerance_cases"]


def found(rules: Rulebook, *tries: str) -> list[str]:
    """What is found of tries, one after the other."""
    entries = [wrote(each, at=at) for at, each in enumerate(tries)]
    return [each.failure.fault for each in findings(rules, *entries)]


@pytest.mark.parametrize(
    ("tries", "faults"),
    [
        (["50"], []),
        (["48 lbf·ft"], []),
        (["47.9", "50"], []),
        (["47.9", "52,1"], [Fault.OUT_OF_TOLERANCE]),
        (["60", "60", "50"], [Fault.OUT_OF_TOLERANCE]),
        (["50", "60"], []),
        (["67.8 N·m"], []),
        (["60", "no idea", "50"], []),
        (["60"], []),
        ([], []),
    ],
)
def test_good_on_any_try_is_good_and_out_on_the_last_is_a_finding(
    tries: list[str], faults: list[Fault]
) -> None:
    assert found(BOOK, *tries) == faults


def test_the_finding_says_what_was_read_and_who_set_it_then() -> None:
    tries = wrote("45", at=1), wrote("47", at=2), wrote("50", at=3)
    [finding] = findings(BOOK, *tries)
    assert finding.failure.stands_on == (tries[0].id, tries[1].id)
    assert finding.failure.detail == (
        "'45', then '47', 1 lbf·ft outside 50 lbf·ft ± 2 lbf·ft; value set by the judge"
    )
    assert finding.cost == 10_000


def test_until_it_is_good_or_there_are_no_more_tries_it_is_a_question() -> None:
    asked = [Question(RuleId("r"))]
    assert _asked() == asked
    assert _asked(wrote("60")) == asked
    assert _asked(wrote("60"), closed("north")) == [Question(RuleId("r"), unseen=True)]
    assert _asked(wrote("50")) == []
    assert _asked(wrote("60"), wrote("60", at=1)) == []


def _asked(*entries: Entry) -> list[Question]:
    return [each for each in card(BOOK, *entries).questions if each.rule == "r"]


def test_tries_are_each_judges_own() -> None:
    assert findings(BOOK, wrote("60", by="jo"), wrote("60", by="al")) == []


def test_judges_who_disagree_on_the_outcome_are_contested() -> None:
    words = wrote("60", by="jo"), wrote("60", by="jo", at=1), wrote("51", by="al", at=2)
    [finding] = findings(BOOK, *words)
    assert (finding.state, finding.doubts) == (State.PROPOSED, (Doubt.CONTESTED,))


def test_a_setting_is_close_where_half_of_its_last_place_reaches_the_limit() -> None:
    rules = values("setting: r, text: W, value: 50 N·m, within: 4.5 N·m")
    [finding] = findings(rules, wrote("55"))
    assert finding.doubts == (Doubt.CLOSE,)


@pytest.mark.parametrize("case", ISO_6789, ids=lambda case: case["reference"])
def test_a_percentage_of_the_reading_is_taken_as_iso_6789_takes_it(case: dict[str, object]) -> None:
    setting = f"setting: r, text: W, value: {case['set']} N·m"
    of_reading = values(f"{setting}, within: 4 % of reading")
    of_value = values(f"{setting}, within: 4 %")
    read = str(case["reference"])
    assert (found(of_reading, read) == []) is case["within_4"]
    assert (found(of_value, read) == []) is case["within_4_if_divided_by_set"]


TRIES: Final = st.lists(st.sampled_from(["50", "48", "47.9", "60", "x", "67 N·m"]), max_size=4)


@given(TRIES, st.data())
def test_the_order_of_entries_changes_nothing(tries: list[str], data: st.DataObject) -> None:
    entries = [wrote(each, at=at, id=f"w{at}") for at, each in enumerate(tries)]
    shuffled = data.draw(st.permutations(entries))
    assert [each.failure for each in findings(BOOK, *shuffled)] == [
        each.failure for each in findings(BOOK, *entries)
    ]


@given(st.integers(4_600, 5_400))
def test_another_unit_never_changes_the_verdict(hundredths: int) -> None:
    unit = parse_unit("lbf·in")
    inches = values("setting: r, text: W, value: 600 lbf·in, within: 24 lbf·in, tries: 2")
    text = f"{hundredths // 100}.{hundredths % 100:02}"
    assert unit.fits(parse_unit("lbf·ft"))
    assert found(BOOK, text, text) == found(inches, f"{text} lbf·ft", f"{text} lbf·ft")


@given(st.fractions(-2, 2, max_denominator=100))
def test_a_value_within_its_tolerance_never_fails(off: Fraction) -> None:
    once = values(WRENCH.replace("tries: 2", "tries: 1"))
    assert found(once, f"{50 + off}") == []
