"""Meet files: what they say, and every complaint about them word for word."""

from pathlib import Path
from typing import Final

import pytest

from scoring import MeetError, read_meet
from tests.scoring.meets import RULEBOOKS, meet, meet_text


def refused(content: bytes) -> list[str]:
    """What the reader says of a file, line by line."""
    with pytest.raises(MeetError) as error:
        read_meet(content, RULEBOOKS, "trial.yaml")
    return [line.removeprefix("trial.yaml:") for line in str(error.value).split("\n")]


def _cases() -> list[tuple[str, list[str]]]:
    table = (Path(__file__).parent / "meet_complaints.txt").read_text(encoding="utf-8")
    blocks = [block.strip().split("\n> ") for block in table.split("\n\n") if "\n> " in block]
    return [(section, says) for section, *says in blocks]


@pytest.mark.parametrize(("section", "says"), _cases())
def test_each_complaint_says_what_and_where(section: str, says: list[str]) -> None:
    key, _, value = section.removeprefix("no ").partition(": ")
    assert refused(meet_text(**{key: value or None}).encode()) == says


NOT_YAML: Final = "This is not YAML: while parsing a flow node did not find expected node content."


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "1:1: The file is empty; a meet begins with 'meet: its-id'."),
        (b"[]", "1:1: Write a mapping (key: value) here."),
        (b"meet: [", f"2:1: {NOT_YAML}"),
        (b"meet: a\nmeet: b", "2:1: The key 'meet' stands here twice. First at line 1."),
    ],
)
def test_what_is_no_meet_file_is_refused_like_a_rulebook(content: bytes, says: str) -> None:
    assert refused(content) == [says]


def test_a_table_is_no_longer_than_a_person_reads() -> None:
    table = ", ".join(["1"] * 501)
    text = meet_text(overall=f"{{by: points, missing: 0, table: [{table}]}}")
    assert refused(text.encode()) == ["5:42: overall.table: At most 500 places."]


def test_a_meet_knows_its_events_in_order_with_their_rulebooks() -> None:
    made = meet(events="{b: {rulebook: lift.yaml, weight: 2.5}, a: {rulebook: rescue.yaml}}")
    assert [(event.id, event.weight) for event in made.events.values()] == [
        ("b", 2_500),
        ("a", 1_000),
    ]
    assert made.events["b"].rulebook is RULEBOOKS["lift.yaml"]
    assert made.events["b"].title == "The lift"
    assert len(made.hash) == 64


def test_an_event_may_have_a_title_of_its_own() -> None:
    made = meet(events="{lift: {rulebook: lift.yaml, title: The morning}}")
    assert made.events["lift"].title == "The morning"
