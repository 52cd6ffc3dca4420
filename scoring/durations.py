"""Times as whole milliseconds: reading them, writing them, rounding them.

There is no float here. Two float tenths subtracted and rounded up are wrong in a third of all
cases (Faux & Godolphin, Am. J. Phys. 89, 815 (2021) describe the kind).
"""

import re
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from typing import Final

from scoring.errors import DurationError

#: Nothing in a contest lasts longer: 100 hours.
LONGEST: Final = 360_000_000

_UNITS: Final = {"ms": 1, "s": 1_000, "min": 60_000, "h": 3_600_000}
_PART: Final = re.compile(r"(\d{1,9}(?:\.\d{1,9})?)\s*(ms|s|min|h)\b\s*", re.ASCII)
_CLOCK: Final = re.compile(
    r"(?:(?P<h>\d{1,3}):(?=\d\d:))?(?P<min>\d{1,4}):(?P<s>[0-5]\d(?:\.\d{1,9})?)", re.ASCII
)
_ALLOWED: Final = "write it as '90 s', '6 min', '1 h 5 min', '1:30' or '1:02:53.2'"


class Rounding(StrEnum):
    """Which way a time goes that lies between two steps."""

    UP = "up"
    DOWN = "down"
    HALF_UP = "half up"


def parse_duration(text: str) -> int:
    """Milliseconds of a duration such as `6 min`, `0.1 s`, `1 h 5 min`, `1:30` or `1:02:53.2`."""
    written = text.strip()
    if clock := _CLOCK.fullmatch(written):
        hours, minutes = int(clock["h"] or 0), int(clock["min"])
        if clock["h"] and minutes > 59:  # noqa: PLR2004 - sixty minutes to the hour
            raise DurationError(f"'{text[:60]}' is no duration: minutes go up to 59; {_ALLOWED}.")
        exact = hours * 3_600_000 + minutes * 60_000 + Decimal(clock["s"]) * 1_000
    else:
        exact, end, last = Decimal(0), 0, LONGEST
        for part in _PART.finditer(written):
            if part.start() != end or _UNITS[part[2]] >= last:
                break
            last = _UNITS[part[2]]
            exact += Decimal(part[1]) * _UNITS[part[2]]
            end = part.end()
        if not written or end != len(written):
            raise DurationError(f"'{text[:60]}' is no duration: {_ALLOWED}.")
    if exact > LONGEST:
        raise DurationError(f"'{text[:60]}' is too long: at most 100 h.")
    if exact != int(exact):
        raise DurationError(f"'{text[:60]}' is finer than a millisecond.")
    return int(exact)


def format_duration(ms: int, step: int = 1) -> str:
    """A time as people write it: `35:07.4`, `1:02:53.2`, `-0:05`; decimals as fine as `step`."""
    sign, rest = ("-", -ms) if ms < 0 else ("", ms)
    hours, rest = divmod(rest, 3_600_000)
    minutes, rest = divmod(rest, 60_000)
    seconds, thousandths = divmod(rest, 1_000)
    decimals = _decimals(step if ms % step == 0 else 1)
    tail = f".{thousandths:03d}"[: decimals + 1] if decimals else ""
    head = f"{hours}:{minutes:02d}" if hours else f"{minutes}"
    return f"{sign}{head}:{seconds:02d}{tail}"


def speak_duration(ms: int) -> str:
    """A length of time as it is read aloud: `7 minutes`, `1 minute 30 seconds`, `4.5 seconds`."""
    hours, rest = divmod(ms, _UNITS["h"])
    minutes, rest = divmod(rest, _UNITS["min"])
    said = []
    for amount, unit in ((hours, "hour"), (minutes, "minute")):
        if amount:
            said.append(f"{amount} {unit}" + ("s" if amount > 1 else ""))
    if rest or not said:
        said.append(f"{format_thousandths(rest)} second" + ("" if rest == _UNITS["s"] else "s"))
    return " ".join(said)


def format_seconds(ms: int) -> str:
    """A cost in plain seconds: `10 s`, `2.5 s`, `-4 s`."""
    return f"{format_thousandths(ms)} s"


def format_thousandths(amount: int) -> str:
    """Thousandths of a unit as a decimal without needless zeros: 2500 is `2.5`."""
    return format(Decimal(amount).scaleb(-3).normalize(), "f") if amount else "0"


def round_to(exact: Fraction | int, step: int, rounding: Rounding) -> int:
    """`exact` milliseconds to a multiple of `step`: up, down or to the nearest (half goes up)."""
    steps = Fraction(exact) / step
    match rounding:
        case Rounding.UP:
            whole = -(-steps.numerator // steps.denominator)
        case Rounding.DOWN:
            whole = steps.numerator // steps.denominator
        case Rounding.HALF_UP:
            whole = (2 * steps.numerator + steps.denominator) // (2 * steps.denominator)
    return whole * step


def _decimals(step: int) -> int:
    """How many decimals of a second a multiple of `step` milliseconds needs."""
    return next(n for n in range(4) if step % 10 ** (3 - n) == 0)
