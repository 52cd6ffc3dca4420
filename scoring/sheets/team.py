"""The penalty sheet of one team."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from scoring.clock import Clock, OfficialTime
from scoring.durations import Rounding, format_seconds
from scoring.ids import PersonId, TeamId
from scoring.rulebook import Rulebook
from scoring.scorecard import Scorecard
from scoring.sheets.cells import Cell, CellKind, Fact, Table
from scoring.sheets.readings import readings_table
from scoring.sheets.run import RunTables
from scoring.sheets.splits import splits_table
from scoring.sheets.standings import counting, has_bonuses, say_status, say_tie
from scoring.standings import Standing


@dataclass(frozen=True, slots=True)
class TeamSheet:
    """What a team takes home. `step` is the finest step of the official time, in milliseconds.

    The facts `penalty` and `bonus` are the totals of `cost` and `given` in `findings`; the fact
    `total`, where it has a value, is `official` and `penalty` less `bonus`. `extras` are tables
    that only some runs have.
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
    sheet = RunTables(standing.scorecard, book, people)
    ranked = [other.scorecard for other in field if other.place is not None]
    extras = (
        readings_table(standing.scorecard, book),
        sheet.returns(),
        sheet.clock(),
        sheet.open_questions(),
    )
    return TeamSheet(
        team=standing.entrant.team,
        name=standing.entrant.name,
        event=book.title,
        edition=book.edition,
        hash=book.hash,
        step=book.clock.step,
        summary=tuple(_summary(standing, len(ranked), book, posting)),
        findings=sheet.findings(),
        callouts=sheet.callouts(),
        splits=splits_table(standing.scorecard, ranked, book),
        steps=sheet.steps(),
        extras=tuple(table for table in extras if table.rows),
    )


def _summary(standing: Standing, ranked: int, book: Rulebook, posting: str) -> Iterator[Fact]:
    card, entrant = standing.scorecard, standing.entrant
    yield Fact("team", "Team", entrant.name)
    if entrant.division:
        yield Fact("division", "Division", entrant.division)
    yield Fact("event", "Event", book.title)
    yield Fact("edition", "Edition of the rulebook", book.edition, CellKind.COUNT)
    yield Fact("hash", "Hash of the rulebook", book.hash)
    yield Fact("posting", "Posting", posting or "not posted")
    yield from _time_facts(card, book.clock)
    yield Fact("penalty", "Penalties", card.penalty, CellKind.COST)
    if has_bonuses(book):
        yield Fact("bonus", "Bonuses", card.bonus, CellKind.COST)
    yield Fact("total", "Total", card.total, CellKind.TIME)
    yield Fact("status", "Status", say_status(card) or "finished")
    yield Fact("place", "Place", standing.place, CellKind.PLACE)
    yield Fact("ranked", "Teams with a place", ranked, CellKind.COUNT)
    if entrant.division:
        yield Fact("division_place", "Place in division", standing.division_place, CellKind.PLACE)
    if tie := say_tie(standing):
        yield Fact("tie", "Tie", tie)
    yield Fact("findings", "Findings that count", counting(card), CellKind.COUNT)
    if card.undecided:
        yield Fact("undecided", "Still undecided", card.undecided, CellKind.COUNT)
    for n, anomaly in enumerate(card.anomalies, start=1):
        yield Fact(f"anomaly {n}", "Odd on the record", str(anomaly.oddity))
    for n, caution in enumerate(book.cautions, start=1):
        yield Fact(f"caution {n}", "Caution" if n == 1 else "", caution)


def _time_facts(card: Scorecard, clock: Clock) -> Iterator[Fact]:
    if card.official is None:
        yield Fact("official", "Official time", None, CellKind.TIME)
        return
    for watch, entry in card.run.watches.items():
        elapsed = getattr(entry.what, "elapsed", None)
        yield Fact(f"watch {watch}", f"Watch {watch}", elapsed, CellKind.TIME)
    if card.official.back:
        yield Fact("back", "Time given back", card.official.back, CellKind.TIME)
    yield Fact("official", "Official time", card.official.time, CellKind.TIME)
    yield Fact("made", "How it was made", _made(card.official, tuple(card.run.watches), clock))


def _made(official: OfficialTime, watches: tuple[int, ...], clock: Clock) -> str:
    """How the official time came about, in words."""
    if official.way is None:
        made = "from the signals for start and stop, as no watch was read"
    else:
        used = watches[: len(official.readings)]
        names = " and ".join(filter(None, (", ".join(map(str, used[:-1])), str(used[-1]))))
        made = f"{official.way} (watch{'es' if len(used) > 1 else ''} {names})"
        if official.way is not official.wanted:
            made += f", too few watches for {official.wanted}"
    if official.back:
        made += ", less the time given back" if official.back > 0 else ", with the time taken"
    way = "to the nearest" if clock.rounding is Rounding.HALF_UP else f"{clock.rounding} to a full"
    return f"{made}, rounded {way} {format_seconds(clock.step)}"
