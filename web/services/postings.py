"""Publishing standings: numbered and frozen, provisional first and then official."""

from typing import Any, Final

from scoring import ENGINE, Rulebook, Scorecard
from scoring import Standing as Place
from web.errors import ConflictError
from web.services.access import Action, Actor
from web.services.ports import Announcer, Clock, Directory
from web.services.runs import Runs
from web.values import Posting, Standing

_LONGEST_REASON: Final = 500
#: How many runs a refusal names.
_NAMED: Final = 3


class Postings:
    """The way from live standings to published ones."""

    def __init__(
        self, runs: Runs, directory: Directory, announcer: Announcer, clock: Clock
    ) -> None:
        self._runs = runs
        self._directory = directory
        self._announcer = announcer
        self._clock = clock

    def publish(self, actor: Actor, standing: Standing, reason: str = "") -> Posting:
        """Freeze the standings as they are and tell everyone.

        Official ones follow provisional ones, and wait for everything undecided unless the head
        judge gives a reason. Raises `ForbiddenError` or `ConflictError`.
        """
        actor.must(Action.PUBLISH)
        # What is on the disk but not known here yet is left to the next posting.
        head_seq, head_hash = self._runs.head
        places = self._runs.standings(actor.event)
        if standing is Standing.OFFICIAL:
            self._may_be_official(actor.event, places, reason)
        event = self._runs.events[actor.event]
        posting = self._directory.add_posting(
            event=event.id,
            standing=standing,
            posted_at=self._clock(),
            by=actor.person,
            reason=reason.strip()[:_LONGEST_REASON],
            rulebook_hash=event.hash,
            head_seq=head_seq,
            head_hash=head_hash,
            engine=str(ENGINE),
            content={"rows": [row(place, self._runs.book(event.id)) for place in places]},
        )
        self._announcer.posted(event.id, posting.number)
        return posting

    def latest(self, actor: Actor) -> Posting | None:
        """What is posted now, for everyone at the event."""
        actor.must(Action.SEE_BOARD)
        return self._directory.latest_posting(actor.event)

    def _may_be_official(self, event: str, places: tuple[Place, ...], reason: str) -> None:
        if self._directory.latest_posting(event) is None:
            raise ConflictError("Post provisional standings first, so that crews can dispute them.")
        waiting = [place.entrant.name[:40] for place in places if _is_open(place.scorecard)]
        if waiting and not reason.strip():
            more = f" and {len(waiting) - _NAMED} more" if len(waiting) > _NAMED else ""
            raise ConflictError(
                "Something is open: a finding, a question or the whole run of "
                f"{', '.join(waiting[:_NAMED])}{more}. "
                "Decide it, or give a reason for posting official standings all the same.",
                "undecided",
            )


def _is_open(card: Scorecard) -> bool:
    """Whether a run still waits for a person: something in it, or the very end of an attempt."""
    return (
        bool(card.undecided)
        or (card.total is None and card.status is None)
        or any(_is_open(attempt.card) for attempt in card.attempts)
    )


def row(place: Place, book: Rulebook) -> dict[str, Any]:
    """One row of standings as plain JSON; times in milliseconds, points in thousandths.

    `unit` is that of `penalty`, `bonus`, `total` and the totals of attempts.
    """
    card = place.scorecard
    return {
        "unit": book.unit,
        "place": place.place,
        "division_place": place.division_place,
        "tied": place.tied,
        "broken_by": place.broken_by,
        "team": place.entrant.team,
        "team_name": place.entrant.name,
        "division": place.entrant.division,
        "time": card.official.time if card.official is not None else None,
        "seconds": card.seconds,
        "time_cost": card.time_cost,
        "penalty": card.penalty,
        "bonus": card.bonus,
        "total": card.total,
        "outcome": card.assessed.outcome if card.assessed is not None else None,
        "signed": card.assessed is not None and bool(card.assessed.signed),
        "attempts": [
            {"total": each.card.total, "status": each.card.status, "counts": each.counts}
            for each in card.attempts
        ],
        "stage": card.stage,
        "status": card.status,
        "why": card.why,
        "findings": sum(
            finding.state == "counts" for each in card.counted for finding in each.findings
        ),
        "undecided": card.undecided,
    }
