from decimal import Decimal
from fractions import Fraction
from typing import Final

import pint
import pytest
import scipy.constants
from hypothesis import given
from hypothesis import strategies as st

from scoring.dates import DateForm, parse_date
from scoring.errors import UnitError
from scoring.units import is_open, parse_quantity, parse_unit, read_written, say
from tests.published.sheets import vectors

#: Factors and inch fractions by the international definitions; printed by NIST in SP 811.
PUBLISHED: Final = vectors("torque_units.json")


# Units.


@pytest.mark.parametrize(
    ("unit", "factor"),
    [("lbf·ft", "lbf_ft_to_N_m"), ("lbf·in", "lbf_in_to_N_m")],
)
def test_a_pounds_torque_has_its_defined_size(unit: str, factor: str) -> None:
    size = parse_quantity(f"1 {unit}").into(parse_unit("N·m"))
    assert size == Fraction(PUBLISHED[factor])


@pytest.mark.parametrize(
    ("unit", "printed"), [("lbf·ft", "lbf_ft"), ("lbf·in", "lbf_in"), ("kgf·m", "kgf_m")]
)
def test_a_torque_is_what_sp_811_prints(unit: str, printed: str) -> None:
    digits = Decimal(PUBLISHED["sp811_printed"][printed].replace(" ", ""))
    size = parse_quantity(f"1 {unit}").into(parse_unit("N·m"))
    half_of_the_last = Fraction(digits) / int(digits.scaleb(-int(digits.as_tuple().exponent))) / 2
    assert abs(size - Fraction(digits)) <= half_of_the_last


@pytest.mark.parametrize(
    ("unit", "base", "constant"),
    [
        ("lbf", "N", scipy.constants.pound_force),
        ("kgf", "N", scipy.constants.kilogram_force),
        ("in", "m", scipy.constants.inch),
        ("ft", "m", scipy.constants.foot),
        ("psi", "Pa", scipy.constants.psi),
        ("bar", "Pa", scipy.constants.bar),
        ("atm", "Pa", scipy.constants.atm),
        ("lb", "kg", scipy.constants.lb),
        ("h", "s", scipy.constants.hour),
        ("hp", "W", scipy.constants.horsepower),
    ],
)
def test_a_unit_has_the_size_that_scipy_gives_it(unit: str, base: str, constant: float) -> None:
    size = parse_quantity(f"1 {unit}").into(parse_unit(base))
    assert abs(size / Fraction(constant) - 1) < Fraction(1, 10**15)


@pytest.mark.parametrize(
    ("amount", "unit", "other"),
    [(75, "lbf*ft", "N*m"), (70, "lbf*in", "N*m"), (98, "degF", "degC"), (3, "psi", "kPa")],
)
def test_a_conversion_is_what_pint_makes_of_it_in_floats(
    amount: int, unit: str, other: str
) -> None:
    theirs = pint.UnitRegistry().Quantity(amount, unit).to(other).magnitude
    ours = parse_quantity(f"{amount} {unit}").into(parse_unit(other))
    assert float(ours) == pytest.approx(theirs, rel=1e-14)


@pytest.mark.parametrize(("inches", "mm"), PUBLISHED["inch_fractions_mm"].items())
def test_a_fraction_of_an_inch_is_exact_in_millimetres(inches: str, mm: str) -> None:
    assert parse_quantity(f"{inches} in").into(parse_unit("mm")) == Fraction(mm)


@pytest.mark.parametrize(
    ("spellings", "size"),
    [
        (["N·m", "Nm", "N*m", "N.m", "N m", "N⋅m", "N-m", " N · m "], "N·m"),
        (["lbf·ft", "ft·lbf", "lbf.ft", "lbf*ft", "lbf-ft", "ft-lb", "lb ft", "lbft"], "lbf·ft"),
        (["lbf·in", "in-lb", "lb·in", "inlb"], "lbf·in"),
        (["kgf·m", "kgm", "kpm", "kp·m"], "kgf·m"),
        (["Ω", "\N{OHM SIGN}", "ohm", "ohms"], "Ω"),
        (["kΩ", "k\N{OHM SIGN}", "kohm"], "kΩ"),
        (["MΩ", "Mohm", "megohm", "megaohms"], "MΩ"),
        (["°C", "ºC", "degC"], "°C"),
        (["µA", "μA", "uA"], "μA"),
        (["%", "percent"], "%"),
        (["V", "volt", "volts"], "V"),
        (["in", "inch", '"', "″"], "in"),
        (["m²", "m^2", "m2"], "m²"),
        (["L/min", "l/min"], "L/min"),
        (["1"], "1"),
    ],
)
def test_the_usual_spellings_are_one_unit(spellings: list[str], size: str) -> None:
    unit = parse_unit(size)
    found = [parse_unit(each) for each in spellings]
    assert {(each.kind, each.size, each.zero) for each in found} == {
        (unit.kind, unit.size, unit.zero)
    }


def test_a_milliohm_is_no_megohm() -> None:
    assert parse_unit("MΩ").size == 10**9 * parse_unit("mΩ").size


@pytest.mark.parametrize(("one", "other"), [("Hz", "rpm"), ("%", "°"), ("N·m", "N"), ("V", "A")])
def test_what_cannot_be_compared_does_not_fit(one: str, other: str) -> None:
    assert not parse_unit(one).fits(parse_unit(other))


KNOWN: Final = "units are written like V, kΩ, N·m, lbf·ft, mm, in, bar, °C, s, kg or %."


@pytest.mark.parametrize(
    "text",
    ["", "x", "VAC", "m^9", "m**99", "a;b", "__import__('os')", "V" * 61, "m(", "()", "1/", "2 V"],
)
def test_what_is_no_unit_is_refused_with_examples(text: str) -> None:
    with pytest.raises(UnitError) as error:
        parse_unit(text)
    assert str(error.value) == f"'{text.strip()[:20]}' is no unit known here; {KNOWN}"


# Amounts.


@pytest.mark.parametrize(
    ("written", "unit", "amount"),
    [
        ("400", "V", "400"),
        ("400 V", "V", "400"),
        ("400 v.", "V", "400"),
        ("0.4 kV", "V", "400"),
        ("400,5", "V", "400.5"),
        (".5 V", "V", "0.5"),
        ("-5 V", "V", "-5"),
        ("\N{MINUS SIGN}5", "V", "-5"),
        ("1 200 V", "V", "1200"),
        ("1.234,5", "V", "1234.5"),
        ("1,234.5", "V", "1234.5"),
        ("1,234,567", "V", "1234567"),
        ("0,125", "in", "0.125"),
        ("3/8 in", "in", "0.375"),
        ("1 1/4 in", "in", "1.25"),
        ("1-1/4", "in", "1.25"),
        ('1¼"', "in", "1.25"),
        ("½ in", "in", "0.5"),
        ("25.4 mm", "in", "1"),
        ("20 C", "°C", "20"),
        ("68 °F", "°C", "20"),
    ],
)
def test_what_a_crew_writes_is_read_as_it_was_meant(written: str, unit: str, amount: str) -> None:
    [found] = read_written(written, parse_unit(unit))
    assert found.into(parse_unit(unit)) == Fraction(amount)


def test_a_comma_before_three_digits_may_part_thousands_or_decimals() -> None:
    found = read_written("1,200 V", parse_unit("V"))
    assert [each.amount for each in found] == [Fraction("1.2"), 1200]


@pytest.mark.parametrize(
    ("written", "says"),
    [
        ("", "'' is no amount; write it like '400 V', '2.5 kΩ' or '3/8 in'."),
        ("OL", "'OL' is no amount; write it like '400 V', '2.5 kΩ' or '3/8 in'."),
        ("1/0", "'1/0' divides by nothing."),
        ("400 A", "'400 A' is no value in V."),
        ("400 VAC", f"'VAC' is no unit known here; {KNOWN}"),
        ("1e5", f"'e5' is no unit known here; {KNOWN}"),
        ("1.2.3", f"'.3' is no unit known here; {KNOWN}"),
    ],
)
def test_what_is_no_value_in_the_unit_is_refused(written: str, says: str) -> None:
    with pytest.raises(UnitError) as error:
        read_written(written, parse_unit("V"))
    assert str(error.value) == says


def test_an_amount_of_a_rulebook_means_one_thing() -> None:
    with pytest.raises(UnitError) as error:
        parse_quantity("1,200 V")
    assert str(error.value) == "'1,200 V' could be 1.2 or 1200; write it without the comma."


def test_a_difference_of_temperatures_has_no_zero() -> None:
    assert parse_quantity("9 °F").apart(parse_unit("°C")) == 5


@pytest.mark.parametrize("text", ["OL", "ol", "O.L", "0L", "open", "Open circuit", "∞", "> 500 MΩ"])
def test_an_open_circuit_is_known_in_the_ways_meters_show_it(text: str) -> None:
    # From memory of meters in use: over range on resistance is an open circuit, never a number.
    assert is_open(text)


@pytest.mark.parametrize("text", ["0", "0.0", "", "1", "closed", ">", "500 MΩ"])
def test_a_number_is_no_open_circuit_and_least_of_all_nought(text: str) -> None:
    assert not is_open(text)


@pytest.mark.parametrize(
    ("amount", "unit", "said"),
    [
        (Fraction(400), "V", "400 V"),
        (Fraction(1, 3), "", "0.3333333"),
        (Fraction(0), "V", "0 V"),
        (Fraction("67.79089741657002"), "N·m", "67.7909 N·m"),
        (Fraction(-5, 2), "1", "-2.5"),
        (Fraction(10**6), "Ω", "1000000 Ω"),
        (Fraction(19_999_999, 10**7), "", "2"),
        (Fraction(123_456_749, 10_000_000), "", "12.34567"),
    ],
)
def test_an_amount_is_said_as_people_write_it(amount: Fraction, unit: str, said: str) -> None:
    assert say(amount, unit) == said


FRACTIONS: Final = st.fractions(-1_000, 1_000, max_denominator=1_000)


@given(FRACTIONS, st.sampled_from([("lbf·ft", "N·m"), ("in", "mm"), ("°F", "°C"), ("psi", "bar")]))
def test_there_and_back_is_the_same_amount(amount: Fraction, units: tuple[str, str]) -> None:
    here, there = map(parse_unit, units)
    quantity = type(parse_quantity("1"))
    assert quantity(quantity(amount, here).into(there), there).into(here) == amount


@given(st.text(max_size=40))
def test_any_text_is_an_amount_or_refused_in_one_sentence(text: str) -> None:
    said = ""
    try:
        found = read_written(text, parse_unit("V"))
    except UnitError as error:
        said, found = str(error), ()
    assert said.endswith(".") is (len(found) == 0)
    assert len(found) <= 2


# Dates.


@pytest.mark.parametrize(
    ("written", "form", "date"),
    [
        ("11/25/2027", DateForm.MONTH_FIRST, "2027-11-25"),
        ("2/9/27", DateForm.MONTH_FIRST, "2027-02-09"),
        (" 11 / 25 / 2027", DateForm.MONTH_FIRST, "2027-11-25"),
        ("11/5/2027", DateForm.DAY_FIRST, "2027-05-11"),
        ("25.11.2027", DateForm.POINTS, "2027-11-25"),
        ("2027-11-25", DateForm.YEAR_FIRST, "2027-11-25"),
        ("2/29/2028", DateForm.MONTH_FIRST, "2028-02-29"),
        ("2/29/2027", DateForm.MONTH_FIRST, None),
        ("25/11/2027", DateForm.MONTH_FIRST, None),
        ("11-25-2027", DateForm.MONTH_FIRST, None),
        ("11/25", DateForm.MONTH_FIRST, None),
        ("27-11-25", DateForm.YEAR_FIRST, None),
        ("today", DateForm.MONTH_FIRST, None),
        ("", DateForm.MONTH_FIRST, None),
    ],
)
def test_a_date_is_one_of_the_calendar_in_the_stated_form(
    written: str, form: DateForm, date: str | None
) -> None:
    assert parse_date(written, form) == date
