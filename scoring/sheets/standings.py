"""The standings as a table."""

from collections.abc import Iterable, Iterator, Mapping

from scoring.findings import State
from scoring.kinds.bonus import Bonus
from scoring.penalties import Unit
from scoring.results import Result
from scoring.rulebook import Rulebook
from scoring.scorecard import Scorecard
from scoring.sheets.cells import Cell, CellKind, Column, Table
from scoring.standings import Standing


def standings_table(standings: Iterable[Standing], book: Rulebook, posting: str = "") -> Table:
    """The standings from first to last; `posting` says in words which posting they are.

    Of an assessment, what each has come to, in order of names.
    """
    rows = tuple(standings)
    runs = max([book.attempts.count, *(len(row.scorecard.attempts) for row in rows)])
    columns = tuple(_columns(book, runs))
    leaders = _leaders(rows, book)
    cells = [_cells(row, leaders, book) for row in rows]
    what = "Outcomes" if book.result is Result.ASSESSMENT else "Standings"
    return Table(
        "standings",
        f"{what}: {book.title}, edition {book.edition}",
        columns,
        tuple(tuple(each.get(column.key) for column in columns) for each in cells),
        posting,
    )


def has_bonuses(book: Rulebook) -> bool:
    """Whether a rulebook gives anything: only then do its sheets speak of bonuses."""
    return any(isinstance(rule, Bonus) for rule in book.rules.values())


def has_seconds(book: Rulebook) -> bool:
    """Whether failures cost seconds though the result is in points."""
    return book.unit is Unit.POINTS and any(
        category.unit is Unit.SECONDS and any(rung.amount for rung in category.rungs)
        for category in book.categories.values()
    )


def cost_kind(book: Rulebook) -> CellKind:
    """What a cost is shown as."""
    return CellKind.COST if book.unit is Unit.SECONDS else CellKind.POINTS


def total_kind(book: Rulebook) -> CellKind:
    """What a total is shown as."""
    return CellKind.TIME if book.unit is Unit.SECONDS else CellKind.POINTS


def _columns(book: Rulebook, runs: int) -> Iterator[Column]:
    assessed, total = book.result is Result.ASSESSMENT, total_kind(book)
    if not assessed:
        yield Column("place", "Place", CellKind.PLACE)
    yield Column("team", "Team")
    yield Column("division", "Division")
    if not assessed and not book.apart:
        yield Column("division_place", "Place in division", CellKind.PLACE)
    if runs > 1:
        for number in range(1, runs + 1):
            yield Column(f"attempt {number}", f"Attempt {number}", total)
        yield Column("total", "Total", total)
    else:
        yield from made_of_columns(book)
    if assessed:
        yield Column("outcome", "Outcome")
        yield Column("missed", "Not met")
        yield Column("again", "To be shown again")
        yield Column("signed", "Signed")
    else:
        yield Column("behind", "Behind the first", total)
    yield Column("findings", "Findings", CellKind.COUNT)
    yield Column("remark", "Remark")


def made_of_columns(book: Rulebook) -> Iterator[Column]:
    """What a total is made of, and the total."""
    if book.timed:
        yield Column("time", "Official time", CellKind.TIME)
    if has_seconds(book):
        yield Column("seconds", "On the time", CellKind.COST)
    if book.points.time is not None:
        yield Column("time_cost", "For the time", CellKind.POINTS)
    yield Column("penalty", "Penalties", cost_kind(book))
    if has_bonuses(book):
        yield Column("bonus", "Bonuses", cost_kind(book))
    sums = (("+", "time"), ("+", "penalty"), ("-", "bonus"))
    in_time = book.result is Result.TIME
    yield Column("total", "Total", total_kind(book), made_of=sums if in_time else ())


def made_of_cells(card: Scorecard) -> dict[str, Cell]:
    """What a total is made of; empty before the run has come to its end."""
    over = card.official is not None or card.total is not None
    return {
        "time": card.official.time if card.official is not None else None,
        "seconds": card.seconds if over else None,
        "time_cost": card.time_cost if over else None,
        "penalty": card.penalty if over else None,
        "bonus": card.bonus if over else None,
        "total": card.total,
    }


def _leaders(rows: tuple[Standing, ...], book: Rulebook) -> Mapping[str, int]:
    """The first's total; by division where places are."""
    leaders: dict[str, int] = {}
    for row in rows:
        if row.place is not None and row.scorecard.total is not None:
            leaders.setdefault(row.entrant.division if book.apart else "", row.scorecard.total)
    return leaders


def _cells(row: Standing, leaders: Mapping[str, int], book: Rulebook) -> dict[str, Cell]:
    card = row.scorecard
    leader = leaders.get(row.entrant.division if book.apart else "")
    behind = card.total - leader if card.total is not None and leader is not None else None
    remarks = [say_status(card), say_tie(row)]
    if card.undecided:
        remarks.append(f"{card.undecided} undecided")
    return {
        "place": row.place,
        "team": row.entrant.name,
        "division": row.entrant.division,
        "division_place": row.division_place,
        **made_of_cells(card),
        **{f"attempt {n}": each.card.total for n, each in enumerate(card.attempts, start=1)},
        **_assessed_cells(card),
        "behind": -behind if behind is not None and not book.least_wins else behind,
        "findings": counting(card),
        "remark": "; ".join(filter(None, remarks)),
    }


def _assessed_cells(card: Scorecard) -> dict[str, Cell]:
    if card.assessed is None:
        return {}
    return {
        "outcome": card.assessed.outcome,
        "missed": ", ".join(each.name for each in card.assessed.criteria if not each.met),
        "again": ", ".join(card.assessed.again),
        "signed": "yes" if card.assessed.signed else "no",
    }


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
    return sum(finding.state is State.COUNTS for each in card.counted for finding in each.findings)
