from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from fractions import Fraction
from math import ceil, floor

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring import (
    DurationError,
    format_duration,
    format_seconds,
    format_thousandths,
    parse_duration,
)
from scoring.durations import LONGEST, Rounding, round_to

times = st.integers(0, LONGEST)
steps = st.sampled_from([1, 10, 50, 100, 250, 1_000, 5_000, 60_000])
exact = st.fractions(-LONGEST, LONGEST, max_denominator=12)


@pytest.mark.parametrize(
    ("text", "ms"),
    [
        ("90 s", 90_000),
        ("6 min", 360_000),
        ("1 h 5 min", 3_900_000),
        ("2min", 120_000),
        ("0.1 s", 100),
        ("0.001 s", 1),
        ("250 ms", 250),
        ("1.5 min", 90_000),
        ("1:30", 90_000),
        ("0:45", 45_000),
        ("2:05.5", 125_500),
        ("1:02:53.2", 3_773_200),
        ("90:00", 5_400_000),
        ("100:00:00", LONGEST),
        ("  6 min ", 360_000),
        ("0 s", 0),
    ],
)
def test_a_duration_is_read_as_it_is_written(text: str, ms: int) -> None:
    assert parse_duration(text) == ms


ALLOWED = "write it as '90 s', '6 min', '1 h 5 min', '1:30' or '1:02:53.2'."


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", f"'' is no duration: {ALLOWED}"),
        ("soon", f"'soon' is no duration: {ALLOWED}"),
        ("90", f"'90' is no duration: {ALLOWED}"),
        ("-5 s", f"'-5 s' is no duration: {ALLOWED}"),
        ("5 sec", f"'5 sec' is no duration: {ALLOWED}"),
        ("5 s and", f"'5 s and' is no duration: {ALLOWED}"),
        ("1:60", f"'1:60' is no duration: {ALLOWED}"),
        ("1:5", f"'1:5' is no duration: {ALLOWED}"),
        ("٣ s", f"'٣ s' is no duration: {ALLOWED}"),
        ("1:60:00", f"'1:60:00' is no duration: minutes go up to 59; {ALLOWED}"),
        ("101 h", "'101 h' is too long: at most 100 h."),
        ("360000001 ms", "'360000001 ms' is too long: at most 100 h."),
        ("0.0005 s", "'0.0005 s' is finer than a millisecond."),
        ("1:00.0005", "'1:00.0005' is finer than a millisecond."),
        ("x" * 999, f"'{'x' * 60}' is no duration: {ALLOWED}"),
    ],
)
def test_what_is_no_duration_is_refused_with_what_is_allowed(text: str, says: str) -> None:
    with pytest.raises(DurationError) as refused:
        parse_duration(text)
    assert str(refused.value) == says


@given(st.text(max_size=40))
def test_any_text_is_a_duration_or_refused(text: str) -> None:
    try:
        ms = parse_duration(text)
    except DurationError as error:
        assert f"'{text[:60]}' is " in str(error)  # noqa: PT017 - either is right
    else:
        assert 0 <= ms <= LONGEST


@given(times)
def test_a_time_written_out_reads_back(ms: int) -> None:
    assert parse_duration(format_duration(ms)) == ms


@given(times, steps)
def test_a_time_on_a_step_reads_back_with_no_more_decimals_than_the_step_needs(
    ms: int, step: int
) -> None:
    written = format_duration(ms - ms % step, step)
    assert parse_duration(written) == ms - ms % step
    assert len(written.partition(".")[2]) <= len(f"{Decimal(step).scaleb(-3) % 1:f}") - 2


@given(times, steps)
def test_a_time_between_steps_loses_nothing_when_written_out(ms: int, step: int) -> None:
    assert parse_duration(format_duration(ms, step)) == ms


@pytest.mark.parametrize(
    ("ms", "step", "says"),
    [
        (2_107_400, 100, "35:07.4"),
        (3_773_200, 100, "1:02:53.2"),
        (5_000, 1_000, "0:05"),
        (-5_000, 1_000, "-0:05"),
        (0, 1, "0:00.000"),
        (61_230, 10, "1:01.23"),
        (61_234, 100, "1:01.234"),
        (36_000_000, 1_000, "10:00:00"),
    ],
)
def test_a_time_is_written_as_people_write_it(ms: int, step: int, says: str) -> None:
    assert format_duration(ms, step) == says


@pytest.mark.parametrize(
    ("ms", "says"),
    [(10_000, "10 s"), (2_500, "2.5 s"), (-4_000, "-4 s"), (0, "0 s"), (1, "0.001 s")],
)
def test_a_cost_is_written_in_plain_seconds(ms: int, says: str) -> None:
    assert format_seconds(ms) == says


@given(st.integers(-(10**12), 10**12))
def test_thousandths_are_written_exactly_and_without_needless_zeros(amount: int) -> None:
    written = format_thousandths(amount)
    assert Decimal(written) == Decimal(amount).scaleb(-3)
    assert not written.endswith((".0", ".00", ".000"))
    assert "E" not in written


@given(exact, steps)
def test_up_is_the_next_step_and_down_the_one_before(time: Fraction, step: int) -> None:
    assert round_to(time, step, Rounding.UP) == ceil(time / step) * step
    assert round_to(time, step, Rounding.DOWN) == floor(time / step) * step


@given(exact, steps)
def test_half_up_is_the_nearest_step_and_the_later_of_two(time: Fraction, step: int) -> None:
    rounded = round_to(time, step, Rounding.HALF_UP)
    assert rounded % step == 0
    assert -Fraction(step, 2) < rounded - time <= Fraction(step, 2)


@given(st.integers(-(10**9), 10**9), st.sampled_from([1, 10, 100, 1_000]))
def test_whole_milliseconds_round_as_in_decimal_arithmetic(ms: int, step: int) -> None:
    # General Decimal Arithmetic Specification, as Python's decimal module keeps it.
    steps = Decimal(ms) / step
    assert round_to(ms, step, Rounding.UP) == steps.to_integral_value(ROUND_CEILING) * step
    assert round_to(ms, step, Rounding.DOWN) == steps.to_integral_value(ROUND_FLOOR) * step


@given(exact, steps, st.sampled_from(Rounding))
def test_rounding_twice_is_rounding_once(time: Fraction, step: int, way: Rounding) -> None:
    once = round_to(time, step, way)
    assert round_to(once, step, way) == once


@pytest.mark.parametrize("text", ["5 s 5 s", "1 s 2 min", "1 min 1 min 1 s"])
def test_each_unit_stands_once_from_the_largest_down(text: str) -> None:
    with pytest.raises(DurationError, match="is no duration"):
        parse_duration(text)
