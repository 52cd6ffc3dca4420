"""Scorecards → places, with shared places, ordered tie-breaks and the statuses below."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from scoring.attempts import combine
from scoring.entries import Status
from scoring.findings import Finding, State
from scoring.ids import TeamId
from scoring.places import Key, parted_by
from scoring.places import places as places_of
from scoring.results import Result
from scoring.rulebook import Rulebook
from scoring.rulebook.model import BONUSES, FINDINGS, TieBreak
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

    Nobody has a place in an assessment. `division_place` is the place among the same division;
    where places are given by division, `place` is the same. `tied` tells that the place is shared.
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
    """Rows from first to last: places, then statuses in order, then what has no result yet.

    Several results of one team are its attempts, in order of turn, and make one row. Where places
    are given by division the rows are in order of divisions first; those of an assessment are in
    order of names.
    """
    if book.result is Result.ASSESSMENT:
        return _assessed(_one_each(results, book))
    rows = sorted(
        _one_each(results, book),
        key=lambda row: (
            row[0].division if book.apart else "",
            _below(row[1]),
            _key(row[1], book),
            row[0].name,
            row[0].team,
        ),
    )
    keys = [_key(card, book) if card.total is not None else None for _, card in rows]
    divisions: dict[str, list[int]] = {}
    for n, (entrant, _) in enumerate(rows):
        divisions.setdefault(entrant.division, []).append(n)
    in_division = {
        n: place
        for members in divisions.values()
        for n, place in zip(members, places_of([keys[n] for n in members]), strict=True)
    }
    places = in_division if book.apart else dict(enumerate(places_of(keys)))
    among = {n: entrant.division if book.apart else "" for n, (entrant, _) in enumerate(rows)}
    shared = Counter((among[n], place) for n, place in places.items())
    words = [str(tie) for tie in book.ties]
    broken = {
        group: parted_by([keys[n] for n in among if among[n] == group], words)
        for group in set(among.values())
    }
    return tuple(
        Standing(
            entrant=entrant,
            scorecard=card,
            place=places[n],
            division_place=in_division[n],
            tied=places[n] is not None and shared[among[n], places[n]] > 1,
            broken_by=broken[among[n]].get(keys[n], ""),
        )
        for n, (entrant, card) in enumerate(rows)
    )


def _one_each(
    results: Iterable[tuple[Entrant, Scorecard]], book: Rulebook
) -> list[tuple[Entrant, Scorecard]]:
    """Each team with what its attempts have come to."""
    entrants: dict[TeamId, Entrant] = {}
    cards: dict[TeamId, list[Scorecard]] = {}
    for entrant, card in results:
        entrants.setdefault(entrant.team, entrant)
        cards.setdefault(entrant.team, []).append(card)
    return [(entrant, combine(cards[team], book)) for team, entrant in entrants.items()]


def _assessed(rows: list[tuple[Entrant, Scorecard]]) -> tuple[Standing, ...]:
    ordered = sorted(rows, key=lambda row: (row[0].name, row[0].team))
    return tuple(
        Standing(entrant, card, None, None, tied=False, broken_by="") for entrant, card in ordered
    )


def _below(card: Scorecard) -> int:
    """0 for a result with a total, then each status, then a run without a result."""
    if card.total is not None:
        return 0
    return 1 + _BELOW.index(card.status) if card.status is not None else 1 + len(_BELOW)


def _key(card: Scorecard, book: Rulebook) -> Key:
    """What decides the place: the total, then each tie-break in turn; less is better."""
    if card.total is None:
        return ()
    return (_better(card.total, book), *(_tie(card, tie, book) for tie in book.ties))


def _better(total: int, book: Rulebook) -> tuple[int]:
    return (total if book.least_wins else -total,)


def _tie(card: Scorecard, tie: TieBreak, book: Rulebook) -> tuple[int, ...]:
    if tie.better:
        made = [each.card.total for each in card.attempts if each.card.total is not None]
        ordered = sorted(_better(total, book)[0] for total in made)
        return _then_nothing(ordered[:1] if tie.better == "attempt" else ordered)
    counted = card.counted
    if tie.less == "penalties":
        return (sum(each.penalty for each in counted),)
    if tie.less:
        time = sum(each.official.time for each in counted if each.official is not None)
        return (time if tie.less == "time" else time + _costs_in_time(counted, book),)
    return (_number(tie, [finding for each in counted for finding in each.findings]),)


def _then_nothing(ordered: list[int]) -> tuple[int, ...]:
    """Attempts from best to worst, so that one more of them beats none."""
    return *(part for total in ordered for part in (0, total)), 1


def _costs_in_time(cards: Iterable[Scorecard], book: Rulebook) -> int:
    if book.result is Result.TIME:
        return sum(card.penalty - card.bonus for card in cards)
    return sum(card.seconds for card in cards)


def _number(tie: TieBreak, findings: list[Finding]) -> int:
    """How many findings a tie-break counts: failures, or, less being better, bonuses."""
    counting = [
        finding
        for finding in findings
        if finding.state is State.COUNTS and finding.failure.bonus is bool(tie.more)
    ]
    if tie.fewer == FINDINGS or tie.more == BONUSES:
        return -len(counting) if tie.more else len(counting)
    name = tie.fewer or tie.more
    found = sum(name in {each.category.id, each.category.severity} for each in counting)
    return -found if tie.more else found
