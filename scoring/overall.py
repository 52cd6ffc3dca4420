"""Standings of several events → overall standings, as a meet file says.

Every figure is a whole number of thousandths, rounded half up once, so that what is shown adds up.
"""

from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from scoring.durations import Rounding, round_to
from scoring.entries import Status
from scoring.ids import TeamId
from scoring.meets import By, Meet, MeetEvent, Missing, Number, Overall, OverallTie, Shared
from scoring.places import Key, parted_by, places
from scoring.standings import Entrant, Standing

_ONE: Final = 1_000


@dataclass(frozen=True, slots=True)
class EventScore:
    """What a team has of one event, in thousandths of a point, weight included.

    `place` is its place there. `score` is None where the event counts for nothing and leaves the
    team without an overall place; `why` says what stands in the place of a result.
    """

    event: str
    place: int | None
    score: int | None
    why: str = ""
    dropped: bool = False


@dataclass(frozen=True, slots=True)
class OverallStanding:
    """One row of overall standings; `total` in thousandths of a point, None without a place."""

    entrant: Entrant
    scores: tuple[EventScore, ...]
    total: int | None
    place: int | None
    division_place: int | None
    tied: bool
    broken_by: str


def overall(meet: Meet, standings: Mapping[str, Sequence[Standing]]) -> tuple[OverallStanding, ...]:
    """Rows from first to last, then who has no overall place.

    `standings` are those of the events held so far; an event that is not there is left out for
    everybody. Nobody loses the last event that counts to dropping.
    """
    held = [event for name, event in meet.events.items() if name in standings]
    entrants = _entrants(standings[event.id] for event in held)
    tables = [_event(event, standings[event.id], meet.overall, entrants) for event in held]
    rows = []
    for entrant in entrants.values():
        scores = _dropped([table[entrant.team] for table in tables], meet.overall)
        rows.append((_key(scores, meet.overall), entrant, scores))
    rows.sort(key=lambda row: (row[0] is None, row[0] or (), row[1].name, row[1].team))
    return tuple(_standings(rows, meet.overall))


_Row = tuple[Key | None, Entrant, tuple[EventScore, ...]]


def _standings(rows: list[_Row], rules: Overall) -> Iterator[OverallStanding]:
    keys = [key for key, _, _ in rows]
    found = places(keys)
    shared = Counter(found)
    broken = parted_by(keys, [tie.replace("-", " ") for tie in rules.ties])
    in_division: dict[int, int | None] = {}
    for division in {entrant.division for _, entrant, _ in rows}:
        members = [n for n, (_, entrant, _) in enumerate(rows) if entrant.division == division]
        in_division |= zip(members, places([keys[n] for n in members]), strict=True)
    for n, (key, entrant, scores) in enumerate(rows):
        yield OverallStanding(
            entrant=entrant,
            scores=scores,
            total=None if key is None else sum(_counted(scores)),
            place=found[n],
            division_place=in_division[n],
            tied=key is not None and shared[found[n]] > 1,
            broken_by=broken.get(key, ""),
        )


def _entrants(standings: Iterator[Sequence[Standing]]) -> dict[TeamId, Entrant]:
    """Everybody who stands in any event, as first written down."""
    entrants: dict[TeamId, Entrant] = {}
    for rows in standings:
        for row in rows:
            entrants.setdefault(row.entrant.team, row.entrant)
    return entrants


def _event(
    event: MeetEvent, rows: Sequence[Standing], rules: Overall, teams: Collection[TeamId]
) -> Mapping[TeamId, EventScore]:
    """What each of the teams has of an event; who was not there too."""
    numbers = {
        Number.ENTRIES: len(teams),
        Number.STARTERS: sum(row.scorecard.status is not Status.DID_NOT_START for row in rows),
        Number.FINISHERS: sum(row.place is not None for row in rows),
    }

    def missing(what: Missing) -> int | None:
        if what.amount is not None:
            return _weighted(what.amount, event)
        if what.after is None:
            return None
        return _weighted(_worth(numbers[what.after] + what.plus, rules), event)

    apart = event.rulebook.apart
    groups = [(row.entrant.division if apart else "", row.place) for row in rows]
    sharing = Counter(groups)
    best: dict[str, int] = {}
    for (group, place), row in zip(groups, rows, strict=True):
        if place is not None and row.scorecard.total is not None:
            best.setdefault(group, row.scorecard.total)
    absent = EventScore(event.id, None, missing(rules.missing), "not entered")
    scores = dict.fromkeys(teams, absent)
    for (group, place), row in zip(groups, rows, strict=True):
        card, score, why = row.scorecard, missing(rules.counts_as(row.scorecard.status)), ""
        if place is None or card.total is None:
            why = str(card.status) if card.status is not None else "no result"
        elif rules.by is By.SCORES:
            score = _normalised(card.total, best[group], event, rules)
        else:
            together = sharing[group, place] if rules.shared is Shared.MEAN else 1
            worth = sum(_worth(n, rules) for n in range(place, place + together))
            score = _weighted(Fraction(worth, together), event)
        scores[row.entrant.team] = EventScore(event.id, place, score, why)
    return scores


def _worth(place: int, rules: Overall) -> int:
    """What a place counts as; nothing beyond the end of the table."""
    if rules.by is By.PLACES:
        return place * _ONE
    return rules.table[place - 1] if place <= len(rules.table) else 0


def _weighted(points: Fraction | int, event: MeetEvent) -> int:
    return round_to(Fraction(points) * Fraction(event.weight, _ONE), 1, Rounding.HALF_UP)


def _normalised(total: int, best: int, event: MeetEvent, rules: Overall) -> int:
    """The full score for the best, and as much of it for others as their total is of the best's."""
    ratio = Fraction(0)
    if total == best:
        ratio = Fraction(1)
    elif event.rulebook.least_wins and best > 0:
        ratio = Fraction(best, total)
    elif not event.rulebook.least_wins and best > 0:
        ratio = max(Fraction(0), Fraction(total, best))
    return _weighted(ratio * rules.full, event)


def _dropped(scores: list[EventScore], rules: Overall) -> tuple[EventScore, ...]:
    """The scores with the worst marked as dropped, the earliest of equals first."""
    worst = sorted(range(len(scores)), key=lambda n: _signed(scores[n], rules), reverse=True)
    dropped = set(worst[: max(0, min(rules.drop, len(scores) - 1))])
    return tuple(
        replace(score, dropped=True) if n in dropped else score for n, score in enumerate(scores)
    )


def _signed(score: EventScore, rules: Overall) -> tuple[int, int]:
    """A score as something that is better the less it is; none is worst."""
    if score.score is None:
        return 1, 0
    return 0, score.score if rules.least_wins else -score.score


def _counted(scores: Sequence[EventScore]) -> list[int]:
    return [each.score for each in scores if not each.dropped and each.score is not None]


def _key(scores: tuple[EventScore, ...], rules: Overall) -> Key | None:
    """What decides the place; None where an event that counts leaves no place."""
    left = [each for each in scores if not each.dropped]
    if any(each.score is None for each in left):
        return None
    total = sum(_counted(scores))
    return (
        (total if rules.least_wins else -total,),
        *(_tie(tie, scores, left, rules) for tie in rules.ties),
    )


def _tie(
    tie: OverallTie, scores: tuple[EventScore, ...], left: list[EventScore], rules: Overall
) -> tuple[int, ...]:
    match tie:
        case OverallTie.FIRSTS:
            return (-sum(each.place == 1 for each in left),)
        case OverallTie.BEST:
            ordered = sorted(_signed(each, rules) for each in left)
        case OverallTie.LATEST:
            ordered = [_signed(each, rules) for each in reversed(scores)]
    return tuple(part for signed in ordered for part in signed)
