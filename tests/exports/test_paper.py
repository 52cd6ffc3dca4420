"""Sheets as PDF: all that is watched stands on them, and every page says what it is."""

import re
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from typing import Final

import pytest
from pypdf import PageObject, PdfReader

from scoring import PostId, Rulebook, judge_sheet, read_rulebook
from tests.house.tree import ROOT
from tests.scoring.papers import HOSTILE, RULEBOOK, hostile, many
from web.exports.paper import Paper, briefing_pdf, check_pdf, clock_pdf, head_pdf, judge_pdf

CAMP: Final = read_rulebook(RULEBOOK.encode())
SHIPPED: Final = sorted((ROOT / "rulebooks").glob("*.yaml"))
#: Points to the millimetre, as PDF counts.
MM: Final = 72 / 25.4


def pages(content: bytes) -> list[str]:
    """The text of every page, without the marks where a word may be broken."""
    return [
        page.extract_text().replace("\u200b", "").replace("\xad", "")
        for page in PdfReader(BytesIO(content)).pages
    ]


def flat(text: str) -> str:
    """A text without spaces, for however its lines were broken."""
    return re.sub(r"\s", "", text)


def all_sheets(book: Rulebook, paper: Paper = Paper.A4) -> Iterator[bytes]:
    yield briefing_pdf(book, paper)
    for post in book.posts:
        yield judge_pdf(book, post, paper)
    yield clock_pdf(book, paper)
    yield head_pdf(book, paper)
    check = check_pdf(book, paper)
    if check is not None:
        yield check


@pytest.mark.parametrize("paper", Paper)
def test_every_page_says_which_rules_it_belongs_to_and_which_page_it_is(paper: Paper) -> None:
    for content in all_sheets(CAMP, paper):
        texts = pages(content)
        for number, text in enumerate(texts, start=1):
            plain = " ".join(text.split())
            assert CAMP.title in plain
            assert f"edition 7 · rulebook {CAMP.hash[:12]}" in plain
            assert f"Page {number} of {len(texts)}" in plain
            assert "no work procedure" in plain


@pytest.mark.parametrize("file", SHIPPED, ids=lambda path: path.stem)
def test_every_rule_a_post_watches_stands_on_its_sheet_once(file: Path) -> None:
    book = read_rulebook(file.read_bytes())
    for post in book.posts:
        sheet = judge_sheet(post, book)
        listed = [block.rule for section in sheet.sections for block in section.blocks]
        assert listed == [rule.id for rule in book.watched_by(post)]
        text = flat("".join(pages(judge_pdf(book, post))))
        for rule in book.watched_by(post):
            assert text.count(flat(rule.text)) >= 1


@pytest.mark.parametrize("post", CAMP.posts)
def test_every_box_is_there_for_every_line(post: PostId) -> None:
    texts = " ".join(" ".join(pages(judge_pdf(CAMP, post))).split())
    blocks = [block for section in judge_sheet(post, CAMP).sections for block in section.blocks]
    for label in {label for block in blocks for label in block.answers}:
        assert label in texts
    assert texts.count("who") >= 5 * sum(
        line.takes == "breaches" for block in blocks for line in block.lines
    )


def test_a_rule_is_on_one_page_only() -> None:
    """The title of a rule and the last of its lines stand on the same page."""
    book = read_rulebook((ROOT / "rulebooks" / "sheave-change.yaml").read_bytes())
    for post in book.posts:
        texts = [flat(page) for page in pages(judge_pdf(book, post))]
        for section in judge_sheet(post, book).sections:
            for block in section.blocks:
                there = [page for page in texts if flat(block.text) in page]
                assert any(
                    all(flat(line.says) in page for line in block.lines) for page in there
                ), block.rule


def test_a_rule_longer_than_a_page_goes_on_under_its_task() -> None:
    book = read_rulebook(many(30).encode())
    texts = [flat(page) for page in pages(judge_pdf(book, next(iter(book.posts))))]
    assert sum("piece" in page for page in texts) > 1
    assert all("TaskA:Allofit" in page for page in texts[:-1])
    whole = "".join(texts)
    assert all(f"piece{n}" in whole for n in range(1, 61))
    assert all(f"Step{n}ofmany" in whole for n in range(1, 30))


def test_no_sheet_of_a_crew_shows_a_reference() -> None:
    check = check_pdf(CAMP)
    assert check is not None
    text = " ".join(" ".join(pages(check)).split())
    assert "The voltage of the mains" in text
    assert "2 %" not in text
    assert "propane or butane" in text
    assert "It must be propane" not in " ".join(
        " ".join(page.split()) for content in all_sheets(CAMP) for page in pages(content)
    )


def test_a_rulebook_with_nothing_to_write_has_no_check_sheet() -> None:
    assert check_pdf(read_rulebook(many(2).encode())) is None


def test_the_briefing_begins_with_the_cautions_and_ends_with_the_result() -> None:
    text = " ".join(" ".join(pages(briefing_pdf(CAMP))).split())
    order = [
        "These are contest rules, no work procedure",
        "Nobody lifts the mast alone.",
        "3 people work at once.",
        "The walkthrough may take 5 minutes.",
        "Raise the mast",
        "“Heave”",
        "Light the stove",
        "Gloves on whoever handles a line",
        "Every peg is back in the bag",
        "A flag flies from the mast",
        "A fire outside the stove",
        "Carelessness: 5 s, then 10 s, then 20 s.",
        "The result is the official time with the penalties; the least wins.",
        "Of equal results the better has fewer findings.",
    ]
    assert sorted(order, key=text.index) == order


@pytest.mark.parametrize("text", HOSTILE, ids=lambda text: text[:8].strip())
def test_nothing_an_author_writes_is_markup(text: str) -> None:
    book = read_rulebook(hostile(text).encode())
    wanted = flat(text.strip())[:20]
    for content in all_sheets(book):
        assert pages(content)
    if text.isascii():
        assert wanted in flat("".join(pages(briefing_pdf(book))))
        assert wanted in flat("".join(pages(judge_pdf(book, next(iter(book.posts))))))


@pytest.mark.parametrize("text", HOSTILE, ids=lambda text: text[:8].strip())
def test_no_text_begins_beyond_the_margins(text: str) -> None:
    for content in all_sheets(read_rulebook(hostile(text).encode())):
        for page in PdfReader(BytesIO(content)).pages:
            right, top = float(page.mediabox.width), float(page.mediabox.height)
            assert all(
                8 * MM < x < right - 8 * MM and 5 * MM < y < top - 5 * MM for x, y in begins(page)
            )


def begins(page: PageObject) -> list[tuple[float, float]]:
    """Where each piece of text on a page begins, in points from its lower left corner."""
    found: list[tuple[float, float]] = []

    def seen(said: str, cm: list[float], tm: list[float], _font: object, _size: float) -> None:
        if said.strip():
            x, y = tm[4], tm[5]
            found.append((x * cm[0] + y * cm[2] + cm[4], x * cm[1] + y * cm[3] + cm[5]))

    page.extract_text(visitor_text=seen)
    return found


def test_the_same_rulebook_gives_the_same_file() -> None:
    assert head_pdf(CAMP) == head_pdf(CAMP)
