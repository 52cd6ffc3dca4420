"""What stands on the sheets of a rulebook, whoever sets them."""

from collections import Counter
from pathlib import Path
from typing import Final

import pytest

from scoring import (
    KINDS,
    Block,
    briefing,
    check_sheet,
    clock_sheet,
    judge_sheet,
    read_rulebook,
)
from tests.house.tree import ROOT
from tests.scoring.papers import RULEBOOK

CAMP: Final = read_rulebook(RULEBOOK.encode())
BOOKS: Final = sorted((ROOT / "rulebooks").glob("*.yaml"))


ASSESSMENT: Final = """
rulebook: knots
title: Three knots
edition: 1
result: assessment
cautions: Local rules come first.
posts: {table: {title: The table}}
penalties: {slip: {points: 5}, grave: {points: 10, severity: safety}}
points: {start: 20}
assessment: {pass: 80 %, must: [grave]}
rules:
  - {step: tie, do: Tie it, post: table, costs: slip}
  - {step: check, do: Check it, post: table, costs: grave}
"""


def blocks(post: str) -> dict[str, Block]:
    sheet = judge_sheet(next(each for each in CAMP.posts if each == post), CAMP)
    return {block.rule: block for section in sheet.sections for block in section.blocks}


def words(title: str) -> tuple[str, ...]:
    return next(part.words for part in briefing(CAMP).parts if part.title == title)


def test_the_camp_has_a_rule_of_every_kind() -> None:
    assert {rule.kind for rule in CAMP.rules.values()} == set(KINDS)


@pytest.mark.parametrize("file", BOOKS, ids=lambda path: path.stem)
def test_each_rule_is_on_the_sheets_of_its_posts_once_and_read_aloud_once(file: Path) -> None:
    book = read_rulebook(file.read_bytes())
    for post in book.posts:
        sheet = judge_sheet(post, book)
        listed = [block.rule for section in sheet.sections for block in section.blocks]
        assert listed == [rule.id for rule in book.watched_by(post)]
    aloud = Counter(item.rule for part in briefing(book).parts for item in part.items)
    assert aloud == Counter(dict.fromkeys(book.rules, 1))


def test_a_line_stands_for_every_item_with_the_boxes_of_its_kind() -> None:
    mast = blocks("mast")
    assert [line.item for line in mast["look"].lines] == ["", "foot", "joints", "head"]
    assert [line.item for line in mast["wrench"].lines] == ["try 1", "try 2"]
    assert mast["heave"].answers == ("heard", "wrong words", "not heard", "could not hear")
    assert mast["dig"].across
    assert not mast["stays"].across
    assert [str(line.takes) for line in blocks("stove")["lid"].lines] == ["count"] * 3
    assert {str(block.rule): str(block.lines[0].takes) for block in blocks("stove").values()} == {
        "mains-read": "value",
        "phases": "value",
        "even": "nothing",
        "gas": "value",
        "signed": "value",
        "lid": "count",
        "stove-time": "over",
        "gloves": "breaches",
        "under": "breaches",
        "shout": "breaches",
        "pegs": "count",
        "flag": "answer",
        "fire": "breaches",
        "camp-ready": "answer",
    }


def test_there_is_room_for_a_time_where_order_is_judged() -> None:
    assert {rule for rule, block in blocks("mast").items() if block.timed} >= {"heave", "raise"}
    assert not any(block.timed for block in blocks("stove").values())


def test_a_judge_reads_when_a_rule_holds_and_who_else_watches() -> None:
    notes = " ".join(blocks("mast")["gloves"].notes)
    assert "Holds during up." in notes
    assert "Watched from: Mast and lines; Stove and stores." in notes
    assert "Only where wind is north." in blocks("mast")["raise"].notes


def test_words_that_are_said_stand_in_quotes() -> None:
    assert blocks("mast")["heave"].text == "“Heave”"
    assert blocks("mast")["raise"].text == "Raise the mast"


def test_the_first_caution_is_ours_and_comes_before_the_authors() -> None:
    first, *rest = words("Cautions")
    assert first.startswith("These are contest rules, no work procedure.")
    assert rest == ["Nobody lifts the mast alone."]
    assert briefing(CAMP).parts[0].title == "Cautions"


def test_the_clock_is_read_in_words() -> None:
    assert words("The clock") == (
        "The walkthrough may take 5 minutes.",
        "Going over costs: 10 s per minute.",
        "The run may take 30 minutes.",
        "Who reaches that time has not finished.",
        "The clock stops on the words “Camp ready” (Leader).",
        "A false start costs: 10 s.",
        "The official time is the slower of two watches or else one watch, rounded up to 0.1 s.",
    )


def test_an_assessment_says_what_must_be_reached() -> None:
    book = read_rulebook(ASSESSMENT.encode())
    said = next(part.words for part in briefing(book).parts if part.title == "The result")
    assert said[0] == "Nobody is ranked: the outcome is competent or not yet competent."
    assert "The pass mark is 80 % of the start value." in said
    assert "Met without fail: grave." in said
    assert judge_sheet(next(iter(book.posts)), book).assessor


def test_the_check_sheet_has_a_line_for_all_that_is_written_and_no_right_value() -> None:
    lines = [(line.rule, line.item, line.hint) for line in check_sheet(CAMP).lines]
    assert lines == [
        ("wrench", "", "to be set to 50 N·m; write what it is set to"),
        ("mains-read", "", "in V"),
        ("phases", "L1", "in V"),
        ("phases", "L2", "in V"),
        ("phases", "L3", "in V"),
        ("even", "", "unbalance of phases: worked out by the judges"),
        ("gas", "", "propane or butane"),
        ("signed", "", "signature"),
    ]
    assert [line.rule for line in check_sheet(CAMP).lines if not line.written] == ["even"]


def test_the_clock_sheet_has_every_watch_and_what_is_drawn() -> None:
    sheet = clock_sheet(CAMP)
    assert (sheet.watches, sheet.walkthrough) == (2, "5:00")
    assert sheet.drawn == (("wind", "north or south"), ("mains", "in V"))
