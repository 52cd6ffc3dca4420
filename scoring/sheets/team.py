"""The penalty sheet of one team."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from scoring.ids import PersonId, TeamId
from scoring.results import Result
from scoring.rulebook import Rulebook
from scoring.sheets.assessed import again_table, record_table, signatures_table
from scoring.sheets.cells import Cell, CellKind, Fact, Table, stacked
from scoring.sheets.readings import readings_table
from scoring.sheets.run import RunTables
from scoring.sheets.splits import splits_table
from scoring.sheets.standings import counting, say_status, say_tie
from scoring.sheets.totals import attempts_table, total_facts
from scoring.standings import Standing


@dataclass(frozen=True, slots=True)
class TeamSheet:
    """What a team takes home. `step` is the finest step of the official time, in milliseconds.

    A fact says itself which others it is made of. Of several attempts each table has every one.
    `extras` are tables that only some runs have.
    """

    team: TeamId
    name: str
    event: str
    edition: int
    hash: str
    step: int
    summary: tuple[Fact, ...]
    findings: Table
    callouts: Table
    splits: Table
    steps: Table
    extras: tuple[Table, ...] = ()

    @property
    def tables(self) -> tuple[Table, ...]:
        """Every table in the order of reading."""
        return self.findings, self.callouts, self.splits, self.steps, *self.extras

    def fact(self, key: str) -> Cell:
        """The value of a fact; None where the run has no such fact."""
        return next((fact.value for fact in self.summary if fact.key == key), None)


def team_sheet(
    standing: Standing,
    field: Iterable[Standing],
    book: Rulebook,
    people: Mapping[PersonId, str],
    posting: str = "",
) -> TeamSheet:
    """The penalty sheet of one team among all `field`, itself included.

    `posting` says in words which posting it belongs to. `people` are the names of those who signed
    entries; who is missing there stands by their id.
    """
    card, rows = standing.scorecard, tuple(field)
    cards = [attempt.card for attempt in card.attempts] or [card]
    sheets = [RunTables(each, book, people) for each in cards]
    results = [
        each for row in rows if row.scorecard.total is not None for each in row.scorecard.counted
    ]

    def of_all(tables: list[Table]) -> Table:
        return stacked(tables) if card.attempts else tables[0]

    extras = [
        of_all([readings_table(each, book) for each in cards]),
        of_all([each.returns() for each in sheets]),
        of_all([each.clock() for each in sheets]),
        of_all([each.open_questions() for each in sheets]),
    ]
    if card.attempts:
        extras.insert(0, attempts_table(card, book))
    if card.assessed is not None:
        extras[:0] = [
            record_table(card.assessed, book),
            again_table(card.assessed, book),
            signatures_table(card.assessed, people),
        ]
    return TeamSheet(
        team=standing.entrant.team,
        name=standing.entrant.name,
        event=book.title,
        edition=book.edition,
        hash=book.hash,
        step=book.clock.step,
        summary=tuple(_summary(standing, rows, book, posting)),
        findings=of_all([each.findings() for each in sheets]),
        callouts=of_all([each.callouts() for each in sheets]),
        splits=of_all([splits_table(each, results, book) for each in cards]),
        steps=of_all([each.steps() for each in sheets]),
        extras=tuple(table for table in extras if table.rows),
    )


def _summary(
    standing: Standing, field: tuple[Standing, ...], book: Rulebook, posting: str
) -> Iterator[Fact]:
    card, entrant = standing.scorecard, standing.entrant
    yield Fact("team", "Team", entrant.name)
    if entrant.division:
        yield Fact("division", "Division", entrant.division)
    yield Fact("event", "Event", book.title)
    yield Fact("edition", "Edition of the rulebook", book.edition, CellKind.COUNT)
    yield Fact("hash", "Hash of the rulebook", book.hash)
    yield Fact("posting", "Posting", posting or "not posted")
    yield from total_facts(card, book)
    if card.assessed is not None:
        yield Fact("outcome", "Outcome", card.assessed.outcome)
    yield Fact("status", "Status", say_status(card) or "finished")
    if book.result is not Result.ASSESSMENT:
        yield from _place_facts(standing, field, book)
    yield Fact("findings", "Findings that count", counting(card), CellKind.COUNT)
    if card.undecided:
        yield Fact("undecided", "Still undecided", card.undecided, CellKind.COUNT)
    odd = [each for attempt in card.attempts for each in attempt.card.anomalies]
    for n, anomaly in enumerate(odd or card.anomalies, start=1):
        yield Fact(f"anomaly {n}", "Odd on the record", str(anomaly.oddity))
    for n, caution in enumerate(book.cautions, start=1):
        yield Fact(f"caution {n}", "Caution" if n == 1 else "", caution)


def _place_facts(standing: Standing, field: tuple[Standing, ...], book: Rulebook) -> Iterator[Fact]:
    division = standing.entrant.division
    ranked = [
        row
        for row in field
        if row.place is not None and (not book.apart or row.entrant.division == division)
    ]
    yield Fact("place", "Place", standing.place, CellKind.PLACE)
    yield Fact("ranked", "Teams with a place", len(ranked), CellKind.COUNT)
    if division and not book.apart:
        yield Fact("division_place", "Place in division", standing.division_place, CellKind.PLACE)
    if tie := say_tie(standing):
        yield Fact("tie", "Tie", tie)
