"""Amounts with units, exact: `400 V`, `50 lbf·ft`, `1 1/4 in`, and what a crew writes of them.

Every amount is a Fraction. The sizes of units are pint's own, read as Fractions, so that 1 in is
25.4 mm and 1 lbf·ft is 0.45359237 × 9.80665 × 0.3048 N·m to the last digit (NIST SP 811).
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Context, Decimal
from fractions import Fraction
from functools import cache, lru_cache
from typing import Any, Final

from scoring.errors import UnitError

ALLOWED: Final = "units are written like V, kΩ, N·m, lbf·ft, mm, in, bar, °C, s, kg or %."
#: Digits that a person reads of an amount.
_DIGITS: Final = 7
_LONGEST: Final = 60
#: What people write for what pint knows by another name.
_SAME: Final = {
    "1": "dimensionless",
    "Nm": "N*m",
    "kNm": "kN*m",
    "Ncm": "N*cm",
    "lbft": "lbf*ft",
    "ftlb": "lbf*ft",
    "lbin": "lbf*in",
    "inlb": "lbf*in",
    "kgfm": "kgf*m",
    "kgm": "kgf*m",
    "kgcm": "kgf*cm",
    "kpm": "kgf*m",
    "megohm": "megaohm",
    "megohms": "megaohm",
    '"': "in",
    "°": "degree",
}
#: A pound or kilogram times a length is a torque, whoever leaves out that a force is meant.
_FORCES: Final = {"lb": "lbf", "lbs": "lbf", "kg": "kgf", "kp": "kgf"}
_ARMS: Final = frozenset({"ft", "in", "m", "cm"})
_ALIKE: Final = str.maketrans(
    {
        "\N{OHM SIGN}": "Ω",
        "\N{MICRO SIGN}": "\N{GREEK SMALL LETTER MU}",
        "\N{MASCULINE ORDINAL INDICATOR}": "°",
        "\N{RING ABOVE}": "°",
        "\N{DOUBLE PRIME}": '"',
        "\N{RIGHT DOUBLE QUOTATION MARK}": '"',
        "\N{MINUS SIGN}": "-",
        "\N{FRACTION SLASH}": "/",
        "\N{NO-BREAK SPACE}": " ",
        "\N{NARROW NO-BREAK SPACE}": " ",
        "\N{THIN SPACE}": " ",
        "¼": " 1/4",
        "½": " 1/2",
        "¾": " 3/4",
        "⅛": " 1/8",
        "⅜": " 3/8",
        "⅝": " 5/8",
        "⅞": " 7/8",
        "²": "2",
        "³": "3",
    }
)
_FACTOR: Final = re.compile(r"(1|°|\"|%|°?[^\W\d_]+)(?:\^?([23]))?")
_BETWEEN: Final = re.compile(r"\s*([·⋅*×./])\s*|(?<=[^\W\d_])-(?=[^\W\d_])|\s+")
_MIXED: Final = r"(?P<whole>\d{1,6})[ -](?P<above>\d{1,4})/(?P<below>\d{1,4})"
_PARTS: Final = r"(?P<over>\d{1,6})/(?P<under>\d{1,4})"
_GROUPED: Final = r"(?P<groups>\d{1,3}(?:(?P<mark>[ ,.'\u2019])\d{3})(?:(?P=mark)\d{3}){0,3})"
_NUMBER: Final = re.compile(
    rf"(?P<sign>[+-]?)\s*(?:{_MIXED}|{_PARTS}|{_GROUPED}(?:[.,](?P<rest>\d{{1,9}}))?(?![\d.,])"
    rf"|(?P<plain>\d{{1,12}}(?:[.,]\d{{1,9}})?|[.,]\d{{1,9}}))(?![\d/])"
)
#: What meters show, and people write, of what is beyond every range.
_OPEN: Final = frozenset({"ol", "0l", "open", "opencircuit", "overload", "overrange", "∞"})


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit by its size: an amount × `size` + `zero` is the amount in base units of `kind`."""

    text: str
    kind: frozenset[tuple[str, int]]
    size: Fraction
    zero: Fraction = Fraction(0)

    def fits(self, other: "Unit") -> bool:
        """Whether amounts in both can be compared."""
        return self.kind == other.kind

    @property
    def shifted(self) -> bool:
        """Whether its scale begins elsewhere than at nothing, as of temperatures."""
        return self.zero != 0


@dataclass(frozen=True, slots=True)
class Quantity:
    """An amount in a unit; `unit` None: none was written. `step` is one of its last place."""

    amount: Fraction
    unit: Unit | None = None
    step: Fraction = Fraction(0)

    def fits(self, unit: Unit) -> bool:
        """Whether it can be told in a unit."""
        return self.unit is None or self.unit.fits(unit)

    def into(self, unit: Unit) -> Fraction:
        """The amount in a unit that fits; where none was written, it was meant in this one."""
        mine = self.unit or unit
        return (self.amount * mine.size + mine.zero - unit.zero) / Fraction(unit.size)

    def apart(self, unit: Unit) -> Fraction:
        """The amount in a unit that fits, taken as a difference: 9 °F are 5 °C."""
        return self.amount * (self.unit or unit).size / Fraction(unit.size)

    def finest(self, unit: Unit) -> Fraction:
        """One of the last place written, in a unit that fits."""
        return self.step * (self.unit or unit).size / Fraction(unit.size)


def parse_unit(text: str) -> Unit:
    """The unit that a text names, in the usual spellings: `N·m`, `Nm`, `ft-lb`, `kΩ`, `L/min`.

    Raises `UnitError` with what is wrong and examples of what is allowed.
    """
    written = text.strip().translate(_ALIKE).strip()
    if not 0 < len(written) <= _LONGEST:
        raise _no_unit(text)
    size = _looked_up(_SAME.get(written.replace(" ", ""), ""), text)
    return size or _looked_up(_spelled(written, text), text) or _refuse(text)


def parse_quantity(text: str) -> Quantity:
    """The one amount that a text of a rulebook says; `UnitError` where it could be two."""
    ways = _read(text)
    if len(ways) > 1:
        said = " or ".join(say(each.amount) for each in ways)
        raise UnitError(f"'{text[:_LONGEST]}' could be {said}; write it without the comma.")
    return ways[0]


def read_written(text: str, unit: Unit) -> tuple[Quantity, ...]:
    """What a crew may have meant by a text, in a unit that fits `unit`; mostly one amount.

    A comma is a decimal comma, a unit may be left out. `1,200` may be 1.2 and 1200: both come back.
    """
    try:
        ways = _read(text)
    except UnitError:
        number = _NUMBER.match(_plain(text))
        if number is None or _loose(_plain(text)[number.end() :]) != _loose(unit.text):
            raise
        ways = tuple(_amounts(number))
    if not ways[0].fits(unit):
        number = _NUMBER.match(_plain(text))
        rest = _plain(text)[number.end() :] if number is not None else ""
        if _loose(rest) != _loose(unit.text):
            raise UnitError(f"'{text[:_LONGEST]}' is no value in {unit.text}.")
        ways = tuple(Quantity(each.amount, None, each.step) for each in ways)
    return ways


def is_open(text: str) -> bool:
    """Whether a text says "open circuit": `OL`, `O.L`, `open`, `∞`, or beyond a range: `>500 MΩ`.

    That is no number, and above all not zero.
    """
    plain = _loose(text)
    return plain in _OPEN or (plain.startswith(">") and plain[1:2].isdigit())


def say(amount: Fraction, unit: str = "") -> str:
    """An amount as people write it, to seven digits, with its unit: `67.79090 N·m` is `67.7909`."""
    context = Context(prec=_DIGITS)
    number = context.divide(Decimal(amount.numerator), Decimal(amount.denominator))
    digits = format(number.normalize(context), "f") if amount else "0"
    return digits if unit in {"", "1"} else f"{digits} {unit}"


def _plain(text: str) -> str:
    return text.translate(_ALIKE).strip()


def _loose(text: str) -> str:
    """A text without what people leave out or write in another size."""
    return re.sub(r"[\s.°]+", "", text).casefold()


def _read(text: str) -> tuple[Quantity, ...]:
    plain = _plain(text)
    number = _NUMBER.match(plain)
    if number is None:
        raise UnitError(
            f"'{text[:_LONGEST]}' is no amount; write it like '400 V', '2.5 kΩ' or '3/8 in'."
        )
    rest = plain[number.end() :].strip().removesuffix(".")
    unit = parse_unit(rest) if rest else None
    ways = tuple(_amounts(number))
    if not ways:
        raise UnitError(f"'{text[:_LONGEST]}' divides by nothing.")
    return tuple(Quantity(each.amount, unit, each.step) for each in ways)


def _amounts(number: re.Match[str]) -> Iterator[Quantity]:
    """What digits can mean: one amount, or two where a comma may part thousands or decimals."""
    sign = -1 if number["sign"] == "-" else 1
    above, below = number["above"] or number["over"], number["below"] or number["under"]
    if above is not None:
        if int(below):
            part = Fraction(int(above), int(below))
            yield Quantity(sign * (int(number["whole"] or 0) + part), None, Fraction(1, int(below)))
        return
    plain, groups = number["plain"], number["groups"]
    if groups is not None:
        whole = re.sub(r"\D", "", groups)
        mark, single = number["mark"], len(re.findall(r"\D", groups)) == 1
        if mark in {",", "."} and single and number["rest"] is None:
            yield _decimal(groups, sign)
            if mark == "." or groups.startswith("0"):
                return
        yield _decimal(f"{whole}.{number['rest']}" if number["rest"] else whole, sign)
    else:
        yield _decimal(plain, sign)


def _decimal(digits: str, sign: int) -> Quantity:
    written = digits.replace(",", ".")
    places = len(written.partition(".")[2])
    return Quantity(sign * Fraction(written), None, Fraction(1, 10**places))


def _spelled(written: str, text: str) -> str:
    """A unit in the words of pint, made of its factors alone: nothing else gets there."""
    factors, signs, end = [], [""], 0
    for between in _BETWEEN.finditer(written):
        factors.append(written[end : between.start()])
        signs.append("/" if between[1] == "/" else "*")
        end = between.end()
    factors.append(written[end:])
    found = [_FACTOR.fullmatch(each) for each in factors]
    if not all(found):
        raise _no_unit(text)
    names = [each[1] for each in found if each is not None]
    powers = [f"**{each[2]}" if each is not None and each[2] else "" for each in found]
    if len(names) == 2 and "/" not in signs and not any(powers) and _ARMS & {*names}:  # noqa: PLR2004 - a force and its arm
        names = [_FORCES.get(name, name) for name in names]
    return "".join(
        f"{sign}{_SAME.get(name, name)}{power}"
        for sign, name, power in zip(signs, names, powers, strict=True)
    ).replace("%", "percent")


def _no_unit(text: str) -> UnitError:
    return UnitError(f"'{text.strip()[:20]}' is no unit known here; {ALLOWED}")


def _refuse(text: str) -> Unit:
    raise _no_unit(text)


@lru_cache(maxsize=1_024)
def _looked_up(spelled: str, text: str) -> Unit | None:
    """The unit pint knows by this name; None where it knows none, or none was handed over."""
    if not spelled:
        return None
    registry = _registry()
    try:
        unit = registry.parse_units(spelled)
        zero = registry.Quantity(Fraction(0), unit).to_base_units()
        one = registry.Quantity(Fraction(1), unit).to_base_units()
    except Exception as error:  # Pint raises what it likes on words it does not know.
        raise _no_unit(text) from error
    kind = frozenset((str(name), int(power)) for name, power in one.unit_items())
    return Unit(text.strip(), kind, one.magnitude - zero.magnitude, zero.magnitude)


@cache
def _registry() -> Any:
    """Pint's units with exact sizes; read when a rulebook first has a unit in it."""
    import pint  # noqa: PLC0415 - a third of a second that most rulebooks need not wait

    return pint.UnitRegistry(non_int_type=Fraction, cache_folder=None)
