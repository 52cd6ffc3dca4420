"""What several judges marked: which marks tell of one moment, and who saw it."""

from collections import deque
from collections.abc import Iterable, Sequence
from typing import Final

from scoring.entries import Breach, Entry
from scoring.ids import PersonId

#: Two judges' marks within this time, in milliseconds, saw one thing, unless a rule says otherwise.
WINDOW: Final = 10_000


def whom(seen: Iterable[Entry]) -> str:
    """The person that marks name, where one does."""
    names = (entry.what.whom for entry in seen if isinstance(entry.what, Breach))
    return next((name for name in names if name), "")


def judges(seen: Iterable[Entry]) -> set[PersonId]:
    """Who made the marks."""
    return {entry.by for entry in seen}


def is_same_moment(seen: Sequence[Entry], entry: Entry, window: int = WINDOW) -> bool:
    """Whether another judge's entry, no earlier than these, may tell of what they tell of."""
    return entry.at - seen[0].at <= window and entry.by not in judges(seen)


def same_moments(marks: Sequence[Entry], window: int = WINDOW) -> list[list[Entry]]:
    """Breaches marked by different judges close together, as one each, in order of time."""
    breaches: list[list[Entry]] = []
    near: deque[list[Entry]] = deque()
    for entry in (mark for mark in marks if isinstance(mark.what, Breach)):
        while near and entry.at - near[0][0].at > window:
            near.popleft()
        for breach in near:
            if is_same_moment(breach, entry, window) and _alike(breach, [entry]):
                breach.append(entry)
                break
        else:
            near.append([entry])
            breaches.append(near[-1])
    return breaches


def _alike(some: list[Entry], others: list[Entry]) -> bool:
    """Whether marks may be on one person, as far as their judges could tell."""
    one, other = whom(some), whom(others)
    return one == other or not (one and other)
