"""What a judge's screen is told of each kind of rule, beside what every rule has."""

import json
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring import Rulebook
from scoring.kinds.setting import Setting
from scoring.kinds.valued import Valued
from scoring.units import parse_unit
from tests.scoring.builders import book


def rules(written: str) -> Rulebook:
    return book(
        rules=f"""
  - {{step: A1, do: Begin, post: north, costs: slip}}
  - {written}"""
    )


def shown(written: str) -> dict[str, Any]:
    *_, rule = rules(written).rules.values()
    told = dict(rule.shown())
    assert json.loads(json.dumps(told)) == told
    return told


@pytest.mark.parametrize(
    ("written", "told"),
    [
        ("{step: B1, do: Do, post: north, costs: slip}", {}),
        (
            "{held: B1, do: Hold, at-least: 10 s, post: north, costs: slip}",
            {"at_least": 10_000, "at_most": None},
        ),
        (
            "{held: B1, do: Hold, at-most: 2.5 s, post: north, costs: slip}",
            {"at_least": 0, "at_most": 2_500},
        ),
        ("{placement: B1, text: There, at: start, post: north, costs: slip}", {"at": "start"}),
        ("{placement: B1, text: There, post: north, costs: slip}", {"at": "end"}),
        ("{correctable: B1, text: Loose, tries: 2, post: north, costs: slip}", {"tries": 2}),
        (
            "{conduct: B1, text: Hands, latch: both are back, post: north, costs: slip}",
            {"latch": "both are back"},
        ),
        ("{conduct: B1, text: Hands, post: north, costs: slip}", {"latch": ""}),
        ("{ender: B1, text: Fall, ends: did not finish, post: north}", {"ends": "did not finish"}),
        (
            "{reading: B1, text: Volts, number: V, at-least: 390 V, post: north, costs: slip}",
            {"unit": "V", "choices": [], "date": None, "written": None},
        ),
        (
            "{reading: B1, text: Side, choices: [sea, land], post: north, costs: slip}",
            {"unit": "", "choices": ["sea", "land"], "date": None, "written": None},
        ),
        (
            "{reading: B1, text: Sound, written: yes-no, post: north, costs: slip}",
            {"unit": "", "choices": ["yes", "no"], "date": None, "written": "yes-no"},
        ),
        (
            "{reading: B1, text: Day, date: day.month.year, post: north, costs: slip}",
            {"unit": "", "choices": [], "date": "day.month.year", "written": None},
        ),
        (
            "{setting: B, text: S, value: 40 N·m, within: 4 %, tries: 2, post: north, costs: slip}",
            {
                "unit": "N·m",
                "tries": 2,
                "wanted": "40 N·m ± 4 %",
                "low": "192/5",
                "high": "208/5",
            },
        ),
    ],
)
def test_a_screen_is_told_what_its_control_needs(written: str, told: dict[str, Any]) -> None:
    assert shown(written) == told


def test_a_screen_is_never_told_what_a_reading_should_be() -> None:
    """Who copies what stands on the sheet reads what stands there."""
    told = shown(
        "{reading: B1, text: Volts, number: V, reference: 400 V, within: 5 V, post: north, "
        "costs: slip}"
    )
    assert "400" not in json.dumps(told)


@given(
    value=st.integers(-500, 500),
    within=st.sampled_from(["4 N·m", "4 %", "4 % of reading", "33.3 % of reading"]),
    read=st.fractions(-800, 800, max_denominator=100),
)
def test_the_ends_of_a_setting_part_what_is_good_from_what_is_not(
    value: int, within: str, read: Fraction
) -> None:
    written = (
        f"{{setting: B1, text: Wrench, value: {value} N·m, within: {within}, post: north, "
        "costs: slip}"
    )
    *_, rule = rules(written).rules.values()
    assert isinstance(rule, Setting)
    told = rule.shown()
    unit = parse_unit("N·m")
    inside = Valued.outside(rule, read, unit, Fraction(value)) <= 0
    assert inside == (Fraction(told["low"]) <= read <= Fraction(told["high"]))
