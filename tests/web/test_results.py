"""Events in points, with attempts and as assessments, from the record to posting and sheets."""

import hashlib
from io import BytesIO
from typing import Any

import pytest
from openpyxl import load_workbook
from sqlalchemy import Engine

from scoring import (
    CloseOut,
    Competence,
    Entry,
    EntryId,
    Mark,
    Outcome,
    PersonId,
    PostId,
    RuleId,
    RunId,
    Signature,
    Status,
    StatusRuling,
    TeamId,
    What,
    encode,
)
from tests.scoring.builders import rulebook_text
from tests.web.meet import NOW, Announced, Clock, Writer
from web.errors import BadMessageError, ConflictError
from web.exports.comma import table_csv
from web.exports.workbook import standings_workbook, team_workbook
from web.pages.team import written
from web.services.access import actor_of
from web.services.intake import Intake
from web.services.opening import open_event
from web.services.postings import Postings
from web.services.runs import Runs
from web.services.sheets import Sheets
from web.storage.directory import Directory
from web.storage.memory import MemoryLog
from web.values import Event, Person, Placement, Posting, Role, RunPlan, Standing, Team

POINTS = {
    "result": "points",
    "penalties": "{slip: {points: 2.5}}",
    "points": "{start: 100}",
    "rules": """
  - {step: A1, do: Stop the drive, post: north, costs: slip}
  - {bonus: neat, text: Neat work, post: north, gives: slip}""",
}
PLACED = {"hd": (Role.HEAD, None), "jo": (Role.JUDGE, "north")}
RUNS = {"late": ("owls", 3), "first": ("owls", 1), "between": ("rooks", 2)}


class Day:
    """An event of one rulebook: two crews, of which one runs twice."""

    def __init__(self, engine: Engine, sections: dict[str, str]) -> None:
        self.directory, self.log, clock = Directory(engine), MemoryLog(), Clock()
        rulebook = rulebook_text(**sections).encode()
        open_event(
            self.directory,
            clock,
            Event("modes", "Modes", hashlib.sha256(rulebook).hexdigest(), rulebook, 0),
            [Team(TeamId("owls"), "Owls"), Team(TeamId("rooks"), "Rooks")],
            [Person(PersonId(person), person.title()) for person in PLACED],
            [
                Placement(PersonId(person), role, None if post is None else PostId(post))
                for person, (role, post) in PLACED.items()
            ],
            [
                RunPlan(RunId(run), "modes", TeamId(team), "Bay 1", turn)
                for run, (team, turn) in RUNS.items()
            ],
        )
        self.runs = Runs(self.log, self.directory)
        announced = Announced()
        self.intake = Intake(self.runs, Writer(self.log, clock), announced, clock)
        self.postings = Postings(self.runs, self.directory, announced, clock)
        self.sheets = Sheets(self.runs, self.directory)
        self.number = 0

    def send(self, person: str, run: str, *whats: What) -> list[Any]:
        post = PLACED[person][1]
        entries = []
        for what in whats:
            self.number += 1
            entries.append(
                Entry(
                    EntryId(f"e{self.number}"),
                    RunId(run),
                    PersonId(person),
                    None if post is None else PostId(post),
                    NOW,
                    0,
                    what,
                )
            )
        answers = self.intake.observe(self.actor(person), [encode(each) for each in entries])
        return [answer.error for answer in answers]

    def actor(self, person: str) -> Any:
        [link] = [each for each in self.directory.links("modes") if each.person == person]
        return actor_of(self.directory, link.id)

    def judged(self, run: str, *, good: bool = True, neat: bool = False) -> None:
        """A run that the one judge has watched and closed out."""
        marks = {"A1": good, "neat": neat}
        whats = [
            Mark(RuleId(rule), Outcome.GOOD if well else Outcome.MISSING)
            for rule, well in marks.items()
        ]
        assert self.send("jo", run, *whats, CloseOut()) == [None, None, None]

    def post(self, standing: Standing = Standing.PROVISIONAL, reason: str = "") -> Posting:
        return self.postings.publish(self.actor("hd"), standing, reason)


def rows(posting: Posting) -> list[dict[str, Any]]:
    made: list[dict[str, Any]] = posting.content["rows"]
    return made


def test_attempts_are_the_runs_of_a_team_in_the_order_of_the_day(engine: Engine) -> None:
    day = Day(engine, {**POINTS, "attempts": "{count: 2, take: last}"})
    day.judged("first", neat=True)
    day.judged("late", good=False)
    day.judged("between")
    posted = rows(day.post())
    assert [(row["team"], row["total"]) for row in posted] == [("rooks", 100_000), ("owls", 97_500)]
    assert posted[1]["attempts"] == [
        {"total": 102_500, "status": None, "counts": False},
        {"total": 97_500, "status": None, "counts": True},
    ]


def test_a_posting_in_points_shows_points_and_bonuses(engine: Engine) -> None:
    day = Day(engine, {**POINTS, "attempts": "{count: 2}"})
    day.judged("between", good=False, neat=True)
    [row, _] = rows(day.post())
    assert (row["unit"], row["penalty"], row["bonus"], row["total"]) == (
        "points",
        2_500,
        2_500,
        100_000,
    )
    assert row["time"] is None


def test_official_standings_wait_for_attempts_to_come(engine: Engine) -> None:
    day = Day(engine, {**POINTS, "attempts": "{count: 2}"})
    for run in ("first", "between"):
        day.judged(run)
    assert [row["total"] for row in rows(day.post())] == [100_000, 100_000]
    with pytest.raises(ConflictError, match="Owls"):
        day.post(Standing.OFFICIAL)
    day.send("hd", "late", StatusRuling(Status.DID_NOT_START, "gone home"))
    assert day.post(Standing.OFFICIAL).number == 2


ASSESSMENT = {**POINTS, "result": "assessment", "assessment": "{must: A1}"}


def test_an_assessment_is_posted_with_its_outcome_once_it_is_signed(engine: Engine) -> None:
    day = Day(engine, ASSESSMENT)
    day.judged("late", good=False)
    day.judged("between")
    for run in ("first", "late", "between"):
        day.send("hd", run, *([StatusRuling(Status.DID_NOT_START, "ill")] * (run == "first")))
    posted = rows(day.post())
    assert [(row["team_name"], row["outcome"], row["place"], row["signed"]) for row in posted] == [
        ("Owls", "not yet", None, False),
        ("Rooks", "competent", None, False),
    ]
    with pytest.raises(ConflictError, match="Owls"):
        day.post(Standing.OFFICIAL)
    assert day.send("jo", "late", Signature(Competence.NOT_YET)) == [None]
    assert day.send("hd", "between", Signature(Competence.COMPETENT)) == [None]
    assert all(row["signed"] for row in rows(day.post(Standing.OFFICIAL)))


def test_nothing_is_signed_where_there_is_no_assessment(engine: Engine) -> None:
    day = Day(engine, POINTS)
    [error] = day.send("jo", "late", Signature(Competence.COMPETENT))
    assert isinstance(error, BadMessageError)
    assert error.says == "Nothing is signed at this event: it is no assessment."


@pytest.mark.parametrize(
    "sections",
    [
        POINTS,
        {**POINTS, "points": "{best: least, time: {points: 1, beyond: 1 min}}"},
        {**POINTS, "attempts": "{count: 2, take: sum}"},
        ASSESSMENT,
        {**ASSESSMENT, "attempts": "{count: 2}"},
    ],
    ids=["points", "time as a term", "attempts", "assessment", "assessed twice"],
)
def test_every_kind_of_result_can_be_taken_home(engine: Engine, sections: dict[str, str]) -> None:
    day = Day(engine, sections)
    for run in RUNS:
        day.judged(run, good=run != "late", neat=True)
    posting = day.post()
    book, places = day.sheets.book(posting), day.sheets.places(posting)
    table = day.sheets.standings(posting)
    page = load_workbook(BytesIO(standings_workbook(table, book)))["Standings"]
    heads = [cell.value for cell in page[3]]
    assert heads == [column.title for column in table.columns]
    assert table_csv(table).decode("utf-8-sig").count("\r\n") == 3
    for place in places:
        sheet = day.sheets.sheet(posting, place, places)
        book_of_it = load_workbook(BytesIO(team_workbook(sheet)))
        assert book_of_it.sheetnames == [
            "Summary",
            *(table.name.capitalize() for table in sheet.tables),
        ]
        for fact in sheet.summary:
            assert isinstance(written(fact.value, fact.kind, sheet.step), str)


def test_points_are_numbers_in_a_workbook_and_as_people_write_them_elsewhere(
    engine: Engine,
) -> None:
    day = Day(engine, {**POINTS, "attempts": "{count: 2}"})
    day.judged("between", good=False)
    posting = day.post()
    table = day.sheets.standings(posting)
    column = [each.key for each in table.columns].index("total")
    content = standings_workbook(table, day.sheets.book(posting))
    cell = load_workbook(BytesIO(content))["Standings"].cell(4, column + 1)
    assert (cell.value, cell.number_format) == (97.5, "0.0")
    assert ",97.5," in table_csv(table).decode()
    assert written(97_500, table.columns[column].kind, 10) == "97.5"
