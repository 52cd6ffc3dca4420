"""Published tables and rulebooks, and the runs that stand for their rows."""

import csv
import json
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from scoring import (
    Entrant,
    Entry,
    Rulebook,
    Scorecard,
    Status,
    TeamId,
    parse_duration,
    rank,
    read_rulebook,
    score,
)
from tests.scoring.builders import ended, started, stopped, watch

HERE = Path(__file__).parent


def table(name: str) -> list[dict[str, str]]:
    """The rows of a published table."""
    with (HERE / name).open(encoding="utf-8", newline="") as text:
        return list(csv.DictReader(text))


def vectors(name: str) -> Any:
    """The published values of a JSON file."""
    return json.loads((HERE / name).read_text(encoding="utf-8"))


def rulebook(name: str) -> Rulebook:
    """A rulebook of published rules."""
    file = HERE / "rulebooks" / f"{name}.yaml"
    return read_rulebook(file.read_bytes(), file.name)


def seconds(written: str) -> int:
    """Milliseconds of seconds as the tables write them: `10.11`."""
    return parse_duration(f"{written} s")


def finished(book: Rulebook, *readings: int, seen: Iterable[Entry] = ()) -> Scorecard:
    """The scorecard of a run whose watches showed `readings` ms, with what judges saw."""
    watches = [watch(number, elapsed) for number, elapsed in enumerate(readings, 1)]
    return score([started(), stopped(), *watches, *seen], book)


def stayed_away(book: Rulebook) -> Scorecard:
    """The scorecard of who did not start."""
    return score([ended(Status.DID_NOT_START)], book)


def places(cards: Mapping[str, Scorecard], book: Rulebook) -> dict[str, int | None]:
    """Each entrant's place."""
    entrants = [(Entrant(TeamId(name), name), card) for name, card in cards.items()]
    return {row.entrant.team: row.place for row in rank(entrants, book)}


def disagreements(
    cards: Mapping[str, Scorecard], published: Mapping[str, int | None]
) -> dict[str, tuple[int | None, int | None]]:
    """Where a published total is not the engine's: the published one, and ours."""
    return {
        name: (published[name], card.total)
        for name, card in cards.items()
        if published[name] != card.total
    }
