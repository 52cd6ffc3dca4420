"""Values that crews of the trade work to: common practice, no source, but for the conversions."""

from fractions import Fraction
from typing import Final

import pytest

from scoring import Entry, Fault
from tests.published.sheets import rulebook, vectors
from tests.scoring.builders import findings, marked
from tests.scoring.readings import drawn, wrote

BOOK: Final = rulebook("trade-values")
GIVEN: Final = drawn("supply", "480 V"), drawn("today", "11/25/2027")
INCHES: Final = vectors("torque_units.json")["inch_fractions_mm"]


def found(*entries: Entry) -> list[tuple[str, str, Fault]]:
    return [
        (each.failure.rule, each.failure.item, each.failure.fault)
        for each in findings(BOOK, *GIVEN, *entries)
    ]


# Torque.


@pytest.mark.parametrize(
    ("rule", "pounds", "newtons"), [("half", "50", "67.8"), ("three-eighths", "20", "27.1")]
)
def test_a_torque_is_the_published_one_in_newton_metres(
    rule: str, pounds: str, newtons: str
) -> None:
    """NIST SP 811 prints 1.355 818 N·m for 1 lbf·ft."""
    assert round(Fraction(pounds) * Fraction("1.355818"), 1) == Fraction(newtons)
    assert found(wrote(f"{newtons} N·m", rule=rule)) == []
    assert found(*_tries(rule, [f"{pounds} N·m"] * 2)) == [(rule, "", Fault.OUT_OF_TOLERANCE)]


@pytest.mark.parametrize(
    ("rule", "tries"),
    [
        ("half", ["50"]),
        ("half", ["67.8 N·m"]),
        ("half", ["55", "50.5 ft-lb"]),
        ("three-eighths", ["20 lbf·ft"]),
        ("three-eighths", ["27.1 Nm"]),
        ("three-eighths", ["200 lbf·in", "240 lbf·in"]),
    ],
)
def test_a_wrench_that_is_right_at_once_or_after_one_reset_costs_nothing(
    rule: str, tries: list[str]
) -> None:
    assert found(*_tries(rule, tries)) == []


@pytest.mark.parametrize(
    ("rule", "tries"), [("half", ["55", "47"]), ("three-eighths", ["25", "18", "20"])]
)
def test_a_wrench_that_is_wrong_after_the_reset_is_set_by_the_judge(
    rule: str, tries: list[str]
) -> None:
    [finding] = findings(BOOK, *_tries(rule, tries))
    assert (finding.failure.rule, finding.failure.fault) == (rule, Fault.OUT_OF_TOLERANCE)
    assert finding.failure.detail.endswith("; value set by the judge")
    assert finding.cost == 10_000


def _tries(rule: str, tries: list[str]) -> list[Entry]:
    return [wrote(value, rule=rule, at=at) for at, value in enumerate(tries)]


# Three phases, before isolation and after restoring.

PHASES: Final = ("L1–L2", "L2–L3", "L1–L3")


def _live(rule: str, *volts: str) -> list[Entry]:
    return [wrote(each, item, rule=rule) for each, item in zip(volts, PHASES, strict=True)]


def _dead(*volts: str) -> list[Entry]:
    pairs = zip(volts, PHASES[:2], strict=True)
    return [wrote(each, item, rule="dead-volts") for each, item in pairs]


def _work(*, proved: int, restored: int) -> list[Entry]:
    """Isolation at 10 s, proved dead on each of two phases, then restored."""
    dead = [marked("dead", item=item, at=proved + n) for n, item in enumerate(PHASES[:2])]
    return [marked("isolate", at=10_000), *dead, marked("restore", at=restored)]


def test_a_crew_that_measures_live_proves_dead_and_measures_again_is_clean() -> None:
    entries = [
        *_live("before", "480", "478", "482"),
        *_work(proved=20_000, restored=60_000),
        *_dead("0", "0.0"),
        *_live("after", "479", "481", "480 V"),
    ]
    assert found(*entries) == []


def test_each_phase_is_held_against_the_supply_of_the_bay() -> None:
    assert found(*_live("after", "470.3", "", "489.7")) == [
        ("after", "L1–L2", Fault.OUT_OF_TOLERANCE),
        ("after", "L1–L3", Fault.OUT_OF_TOLERANCE),
        ("after", "L2–L3", Fault.NOT_WRITTEN),
    ]


def test_what_is_not_dead_is_found_and_so_is_an_open_lead() -> None:
    assert found(*_dead("2", "OL")) == [
        ("dead-volts", "L1–L2", Fault.OUT_OF_TOLERANCE),
        ("dead-volts", "L2–L3", Fault.WRONG_VALUE),
    ]


def test_power_restored_before_dead_was_proved_is_out_of_order() -> None:
    assert found(*_work(proved=90_000, restored=60_000)) == [
        ("restore", "dead", Fault.OUT_OF_ORDER)
    ]


def test_phases_within_their_tolerance_may_still_be_out_of_balance() -> None:
    assert found(*_live("before", "488", "472", "480")) == [
        ("unbalance", "", Fault.OUT_OF_TOLERANCE)
    ]


# A key of 1 × 3/8 × 5/16 in.

KEY: Final = {"key-length": "1", "key-width": "3/8", "key-height": "5/16"}


def test_a_key_measures_the_same_in_inches_and_in_millimetres() -> None:
    inches = [wrote(f"{size} in", rule=rule) for rule, size in KEY.items()]
    millimetres = [wrote(f"{INCHES[size]} mm", rule=rule) for rule, size in KEY.items()]
    assert [INCHES[size] for size in KEY.values()] == ["25.4", "9.525", "7.9375"]
    assert found(*inches) == found(*millimetres) == []


@pytest.mark.parametrize("rule", KEY)
def test_a_key_one_sixteenth_out_is_found(rule: str) -> None:
    wrong = Fraction(KEY[rule]) - Fraction(1, 16)
    assert found(wrote(str(wrong), rule=rule)) == [(rule, "", Fault.OUT_OF_TOLERANCE)]


# A date, month first, and initials.


@pytest.mark.parametrize("written", ["11/25/2027", "11/25/27"])
def test_the_date_of_the_run_is_written_month_first(written: str) -> None:
    assert found(wrote(written, rule="date")) == []


@pytest.mark.parametrize("written", ["25/11/2027", "2027-11-25", "Nov 25", "11/24/2027"])
def test_another_form_or_another_day_is_wrong(written: str) -> None:
    assert found(wrote(written, rule="date")) == [("date", "", Fault.WRONG_VALUE)]


def test_who_measured_leaves_initials() -> None:
    assert found(wrote("A. B.", rule="initials")) == []
    assert found(wrote("", rule="initials")) == [("initials", "", Fault.NOT_WRITTEN)]
    assert found(wrote("12", rule="initials")) == [("initials", "", Fault.WRONG_VALUE)]
