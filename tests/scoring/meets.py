"""Small meets with defaults, and standings by places alone."""

from collections.abc import Mapping, Sequence
from typing import Final

from scoring import Entrant, Meet, Rulebook, Scorecard, Standing, Status, TeamId, read_meet
from tests.scoring.builders import book

_POINTS: Final = "{slip: {points: 10}, grave: {points: 30}}"
RULEBOOKS: Final[Mapping[str, Rulebook]] = {
    "lift.yaml": book(title="The lift"),
    "rescue.yaml": book(result="points", penalties=_POINTS, points="{start: 100}"),
    "skills.yaml": book(result="assessment", penalties=_POINTS, assessment="{must: A1}"),
    "faults.yaml": book(result="points", penalties=_POINTS, points="{best: least}"),
    "halls.yaml": book(places="division"),
}
_SECTIONS: Final = {
    "meet": "two-days",
    "title": "Two days",
    "edition": "1",
    "events": "{lift: {rulebook: lift.yaml}, rescue: {rulebook: rescue.yaml}}",
    "overall": "{by: places, missing: entries + 1}",
}


def meet_text(**sections: str | None) -> str:
    """A whole meet file as its author writes it; a section given as None is left out."""
    whole = {**_SECTIONS, **sections}
    return "".join(f"{key}: {says}\n" for key, says in whole.items() if says is not None)


def meet(**sections: str | None) -> Meet:
    """The meet of `meet_text`."""
    return read_meet(meet_text(**sections).encode(), RULEBOOKS, "trial.yaml")


def series(number: int, overall: str) -> Meet:
    """A meet of some events, `r1`, `r2`, …, under one rulebook."""
    events = ", ".join(f"r{n}: {{rulebook: lift.yaml}}" for n in range(1, number + 1))
    return meet(events=f"{{{events}}}", overall=overall)


def placed(places: Mapping[str, int | None]) -> tuple[Standing, ...]:
    """Standings in which each team has a place; None: it did not finish."""
    return standings({team: place and 1_000 * place for team, place in places.items()}, places)


def standings(
    totals: Mapping[str, int | None],
    places: Mapping[str, int | None],
    statuses: Mapping[str, Status | None] | None = None,
    divisions: Mapping[str, str] | None = None,
) -> tuple[Standing, ...]:
    """Standings by totals and places, in order of place."""
    rows = []
    for team, total in totals.items():
        status = (statuses or {}).get(team, Status.DID_NOT_FINISH if total is None else None)
        card = Scorecard(total=total, status=status, why="as ruled" if status else "")
        entrant = Entrant(TeamId(team), team.upper(), (divisions or {}).get(team, ""))
        rows.append(Standing(entrant, card, places[team], places[team], tied=False, broken_by=""))
    return tuple(sorted(rows, key=lambda row: (row.place is None, row.place or 0)))


def races(scores: Mapping[str, Sequence[int]]) -> dict[str, tuple[Standing, ...]]:
    """The standings of each race, from each team's places race by race."""
    number = len(next(iter(scores.values())))
    return {
        f"r{n + 1}": placed({team: each[n] for team, each in scores.items()}) for n in range(number)
    }
