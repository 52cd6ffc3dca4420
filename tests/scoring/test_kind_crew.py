import pytest

from scoring import Fault, Outcome, Question, RuleId
from tests.scoring.builders import book, card, findings, marked

HOIST = book(rules="[{crew: C, text: At the load, post: north, costs: grave, at-least: 3}]")


@pytest.mark.parametrize(
    ("outcome", "fault"),
    [(Outcome.MISSING, Fault.TOO_FEW), (Outcome.WRONG, Fault.OUT_OF_PLACE)],
)
def test_too_few_or_in_wrong_places_is_one_finding(outcome: Outcome, fault: Fault) -> None:
    [finding] = findings(HOIST, marked("C", outcome, at=5_000))
    assert (finding.id, finding.failure.fault, finding.cost) == ("C", fault, 30_000)


def test_enough_people_are_no_finding_and_no_question() -> None:
    enough = card(HOIST, marked("C"))
    assert (enough.findings, enough.questions) == ((), ())


def test_whether_there_were_enough_is_asked() -> None:
    assert card(HOIST).questions == (Question(RuleId("C")),)


def test_the_whole_crew_is_not_too_many() -> None:
    assert (
        book(rules="[{crew: C, text: All, post: north, costs: grave, at-least: 4}]").crew.size == 4
    )
