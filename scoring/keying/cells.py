"""What stands in a cell of a keyed sheet, as a value; a sentence where it says nothing allowed."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final, TypeAlias

from scoring.durations import parse_duration
from scoring.entries import Outcome
from scoring.errors import DurationError
from scoring.fields import listed, nearest
from scoring.papers.lines import Takes

_WHOLE: Final = re.compile(r"\d{1,4}", re.ASCII)
_DECIMAL: Final = re.compile(r"(\d{1,6})(?:[.,](\d{1,3}))?", re.ASCII)
_AT: Final = "@"
_SOMEBODY: Final = "?"
_NOTHING: Final = "nothing"
_ILLEGIBLE: Final = "illegible"
_MOST_BREACHES: Final = 99
_LONGEST: Final = 300
_NONE: Final = {"0", "0:00"}


@dataclass(frozen=True, slots=True)
class Answered:
    """A box that was ticked, and when, in milliseconds into the run."""

    outcome: Outcome
    at: int | None = None


@dataclass(frozen=True, slots=True)
class Broken:
    """A breach: by whom and when, as far as the sheet says."""

    whom: str = ""
    at: int | None = None


@dataclass(frozen=True, slots=True)
class Number:
    """A count, or a measure in thousandths of its unit."""

    amount: int


@dataclass(frozen=True, slots=True)
class Wrote:
    """What the crew wrote."""

    value: str
    legible: bool = True


Said: TypeAlias = Answered | tuple[Broken, ...] | Number | Wrote


def read_cell(text: str, takes: Takes, boxes: Mapping[str, Outcome]) -> Said:
    """The value of a cell that is not empty; raises ValueError with a sentence."""
    if len(text) > _LONGEST:
        raise ValueError(f"{len(text)} characters; at most {_LONGEST} are allowed.")
    match takes:
        case Takes.ANSWER:
            return _answer(text, boxes, coded=True)
        case Takes.BREACHES:
            return _breaches(text)
        case Takes.COUNT:
            return Number(whole(text, 9_999))
        case Takes.SECONDS | Takes.CENTIMETRES:
            found = _DECIMAL.fullmatch(text)
            return Number(_thousandths(found)) if found else _answer(text, boxes, coded=False)
        case Takes.OVER:
            return Number(0 if text in _NONE else length(text))
        case _:
            return _wrote(text)


def _answer(text: str, boxes: Mapping[str, Outcome], *, coded: bool) -> Answered:
    word, at = _timed(text)
    names = list(boxes)
    plain = " ".join(word.casefold().split())
    if coded and _WHOLE.fullmatch(plain) and 1 <= int(plain) <= len(names):
        plain = names[int(plain) - 1]
    if plain not in boxes:
        allowed = names if not coded else [f"{n} {name}" for n, name in enumerate(names, start=1)]
        near = nearest(plain[:60], names)
        raise ValueError(f"'{word[:60]}' is no answer here; allowed are {listed(allowed)}.{near}")
    return Answered(boxes[plain], at)


def _timed(text: str) -> tuple[str, int | None]:
    word, sign, time = text.partition(_AT)
    return word.strip(), length(time.strip()) if sign else None


def _breaches(text: str) -> tuple[Broken, ...]:
    if _WHOLE.fullmatch(text):
        return (Broken(),) * whole(text, _MOST_BREACHES)
    found = []
    for part in filter(None, map(str.strip, text.split(";"))):
        who, at = _timed(part)
        if not who:
            raise ValueError(f"'{part[:60]}' names nobody; write '? @ 5:32' for somebody unknown.")
        found.append(Broken("" if who == _SOMEBODY else who, at))
    if not 0 < len(found) <= _MOST_BREACHES:
        raise ValueError(f"{len(found)} breaches; from 1 to {_MOST_BREACHES} are allowed.")
    return tuple(found)


def _wrote(text: str) -> Wrote:
    word, sign, rest = text.partition(":")
    if text.casefold() == _NOTHING:
        return Wrote("")
    if word.strip().casefold() == _ILLEGIBLE and (sign or word == text):
        return Wrote(rest.strip(), legible=False)
    return Wrote(text)


def _thousandths(found: re.Match[str]) -> int:
    return int(found[1]) * 1_000 + int((found[2] or "").ljust(3, "0"))


def whole(text: str, most: int, least: int = 0) -> int:
    """A whole number; raises ValueError."""
    number = int(text) if _WHOLE.fullmatch(text) else None
    if number is None or not least <= number <= most:
        raise ValueError(
            f"'{text[:60]}' is not allowed here; write a whole number from {least} to {most}."
        )
    return number


def length(text: str) -> int:
    """A length of time in milliseconds; raises ValueError."""
    try:
        return parse_duration(text)
    except DurationError as error:
        raise ValueError(str(error)) from error


def signed(text: str) -> int:
    """A length of time that may be taken instead of given."""
    return -length(text[1:].strip()) if text.startswith("-") else length(text)


def one_of(*words: str) -> Callable[[str], str]:
    """A reader of one of some words."""

    def read(text: str) -> str:
        plain = " ".join(text.casefold().split())
        if plain not in words:
            says = f"'{text[:60]}' is not allowed here; allowed are {listed(list(words))}."
            raise ValueError(says + nearest(plain[:60], list(words)))
        return plain

    return read
