"""Dates of the calendar, in the form that a rulebook states."""

import re
from enum import StrEnum
from typing import Any, Final

from marshmallow import ValidationError, fields


class DateForm(StrEnum):
    """How a date must be written. A day or month may do without its leading nought."""

    MONTH_FIRST = "month/day/year"
    DAY_FIRST = "day/month/year"
    POINTS = "day.month.year"
    YEAR_FIRST = "year-month-day"


_PATTERNS: Final = {
    DateForm.MONTH_FIRST: "%m/%d/%Y",
    DateForm.DAY_FIRST: "%d/%m/%Y",
    DateForm.POINTS: "%d.%m.%Y",
    DateForm.YEAR_FIRST: "%Y-%m-%d",
}
_WRITTEN: Final = re.compile(r"\d{1,4}([/.-])\d{1,2}\1\d{1,4}", re.ASCII)
#: `11/25/27`: two digits are a year of this century.
_SHORT: Final = re.compile(r"(?<=[/.])(\d\d)$", re.ASCII)


def parse_date(text: str, form: DateForm) -> str | None:
    """A date in its form as `2027-11-25`; None where it is in another, or in no calendar."""
    written = re.sub(r"\s+", "", text)
    if _WRITTEN.fullmatch(written) is None:
        return None
    date: Any = fields.Date(format=_PATTERNS[form])
    try:
        return str(date.deserialize(_SHORT.sub(r"20\1", written)).isoformat())
    except ValidationError:
        return None
