"""Penalty sheets and standings of what is posted, as tables; the same for pages and files."""

from scoring import Rulebook, Table, TeamSheet, standings_table, team_sheet
from scoring import Standing as Place
from web.errors import NotFoundError
from web.services.access import Action, Actor
from web.services.ports import Directory
from web.services.runs import Runs
from web.values import Posting


class Sheets:
    """What a posting says of each crew, scored from the record as it stood when it was posted."""

    def __init__(self, runs: Runs, directory: Directory) -> None:
        self._runs = runs
        self._directory = directory

    def own(self, actor: Actor) -> TeamSheet:
        """A captain's own sheet; `NotFoundError` while nothing is posted."""
        actor.must(Action.SEE_OWN_SHEET)
        posting = self.latest(actor.event)
        field = self.places(posting)
        for place in field:
            if place.entrant.team == actor.team:
                return self.sheet(posting, place, field)
        raise NotFoundError("Your team has no run at this event.")

    def latest(self, event: str) -> Posting:
        """What is posted now; `NotFoundError` while nothing is: nobody sees a result before."""
        posting = self._directory.latest_posting(event)
        if posting is None:
            raise NotFoundError("Sheets come once standings have been posted.", "not_posted")
        return posting

    def places(self, posting: Posting) -> tuple[Place, ...]:
        """The standings that were posted."""
        return self._runs.standings(posting.event, upto=posting.head_seq)

    def sheet(self, posting: Posting, place: Place, field: tuple[Place, ...]) -> TeamSheet:
        """The penalty sheet of one team."""
        names = {person.id: person.name for person in self._runs.people.values()}
        return team_sheet(place, field, self.book(posting), names, _name(posting))

    def rulebook(self, actor: Actor) -> Rulebook:
        """The rulebook of one's event, to be read aloud and printed."""
        actor.must(Action.SEE_PAPER)
        return self._runs.book(actor.event)

    def book(self, posting: Posting) -> Rulebook:
        """The rulebook that the posting's event pinned."""
        return self._runs.book(posting.event)

    def standings(self, posting: Posting) -> Table:
        """The standings as a table."""
        return standings_table(self.places(posting), self.book(posting), _name(posting))


def _name(posting: Posting) -> str:
    """A posting in words."""
    return f"{posting.number}, {posting.standing}"
