"""One change between two editions of a rulebook, and what it is about."""

from dataclasses import dataclass
from enum import StrEnum


class Matter(StrEnum):
    """What a change is about, in the order a crew reads them."""

    NEW_MEANING = "an id with a new meaning"
    ADDED = "added"
    DROPPED = "dropped"
    COST = "cost"
    WORDS = "words"
    WORK = "the work"
    JUDGING = "judging"
    CLOCK = "the clock"
    OTHER = "other"


@dataclass(frozen=True, slots=True)
class Change:
    """One difference: what it is about, the rule or category, the sentence."""

    matter: Matter
    about: str
    says: str
