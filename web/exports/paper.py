"""A rulebook's sheets as PDF, black on white, set by Typst from the templates in `sheets/`.

Everything from a rulebook goes in as a JSON string, so that nothing in it is ever markup.
"""

import json
import re
from collections.abc import Mapping
from dataclasses import asdict
from enum import StrEnum
from pathlib import Path
from typing import Any, Final

import typst

from scoring import (
    Block,
    PostId,
    Rulebook,
    briefing,
    check_sheet,
    clock_sheet,
    judge_sheet,
)
from web.exports.plain import printable

_SHEETS: Final = Path(__file__).parent / "sheets"
_SHORT: Final = 12
_CAUTION: Final = (
    "Contest rules, no work procedure. Local law, the maker's manual and the person authorised on "
    "site come first."
)
_LONGEST_NAME: Final = 56
_LONGEST_TITLE: Final = 160
#: A run of letters longer than this finds no place to break a line.
_LONG: Final = re.compile(r"\S{24}(?=\S)")
_JOINTS: Final = re.compile(r"(?<=[-_.])(?=\w)|(?<=\w{8})(?=\w)")
_ZERO_WIDTH: Final = "\u200b"
_LANGUAGE: Final = re.compile(r"[a-z]{2,3}")


class Paper(StrEnum):
    """The sizes of paper, by the names that Typst has for them."""

    A4 = "a4"
    LETTER = "us-letter"


def briefing_pdf(book: Rulebook, paper: Paper = Paper.A4) -> bytes:
    """What the head judge reads aloud."""
    parts = [
        {
            "title": _cut(part.title, _LONGEST_TITLE),
            "words": part.words,
            "items": [asdict(item) | {"rule": _id(item.rule)} for item in part.items],
        }
        for part in briefing(book).parts
    ]
    return _set("briefing", book, paper, "Briefing", {"parts": parts})


def judge_pdf(book: Rulebook, post: PostId, paper: Paper = Paper.A4) -> bytes:
    """The sheet of one post."""
    sheet = judge_sheet(post, book)
    sections = [
        {
            "title": _cut(part.title, _LONGEST_TITLE),
            "blocks": [_block(block) for block in part.blocks],
        }
        for part in sheet.sections
    ]
    data = {"sections": sections, "assessor": sheet.assessor}
    return _set("judge", book, paper, f"Judge sheet: {sheet.title}", data)


def check_pdf(book: Rulebook, paper: Paper = Paper.A4) -> bytes | None:
    """The crew's check sheet; None where the rulebook has nothing to write."""
    lines = [asdict(line) | {"rule": _id(line.rule)} for line in check_sheet(book).lines]
    return _set("check", book, paper, "Check sheet", {"lines": lines}) if lines else None


def clock_pdf(book: Rulebook, paper: Paper = Paper.A4) -> bytes:
    """The timekeepers' sheet."""
    return _set("clock", book, paper, "Clock sheet", asdict(clock_sheet(book)))


def head_pdf(book: Rulebook, paper: Paper = Paper.A4) -> bytes:
    """The head judge's sheet of decisions."""
    return _set("head", book, paper, "Head judge's decisions", {})


def _block(block: Block) -> dict[str, Any]:
    return asdict(block) | {
        "rule": _id(block.rule),
        "quoted": block.kind == "callout",
        "timed": ["time"] if block.timed else [],
    }


def _cut(text: str, longest: int) -> str:
    """A title short enough to stand on every page."""
    return text if len(text) <= longest else f"{text[: longest - 1]}…"


def _id(name: str) -> str:
    """An id that may be broken at its joints."""
    return _JOINTS.sub(_ZERO_WIDTH, name)


def _set(template: str, book: Rulebook, paper: Paper, sheet: str, data: Mapping[str, Any]) -> bytes:
    language = book.language.partition("-")[0].casefold()
    whole = {
        "paper": paper,
        "sheet": _cut(sheet, _LONGEST_NAME),
        "title": book.title,
        "edition": str(book.edition),
        "hash": book.hash[:_SHORT],
        "lang": language if _LANGUAGE.fullmatch(language) else "en",
        "caution": _CAUTION,
        **data,
    }
    pdf = typst.compile(
        _SHEETS / f"{template}.typ",
        root=_SHEETS,
        format="pdf",
        sys_inputs={"data": json.dumps(_breakable(whole))},
    )
    if not isinstance(pdf, bytes):
        raise TypeError(f"Typst made {type(pdf).__name__} of {template}.typ.")
    return pdf


def _breakable(value: Any) -> Any:
    """Data whose texts hold nothing that no page can show, and no word too long for a line."""
    match value:
        case str():
            return _LONG.sub(lambda found: found[0] + _ZERO_WIDTH, printable(value))
        case Mapping():
            return {key: _breakable(each) for key, each in value.items()}
        case list() | tuple():
            return [_breakable(each) for each in value]
    return value
