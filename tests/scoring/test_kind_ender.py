from typing import Final

import pytest
from hypothesis import given

from scoring import Decision, Doubt, Entry, Fault, State, Status, score
from scoring.entries import Ruling
from tests.scoring.builders import (
    added,
    book,
    breached,
    card,
    changed,
    findings,
    missed,
    struck,
    upheld,
)
from tests.scoring.strategies import records


def rules(ends: str = "disqualified", post: str = "north") -> str:
    return f"""
  - {{ender: E, text: A bypassed interlock, post: {post}, ends: {ends}}}
  - {{step: A1, do: Stop, post: north, costs: slip}}"""


PLAIN: Final = book(rules=rules())


def test_a_mark_is_a_proposal_and_ends_nothing() -> None:
    mark = breached("E", "lead", at=5_000)
    result = card(PLAIN, mark)
    [finding] = result.findings
    assert (finding.failure.fault, finding.failure.item) == (Fault.RUN_ENDER, "lead")
    assert (finding.state, finding.cost, result.status) == (State.PROPOSED, 0, None)
    assert result.undecided >= 1


@pytest.mark.parametrize("ends", ["disqualified", "did not finish"])
def test_upheld_it_ends_the_run_and_the_standings_say_why(ends: str) -> None:
    mark = breached("E")
    result = card(book(rules=rules(ends)), mark, upheld(f"E/{mark.id}"))
    assert (result.status, result.why, result.total) == (
        Status(ends),
        "A bypassed interlock",
        None,
    )


def test_two_judges_of_one_moment_make_one_proposal() -> None:
    seen = breached("E", by="jo", at=1_000), breached("E", by="al", at=9_000)
    [finding] = findings(PLAIN, *seen)
    assert finding.failure.stands_on == (seen[0].id, seen[1].id)


def test_struck_out_it_hides_no_later_one() -> None:
    first, second = breached("E", at=1_000), breached("E", at=90_000)
    ruling = struck(f"E/{first.id}", stands_on=(first,))
    found = findings(PLAIN, first, ruling, second)
    assert [(each.state, each.doubts) for each in found] == [
        (State.STRUCK_OUT, ()),
        (State.PROPOSED, ()),
    ]


def test_a_mark_that_joins_one_that_was_struck_out_shows_that_it_moved() -> None:
    first, second = breached("E", by="jo", at=1_000), breached("E", by="al", at=2_000)
    ruling = struck(f"E/{first.id}", stands_on=(first,))
    [finding] = findings(PLAIN, first, ruling, second)
    assert (finding.state, finding.doubts) == (State.STRUCK_OUT, (Doubt.MOVED,))


def test_one_of_two_posts_is_uncorroborated() -> None:
    [finding] = findings(book(rules=rules(post="[north, south]")), breached("E"))
    assert finding.doubts == (Doubt.UNCORROBORATED,)


def test_the_head_judge_may_let_a_cost_stand_instead() -> None:
    mark = breached("E")
    result = card(PLAIN, mark, changed(f"E/{mark.id}", 60_000))
    assert (result.status, result.total) == (None, 660_000)


def test_the_head_judge_ends_the_run_by_adding_it() -> None:
    assert card(PLAIN, added("E")).status is Status.DISQUALIFIED


def test_an_answer_is_no_breach() -> None:
    assert findings(PLAIN, missed("E")) == []


@given(records(PLAIN))
def test_only_what_was_ruled_or_added_ends_a_run(record: list[Entry]) -> None:
    result = score(record, PLAIN)
    for finding in result.findings:
        if finding.ends is not None:
            ruling = finding.ruling.what if finding.ruling is not None else None
            upheld_ = isinstance(ruling, Ruling) and ruling.decision is Decision.UPHOLD
            assert upheld_ or finding.failure.fault is Fault.ADDED
