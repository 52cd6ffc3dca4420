"""The runs of every event as they stand: the record of each, and its scorecard when asked for.

A run's entries are kept as they are stored; its scorecard is made when somebody asks and kept until
the run gets another entry. So an entry costs one run, however many there are, and what is live is
always what a fresh read of the log would give.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from scoring import (
    Entrant,
    EntryId,
    PersonId,
    Rulebook,
    RunId,
    Scorecard,
    Standing,
    TeamId,
    rank,
    read_rulebook,
    score,
)
from web.errors import ForbiddenError, NotFoundError
from web.services.access import Actor, may_see
from web.services.ports import Directory, Log
from web.values import Event, Person, RunPlan, Stored, Team


@dataclass(slots=True)
class _Record:
    """One run's entries by id, in order of arrival, and what was last made of them."""

    stored: dict[EntryId, Stored] = field(default_factory=dict)
    reached: int = 0
    card: Scorecard | None = None


class Runs:
    """Every event's runs. Only one process writes; `took` tells it what was stored."""

    def __init__(self, log: Log, directory: Directory) -> None:
        self._log = log
        self._directory = directory
        self._records: dict[RunId, _Record] = {}
        self._books: dict[str, Rulebook] = {}
        #: The number and hash of the last entry that is known here; 0 and zeros before the first.
        self.head: tuple[int, str] = (0, "0" * 64)
        self.load()

    def load(self) -> None:
        """Read events, teams, people and run plans, and the record, afresh."""
        self.events: Mapping[str, Event] = {each.id: each for each in self._directory.events()}
        self.teams: Mapping[TeamId, Team] = {each.id: each for each in self._directory.teams()}
        self.people: Mapping[PersonId, Person] = {
            each.id: each for each in self._directory.people()
        }
        self.plans: Mapping[RunId, RunPlan] = {
            plan.id: plan for event in self.events for plan in self._directory.plans(event)
        }
        self._records = {run: _Record() for run in self.plans}
        self.took(self._log.since())

    def took(self, stored: Iterable[Stored]) -> None:
        """Keep what was stored; what is already known changes nothing."""
        for each in stored:
            self.head = max(self.head, (each.seq, each.hash))
            record = self._records.get(each.entry.run)
            if record is not None and each.entry.id not in record.stored:
                record.stored[each.entry.id] = each
                record.reached = max(record.reached, each.seq)
                record.card = None

    def book(self, event: str) -> Rulebook:
        """The rulebook that the event pinned when it opened."""
        if event not in self._books:
            self._books[event] = read_rulebook(self.events[event].rulebook, event)
        return self._books[event]

    def plan(self, run: str, actor: Actor) -> RunPlan:
        """A run of the actor's own event."""
        plan = self.plans.get(RunId(run))
        if plan is None:
            raise NotFoundError(f"There is no run '{run[:64]}'.")
        if plan.event != actor.event:
            raise ForbiddenError(f"The run '{plan.id}' belongs to another event.")
        return plan

    def of_event(self, event: str) -> list[RunPlan]:
        """The runs of an event, in the order of the day."""
        return [plan for plan in self.plans.values() if plan.event == event]

    def reached(self, run: RunId) -> int:
        """The number of the last entry on a run's record."""
        return self._records[run].reached

    def entry(self, run: RunId, entry: EntryId) -> Stored | None:
        """One entry of a run's record."""
        return self._records[run].stored.get(entry)

    def record(self, run: RunId, actor: Actor, since: int = 0) -> list[Stored]:
        """A run's entries after a number, as far as the actor may see them, in order."""
        return [
            each
            for each in self._records[run].stored.values()
            if each.seq > since and may_see(actor, each.entry)
        ]

    def card(self, run: RunId) -> Scorecard:
        """The scorecard of a run as its record stands."""
        record = self._records[run]
        if record.card is None:
            book = self.book(self.plans[run].event)
            record.card = score((each.entry for each in record.stored.values()), book)
        return record.card

    def standings(self, event: str, upto: int | None = None) -> tuple[Standing, ...]:
        """An event's standings as they are, or as the log stood at number `upto`."""
        book = self.book(event)
        results = []
        for plan in self.of_event(event):
            team = self.teams[plan.team]
            card = self.card(plan.id) if upto is None else self._card_at(plan, upto)
            results.append((Entrant(team.id, team.name, team.division), card))
        return rank(results, book)

    def rescored(self, event: str, book: Rulebook) -> tuple[Standing, ...]:
        """An event's standings as they would be under another rulebook."""
        results = []
        for plan in self.of_event(event):
            team = self.teams[plan.team]
            entries = (each.entry for each in self._records[plan.id].stored.values())
            entrant = Entrant(team.id, team.name, team.division)
            results.append((entrant, score(entries, book)))
        return rank(results, book)

    def _card_at(self, plan: RunPlan, upto: int) -> Scorecard:
        record = self._records[plan.id]
        if record.reached <= upto:
            return self.card(plan.id)
        entries = (each.entry for each in record.stored.values() if each.seq <= upto)
        return score(entries, self.book(plan.event))
