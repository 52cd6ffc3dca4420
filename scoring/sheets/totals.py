"""How a total came about: of the official time, costs and bonuses, or of several attempts."""

from collections.abc import Iterator

from scoring.clock import Clock, OfficialTime
from scoring.durations import Rounding, format_seconds
from scoring.penalties import Unit
from scoring.results import Best, Result
from scoring.rulebook import Rulebook
from scoring.scorecard import Scorecard
from scoring.sheets.cells import CellKind, Column, Fact, Table
from scoring.sheets.standings import (
    cost_kind,
    has_bonuses,
    has_seconds,
    made_of_cells,
    made_of_columns,
    say_status,
    total_kind,
)


def total_facts(card: Scorecard, book: Rulebook) -> Iterator[Fact]:
    """What a total is made of, and the total."""
    if card.attempts:
        yield Fact("made", "How the total is made", _taken(card, book))
        yield Fact("total", "Total", card.total, total_kind(book))
        return
    start = book.points.start_of(card.run.givens) if book.result is not Result.TIME else None
    if start is not None:
        yield Fact("start", "Starts from", start, CellKind.POINTS)
    if book.timed or card.official is not None:
        yield from _time_facts(card, book.clock)
    if has_seconds(book):
        made = (("+", "findings.seconds"),)
        yield Fact("seconds", "On the time", card.seconds, CellKind.COST, made)
    if book.points.time is not None:
        yield Fact("time_cost", "For the time", card.time_cost, CellKind.POINTS)
    made = (("+", "findings.cost"),)
    yield Fact("penalty", "Penalties", card.penalty, cost_kind(book), made)
    if has_bonuses(book):
        yield Fact("bonus", "Bonuses", card.bonus, cost_kind(book), (("+", "findings.given"),))
    if book.points.floor is not None:
        yield Fact("floor", "Never less than", book.points.floor, CellKind.POINTS)
    yield Fact("total", "Total", card.total, total_kind(book), _made_of(card, book))


def attempts_table(card: Scorecard, book: Rulebook) -> Table:
    """Each attempt with its total, and whether it counts."""
    columns = (
        Column("attempt", "Attempt", CellKind.COUNT),
        *made_of_columns(book),
        Column("counts", "Counts"),
        Column("remark", "Remark"),
    )
    rows = []
    for number, attempt in enumerate(card.attempts, start=1):
        cells = {
            "attempt": number,
            **made_of_cells(attempt.card),
            "counts": "yes" if attempt.counts else "no",
            "remark": say_status(attempt.card),
        }
        rows.append(tuple(cells[column.key] for column in columns))
    return Table("attempts", "Attempts", columns, tuple(rows), f"The total: {_taken(card, book)}.")


def _made_of(card: Scorecard, book: Rulebook) -> tuple[tuple[str, str], ...]:
    """What the total is a plain sum of; nothing where there is none, or a floor holds it up."""
    if card.total is None or book.points.floor is not None:
        return ()
    bonus = (("-", "bonus"),) if has_bonuses(book) else ()
    if book.unit is Unit.SECONDS:
        return ("+", "official"), ("+", "penalty"), *bonus
    for_time = (("+", "time_cost"),) if book.points.time is not None else ()
    costs = (("+", "penalty"), *for_time, *bonus)
    if book.points.best is Best.LEAST:
        return ("+", "start"), *costs
    other = {"+": "-", "-": "+"}
    return ("+", "start"), *((other[sign], key) for sign, key in costs)


def _taken(card: Scorecard, book: Rulebook) -> str:
    """What was made of the attempts, in words."""
    attempts = book.attempts
    if attempts.count == 1:
        return "the run that was given again stands for the earlier one"
    said = attempts.say(book.unit)
    if len(card.attempts) > attempts.count:
        said += ", the latest"
    return said


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
