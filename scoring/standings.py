"""Scorecards → places, with shared places, ordered tie-breaks and the statuses below.

Places are standard competition ranks: two at 1 are followed by 3.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from scoring.entries import Status
from scoring.findings import State
from scoring.ids import TeamId
from scoring.rulebook import Rulebook
from scoring.rulebook.model import TieBreak
from scoring.scorecard import Scorecard


@dataclass(frozen=True, slots=True)
class Entrant:
    """Who made a run: the team, and the division it is ranked in."""

    team: TeamId
    name: str
    division: str = ""


@dataclass(frozen=True, slots=True)
class Standing:
    """One row. `place` is None where there is no total; then the scorecard says why.

    `division_place` is the place among the same division. `tied` tells that the place is shared.
    `broken_by` names the tie-break that parted this row from one with the same total.
    """

    entrant: Entrant
    scorecard: Scorecard
    place: int | None
    division_place: int | None
    tied: bool
    broken_by: str


_BELOW: Final = tuple(Status)


def rank(results: Iterable[tuple[Entrant, Scorecard]], book: Rulebook) -> tuple[Standing, ...]:
    """Rows from first to last: places, then statuses in order, then what has no result yet."""
    rows = sorted(
        results, key=lambda row: (_below(row[1]), _key(row[1], book), row[0].name, row[0].team)
    )
    keys = [_key(card, book) if card.total is not None else None for _, card in rows]
    overall = _places(keys)
    in_division: dict[TeamId, int | None] = {}
    for division in {entrant.division for entrant, _ in rows}:
        members = [n for n, (entrant, _) in enumerate(rows) if entrant.division == division]
        for n, place in zip(members, _places([keys[n] for n in members]), strict=True):
            in_division[rows[n][0].team] = place
    return tuple(
        Standing(
            entrant=entrant,
            scorecard=card,
            place=place,
            division_place=in_division[entrant.team],
            tied=place is not None and overall.count(place) > 1,
            broken_by=_broken_by(keys, n, book),
        )
        for n, ((entrant, card), place) in enumerate(zip(rows, overall, strict=True))
    )


def _below(card: Scorecard) -> int:
    """0 for a result with a total, then each status, then a run without a result."""
    if card.total is not None:
        return 0
    return 1 + _BELOW.index(card.status) if card.status is not None else 1 + len(_BELOW)


def _key(card: Scorecard, book: Rulebook) -> tuple[int, ...]:
    """What decides the place: the total, then each tie-break in turn; less is better."""
    if card.total is None:
        return ()
    return (card.total, *(_tie(card, tie) for tie in book.ties))


def _tie(card: Scorecard, tie: TieBreak) -> int:
    if tie.less == "time":
        return card.official.time if card.official is not None else 0
    if tie.less == "penalties":
        return card.penalty
    counting = [finding for finding in card.findings if finding.state is State.COUNTS]
    if tie.fewer == "findings":
        return len(counting)
    return sum(
        tie.fewer in {finding.category.id, finding.category.severity} for finding in counting
    )


def _places(keys: list[tuple[int, ...] | None]) -> list[int | None]:
    """Standard competition ranks of keys that are already in order."""
    places: list[int | None] = []
    for n, key in enumerate(keys):
        same = n > 0 and key == keys[n - 1]
        places.append(None if key is None else places[n - 1] if same else n + 1)
    return places


def _broken_by(keys: list[tuple[int, ...] | None], n: int, book: Rulebook) -> str:
    """The tie-break that parts a row from a neighbour with the same total."""
    mine = keys[n]
    for other in (keys[m] for m in (n - 1, n + 1) if 0 <= m < len(keys)):
        if mine and other and mine[0] == other[0] and mine != other:
            first = next(
                m for m, (one, two) in enumerate(zip(mine, other, strict=True)) if one != two
            )
            tie = book.ties[first - 1]
            return f"fewer {tie.fewer}" if tie.fewer else f"less {tie.less}"
    return ""
