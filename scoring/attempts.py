"""Several runs of one team → one result, as the rulebook says."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from scoring.durations import round_to
from scoring.entries import Competence, Status
from scoring.results import Result, Take
from scoring.rulebook import Rulebook
from scoring.scorecard import Attempt, Scorecard, Stage


def combine(cards: Sequence[Scorecard], book: Rulebook) -> Scorecard:
    """The result of a team's runs, given in order of turn; one run is its own result.

    Where there are more runs than attempts allowed, the latest count: a further run is one that
    was given again. An attempt still to come is waited for, unless the best or the last is taken.
    """
    if len(cards) <= 1 and book.attempts.count == 1:
        return cards[0] if cards else Scorecard()
    allowed = range(max(0, len(cards) - book.attempts.count), len(cards))
    made = _Made(cards, allowed, book)
    match book.attempts.take:
        case Take.BEST:
            return made.of_one(made.best())
        case Take.LAST:
            return made.of_one(made.last())
        case Take.MIDDLE:
            return made.middle()
        case Take.SUM | Take.MEAN:
            return made.together()


@dataclass(frozen=True, slots=True)
class _Made:
    """What is made of the `allowed` runs among all `cards`."""

    cards: Sequence[Scorecard]
    allowed: Sequence[int]
    book: Rulebook

    def order(self, number: int) -> tuple[int, int, int]:
        """What puts attempts in order from best to worst; the earlier of equals is better."""
        card, total = self.cards[number], self.total(number)
        if self.book.result is Result.ASSESSMENT and card.assessed is not None:
            not_yet = card.assessed.outcome is Competence.NOT_YET
            return int(not_yet), self._signed(card.total or 0), number
        if total is None:
            # Who has an attempt to come has not failed yet.
            rank = 0 if card.status is None else 1 + _STATUSES.index(card.status)
            return 2, rank, number
        return 0, self._signed(total), number

    def _signed(self, total: int) -> int:
        return total if self.book.least_wins else -total

    def total(self, number: int) -> int | None:
        """What an attempt counts as; None where it has no result, or failed and counts as none."""
        card = self.cards[number]
        return card.total if card.status is None else self.book.attempts.failed

    def best(self) -> int | None:
        return min(self.allowed, key=self.order, default=None)

    def last(self) -> int | None:
        """The latest attempt that has begun, or that was given up."""
        begun = [
            number
            for number in self.allowed
            if self.cards[number].stage is not Stage.WAITING
            or self.cards[number].status is not None
        ]
        return begun[-1] if begun else None

    def middle(self) -> Scorecard:
        if self.waited_for:
            return self.unfinished()
        ordered = sorted(self.allowed, key=self.order)
        return self.of_one(ordered[len(ordered) // 2])

    @property
    def waited_for(self) -> bool:
        """Whether an attempt that the result needs is still to come or has no result yet."""
        missing = len(self.allowed) < self.book.attempts.count
        return missing or any(
            self.total(number) is None and self.cards[number].status is None
            for number in self.allowed
        )

    def of_one(self, number: int | None) -> Scorecard:
        """The result of one of the attempts."""
        if number is None:
            return self.unfinished()
        card = self.cards[number]
        failed = self.book.attempts.failed
        if card.status is not None and failed is not None:
            card = replace(card, status=None, why="", total=failed)
        return replace(card, attempts=self.all_of_them({number}))

    def unfinished(self) -> Scorecard:
        """No result yet; the stage is that of the latest attempt."""
        stage = self.cards[self.allowed[-1]].stage if self.allowed else Stage.WAITING
        return Scorecard(stage=stage, attempts=self.all_of_them(set(self.allowed)))

    def together(self) -> Scorecard:
        """What the attempts come to that are left when the best and the worst are dropped."""
        if self.waited_for:
            return self.unfinished()
        attempts = self.book.attempts
        ordered = sorted(self.allowed, key=self.order)
        left = ordered[attempts.drop_best : len(ordered) - attempts.drop_worst]
        totals = [self.total(number) for number in left]
        counted = [self.cards[number] for number in left]
        failed = next((card for card in counted if card.status is not None), None)
        known = [total for total in totals if total is not None]
        result = Scorecard(
            stage=min((card.stage for card in counted), key=_PROGRESS.index),
            findings=tuple(finding for card in counted for finding in card.findings),
            penalty=sum(card.penalty for card in counted),
            bonus=sum(card.bonus for card in counted),
            seconds=sum(card.seconds for card in counted),
            time_cost=sum(card.time_cost for card in counted),
            attempts=self.all_of_them(set(left)),
        )
        if len(known) < len(totals) and failed is not None:
            return replace(result, status=failed.status, why=failed.why)
        return replace(result, total=self._sum_or_mean(known))

    def _sum_or_mean(self, totals: list[int]) -> int:
        attempts = self.book.attempts
        if attempts.take is Take.SUM:
            return sum(totals)
        timed = self.book.result is Result.TIME
        step = attempts.step or (self.book.clock.step if timed else 1)
        return round_to(Fraction(sum(totals), len(totals)), step, attempts.rounding)

    def all_of_them(self, counting: set[int]) -> tuple[Attempt, ...]:
        return tuple(Attempt(card, n in counting) for n, card in enumerate(self.cards))


_STATUSES: Final = tuple(Status)
_PROGRESS: Final = tuple(Stage)
