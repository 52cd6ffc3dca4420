"""Unbalance of three phases, beside what makers' manuals and other pages have printed."""

from decimal import Decimal
from fractions import Fraction
from typing import Final

import pytest

from scoring import Entrant, Entry, Fault, TeamId, rank, score, team_sheet
from tests.published.sheets import rulebook, table
from tests.scoring.builders import findings
from tests.scoring.readings import wrote

#: Each row names its source.
ROWS: Final = table("electrical_unbalance.csv")
BOOK: Final = rulebook("electrical-sheet")
#: Printed rows that do not follow from their own readings, and what the source did instead.
WRONG: Final = {
    ("V", "203", "210", "212"): "took a mean and a distance that were rounded first",
    ("V", "220", "216", "213"): "rounded the mean first",
    ("V", "400", "395", "388"): "rounded the mean, and took the highest reading, not the farthest",
}


def _readings(row: dict[str, str]) -> list[str]:
    return [row["r1"], row["r2"], row["r3"]]


def _keyed(row: dict[str, str]) -> list[Entry]:
    # Unbalance is the same number for volts and amperes.
    return [wrote(value, f"r{n}", rule="phases") for n, value in enumerate(_readings(row), start=1)]


def _computed(row: dict[str, str]) -> dict[str, Fraction]:
    """What the penalty sheet shows as computed, to seven digits."""
    [standing] = rank([(Entrant(TeamId("t"), "T"), score(_keyed(row), BOOK))], BOOK)
    (sheet,) = (
        each
        for each in team_sheet(standing, [standing], BOOK, {}).extras
        if each.name == "readings"
    )
    shown = dict(zip(sheet.column("rule"), sheet.column("written"), strict=True))
    return {
        str(rule): Fraction(written.removeprefix("computed: ").split()[0])
        for rule, written in shown.items()
        if isinstance(written, str) and written.startswith("computed: ")
    }


def _places(printed: str) -> int:
    return -int(Decimal(printed).as_tuple().exponent)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: "-".join(_readings(row)))
def test_unbalance_and_mean_are_exact(row: dict[str, str]) -> None:
    computed = _computed(row)
    values = [Fraction(each) for each in _readings(row)]
    assert round(computed["unbalance"], 6) == Fraction(row["unbalance_pct_exact"])
    assert abs(computed["mean"] - Fraction(row["avg"])) < Fraction(1, 10_000)
    assert computed["spread"] == max(values) - min(values)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: "-".join(_readings(row)))
def test_what_was_printed_follows_from_its_readings_or_is_known_to_be_wrong(
    row: dict[str, str],
) -> None:
    printed = row["published"]
    agrees = round(_computed(row)["unbalance"], _places(printed)) == Fraction(printed)
    key = (row["kind"], *_readings(row))
    assert agrees is (key not in WRONG)
    assert agrees is (row["note"] == "agrees")


def test_every_row_known_to_be_wrong_is_in_the_file() -> None:
    assert {(row["kind"], *_readings(row)) for row in ROWS} >= WRONG.keys()


def test_the_farthest_reading_may_lie_below_the_mean() -> None:
    """hemmotor.com prints 1.45 % for 400, 395, 388 V: 400 from a mean rounded to 394.3."""
    mean = Fraction("394.3")
    assert round(100 * (400 - mean) / Fraction(mean), 2) == Fraction("1.45")
    [row] = [row for row in ROWS if _readings(row) == ["400", "395", "388"]]
    assert round(_computed(row)["unbalance"], 2) == Fraction("1.61")


@pytest.mark.parametrize("row", ROWS, ids=lambda row: "-".join(_readings(row)))
def test_five_percent_is_where_two_makers_draw_the_line(row: dict[str, str]) -> None:
    """Berkeley 6S and Xylem GSSERVICE: 51, 46, 53 A is too much, 50, 48, 52 A is not."""
    over = Fraction(row["unbalance_pct_exact"]) > 5
    found = [each.failure.fault for each in findings(BOOK, *_keyed(row))]
    assert found == ([Fault.OUT_OF_TOLERANCE] if over else [])
