"""What comes from tablets: decoded, allowed, sensible – then stored, then told.

Each entry of a batch is answered for itself. What is stored stays stored whatever becomes of the
others; what is refused says why, and the tablet sets it aside.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from scoring import (
    OBSERVATIONS,
    Addition,
    Entry,
    EntryError,
    EntryId,
    Result,
    Rulebook,
    RunId,
    Signature,
    Withdrawal,
    decode,
)
from web.errors import AppError, BadMessageError, ConflictError, NotFoundError
from web.services.access import Actor, check_entry
from web.services.ports import Announcer, Appender, Clock
from web.services.runs import Runs
from web.values import Clash, Stored

#: How far ahead of the server's clock an entry may claim to be, beside its own uncertainty.
_AHEAD: Final = 60_000
#: How long a tablet may have kept an entry before it is taken for one with a broken clock.
_BEHIND: Final = 30 * 86_400_000


@dataclass(frozen=True, slots=True)
class Answer:
    """What became of one entry: its number, or why it was refused."""

    id: str
    seq: int | None
    error: AppError | None = None


class Intake:
    """The way in for entries."""

    def __init__(self, runs: Runs, log: Appender, announcer: Announcer, clock: Clock) -> None:
        self._runs = runs
        self._log = log
        self._announcer = announcer
        self._clock = clock

    def observe(self, actor: Actor, mappings: Sequence[Mapping[str, Any]]) -> list[Answer]:
        """Take a batch of entries; answers in the same order.

        Raises `StorageError` when the database could not store them: then none was.
        """
        answers: list[Answer | None] = []
        entries: list[Entry] = []
        for mapping in mappings:
            try:
                entry = self._checked(actor, mapping, entries)
                entries.append(entry)
                answers.append(None)
            except AppError as error:
                answers.append(Answer(_id_in(mapping), None, error))
        outcomes = iter(self._log.append(entries) if entries else [])
        stored: list[Stored] = []
        for place, answer in enumerate(answers):
            if answer is None:
                outcome = next(outcomes)
                answers[place] = _answer(outcome)
                if isinstance(outcome, Stored):
                    stored.append(outcome)
        self._tell(stored)
        return [answer for answer in answers if answer is not None]

    def _tell(self, stored: list[Stored]) -> None:
        self._runs.took(stored)
        new = [each.entry for each in stored if not each.repeat]
        moved = {entry.run for entry in new if not isinstance(entry.what, OBSERVATIONS)}
        for run in {entry.run: None for entry in new}:
            event, seq = self._runs.plans[run].event, self._runs.reached(run)
            # What judges observe leaves clock and stage as they are, unless there is no clock.
            may_have_moved = run in moved or not self._runs.book(event).timed
            self._announcer.reached(event, run, seq, moved=may_have_moved)

    def _checked(self, actor: Actor, mapping: Mapping[str, Any], batch: list[Entry]) -> Entry:
        """The entry a mapping says, if the actor may make it and it makes sense.

        A withdrawal may take back what stands before it in the same `batch`.
        """
        try:
            entry = decode(mapping)
        except EntryError as error:
            raise BadMessageError(f"This is no entry: {error}") from error
        plan = self._runs.plan(entry.run, actor)
        book = self._runs.book(plan.event)
        _fits(entry, book)
        target = None
        if isinstance(entry.what, Withdrawal):
            target = self._target(plan.id, entry.what.entry, batch)
            if target is None:
                raise NotFoundError("There is no such entry on this run's record to withdraw.")
        check_entry(actor, entry, book, target)
        now = self._clock()
        if entry.at > now + entry.off_by + _AHEAD:
            raise BadMessageError(
                "This entry claims to be from the future. Check the tablet's clock.",
                "impossible_time",
            )
        if entry.at < now - _BEHIND:
            raise BadMessageError(
                "This entry claims to be more than 30 days old. Check the tablet's clock.",
                "impossible_time",
            )
        return entry

    def _target(self, run: RunId, wanted: EntryId, batch: list[Entry]) -> Entry | None:
        stored = self._runs.entry(run, wanted)
        if stored is not None:
            return stored.entry
        return next((each for each in batch if each.id == wanted and each.run == run), None)


def _id_in(mapping: Mapping[str, Any]) -> str:
    """The id that a refused entry goes by, where it has one."""
    said = mapping.get("id")
    return said[:64] if isinstance(said, str) else ""


def _fits(entry: Entry, book: Rulebook) -> None:
    """Whether the entry names what the rulebook has."""
    what = entry.what
    if isinstance(what, (*OBSERVATIONS, Addition)) and what.rule not in book.rules:
        raise NotFoundError(f"The rulebook has no rule '{what.rule}'.")
    if isinstance(what, OBSERVATIONS) and not book.rules[what.rule].takes(what):
        raise BadMessageError(f"The rule '{what.rule}' is not marked in this way.")
    if isinstance(what, Signature) and book.result is not Result.ASSESSMENT:
        raise BadMessageError("Nothing is signed at this event: it is no assessment.")
    if entry.post is not None and entry.post not in book.posts:
        raise NotFoundError(f"The rulebook has no post '{entry.post}'.")


def _answer(outcome: Stored | Clash) -> Answer:
    if isinstance(outcome, Stored):
        return Answer(outcome.entry.id, outcome.seq)
    return Answer(
        outcome.id,
        None,
        ConflictError("Another entry is already stored under this id.", "id_taken"),
    )
