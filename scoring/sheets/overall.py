"""Overall standings as a table."""

from collections.abc import Iterable

from scoring.meets import Meet
from scoring.overall import EventScore, OverallStanding
from scoring.sheets.cells import Cell, CellKind, Column, Table


def overall_table(standings: Iterable[OverallStanding], meet: Meet, posting: str = "") -> Table:
    """The overall standings from first to last, with what each event gives, weight included."""
    rows = tuple(standings)
    held = [each.event for each in rows[0].scores] if rows else []
    return Table(
        "overall",
        f"Overall standings: {meet.title}, edition {meet.edition}",
        (
            Column("place", "Place", CellKind.PLACE),
            Column("team", "Team"),
            Column("division", "Division"),
            Column("division_place", "Place in division", CellKind.PLACE),
            *(Column(event, meet.events[event].title, CellKind.POINTS) for event in held),
            Column("dropped", "Dropped", CellKind.POINTS),
            Column("total", "Total", CellKind.POINTS, made_of=_sum(held)),
            Column("remark", "Remark"),
        ),
        tuple(_row(row, meet) for row in rows),
        posting,
    )


def _sum(held: list[str]) -> tuple[tuple[str, str], ...]:
    return (*(("+", event) for event in held), ("-", "dropped"))


def _row(row: OverallStanding, meet: Meet) -> tuple[Cell, ...]:
    dropped = [each.score for each in row.scores if each.dropped and each.score is not None]
    remarks = [_remark(each, meet) for each in row.scores]
    if row.tied:
        remarks.append("shares the place")
    elif row.broken_by:
        remarks.append(f"tie broken by {row.broken_by}")
    return (
        row.place,
        row.entrant.name,
        row.entrant.division,
        row.division_place,
        *(each.score for each in row.scores),
        sum(dropped) if row.total is not None else None,
        row.total,
        "; ".join(filter(None, remarks)),
    )


def _remark(score: EventScore, meet: Meet) -> str:
    said = [score.why] if score.why else []
    said += ["dropped"] if score.dropped else []
    return f"{meet.events[score.event].title}: {', '.join(said)}" if said else ""
