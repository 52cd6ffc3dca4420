"""Entries to keep, with defaults for what a test does not care about."""

from scoring import Entry, EntryId, Mark, Outcome, PersonId, PostId, RuleId, RunId


def mark(
    number: int, run: str = "run-1", *, outcome: Outcome = Outcome.GOOD, item: str = ""
) -> Entry:
    """A judge's mark whose id and time follow from its number."""
    return Entry(
        id=EntryId(f"entry-{number:06}"),
        run=RunId(run),
        by=PersonId("judge-1"),
        post=PostId("cliff-top"),
        at=1_700_000_000_000 + number,
        off_by=12,
        what=Mark(RuleId("anchor.checked"), outcome, item),
    )


def marks(first: int, last: int, run: str = "run-1") -> list[Entry]:
    """The marks of these numbers, both included."""
    return [mark(number, run) for number in range(first, last + 1)]
