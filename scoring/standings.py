"""Scorecards → places, with shared places, ordered tie-breaks and the statuses below.

Places are standard competition ranks: two at 1 are followed by 3.
"""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import pairwise
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
    shared = Counter(overall)
    divisions: dict[str, list[int]] = {}
    for n, (entrant, _) in enumerate(rows):
        divisions.setdefault(entrant.division, []).append(n)
    in_division = {
        n: place
        for members in divisions.values()
        for n, place in zip(members, _places([keys[n] for n in members]), strict=True)
    }
    broken = _broken(keys, book)
    return tuple(
        Standing(
            entrant=entrant,
            scorecard=card,
            place=overall[n],
            division_place=in_division[n],
            tied=overall[n] is not None and shared[overall[n]] > 1,
            broken_by=broken.get(keys[n], ""),
        )
        for n, (entrant, card) in enumerate(rows)
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


def _broken(
    keys: list[tuple[int, ...] | None], book: Rulebook
) -> Mapping[tuple[int, ...] | None, str]:
    """For each key with the total of another, the tie-break that parts it from the next best."""
    broken: dict[tuple[int, ...] | None, str] = {}
    for better, worse in pairwise(key for key in dict.fromkeys(keys) if key is not None):
        if better[0] == worse[0]:
            tie = book.ties[_first_difference(better, worse) - 1]
            says = f"fewer {tie.fewer}" if tie.fewer else f"less {tie.less}"
            broken.setdefault(better, says)
            broken[worse] = says
    return broken


def _first_difference(one: tuple[int, ...], other: tuple[int, ...]) -> int:
    return next(n for n, (mine, its) in enumerate(zip(one, other, strict=True)) if mine != its)
