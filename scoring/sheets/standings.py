"""The standings as a table."""

from collections.abc import Iterable
from typing import Final

from scoring.findings import State
from scoring.kinds.bonus import Bonus
from scoring.rulebook import Rulebook
from scoring.scorecard import Scorecard
from scoring.sheets.cells import Cell, CellKind, Column, Table
from scoring.standings import Standing


def standings_table(standings: Iterable[Standing], book: Rulebook, posting: str = "") -> Table:
    """The standings from first to last; `posting` says in words which posting they are."""
    rows = tuple(standings)
    leader = next((row.scorecard.total for row in rows if row.place is not None), None)
    table = Table(
        "standings",
        f"Standings: {book.title}, edition {book.edition}",
        _STANDINGS,
        tuple(_standing_row(row, leader) for row in rows),
        posting,
    )
    return table if has_bonuses(book) else table.without("bonus")


def has_bonuses(book: Rulebook) -> bool:
    """Whether a rulebook gives anything: only then do its sheets speak of bonuses."""
    return any(isinstance(rule, Bonus) for rule in book.rules.values())


_STANDINGS: Final = (
    Column("place", "Place", CellKind.PLACE),
    Column("team", "Team"),
    Column("division", "Division"),
    Column("division_place", "Place in division", CellKind.PLACE),
    Column("time", "Official time", CellKind.TIME),
    Column("penalty", "Penalties", CellKind.COST),
    Column("bonus", "Bonuses", CellKind.COST),
    Column(
        "total",
        "Total",
        CellKind.TIME,
        made_of=(("+", "time"), ("+", "penalty"), ("-", "bonus")),
    ),
    Column("behind", "Behind the first", CellKind.TIME),
    Column("findings", "Findings", CellKind.COUNT),
    Column("remark", "Remark"),
)


def _standing_row(row: Standing, leader: int | None) -> tuple[Cell, ...]:
    card = row.scorecard
    behind = card.total - leader if card.total is not None and leader is not None else None
    remarks = [say_status(card), say_tie(row)]
    if card.undecided:
        remarks.append(f"{card.undecided} undecided")
    return (
        row.place,
        row.entrant.name,
        row.entrant.division,
        row.division_place,
        card.official.time if card.official is not None else None,
        card.penalty if card.official is not None else None,
        card.bonus if card.official is not None else None,
        card.total,
        behind,
        counting(card),
        "; ".join(filter(None, remarks)),
    )


def say_status(card: Scorecard) -> str:
    """How a run ended, or how far it has come, in words; nothing where it has a total."""
    if card.status is not None:
        return f"{card.status}: {card.why}" if card.why else str(card.status)
    return "" if card.total is not None else f"no result yet ({card.stage})"


def say_tie(row: Standing) -> str:
    """What became of an equal total, in words."""
    if row.tied:
        return "shares the place"
    return f"tie broken by {row.broken_by}" if row.broken_by else ""


def counting(card: Scorecard) -> int:
    """How many findings count."""
    return sum(finding.state is State.COUNTS for finding in card.findings)
