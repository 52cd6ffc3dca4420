"""A rulebook as the engine knows it: frozen values, every reference known to lead somewhere."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Final

from scoring.clock import Clock
from scoring.ids import CategoryId, PostId, RoleId, RuleId, TaskId
from scoring.kinds.base import GivenValue, Rule, Terms
from scoring.penalties import Category, Unit
from scoring.results import Assessment, Attempts, Best, Points, Result


@dataclass(frozen=True, slots=True)
class Post:
    """What one judge watches. `watches` is how many watches are read there."""

    id: PostId
    title: str
    watches: int = 0


@dataclass(frozen=True, slots=True)
class Task:
    """A part of the procedure, with its rules in the order written."""

    id: TaskId
    title: str
    rules: tuple[RuleId, ...]


@dataclass(frozen=True, slots=True)
class Crew:
    """Who competes: how many, and what each role does."""

    size: int = 1
    roles: Mapping[RoleId, str] = field(default_factory=dict)


#: What may stand beside the names of categories and severities in `fewer`, and in `more`.
FINDINGS: Final = "findings"
BONUSES: Final = "bonuses"


@dataclass(frozen=True, slots=True)
class TieBreak:
    """One step of breaking a tie, of which one is said.

    Fewer failures or more bonuses (all, or of a category or severity), less time or cost, or
    better attempts.
    """

    fewer: str = ""
    more: str = ""
    less: str = ""
    better: str = ""

    def __str__(self) -> str:
        said = {"fewer": self.fewer, "more": self.more, "less": self.less, "better": self.better}
        return next(f"{key} {word}" for key, word in said.items() if word)


@dataclass(frozen=True)
class Rulebook:
    """The rules of an event. `hash` is the SHA-256 of the file's bytes, in hex."""

    id: str
    title: str
    edition: int
    language: str
    unit: Unit
    cautions: tuple[str, ...]
    crew: Crew
    posts: Mapping[PostId, Post]
    categories: Mapping[CategoryId, Category]
    clock: Clock
    tasks: tuple[Task, ...]
    rules: Mapping[RuleId, Rule]
    result: Result
    points: Points
    assessment: Assessment
    attempts: Attempts
    #: Whether a result needs an official time.
    timed: bool
    ties: tuple[TieBreak, ...]
    #: Whether places are given within each division only.
    apart: bool
    givens: Mapping[str, GivenValue]
    #: Whether what nobody saw counts against the crew.
    unseen_fails: bool
    tolerance: int
    order_costs: CategoryId | None
    hash: str

    @property
    def least_wins(self) -> bool:
        """Whether the least total is first."""
        return self.result is Result.TIME or self.points.best is Best.LEAST

    @cached_property
    def terms(self) -> Terms:
        """What the rules may ask of the rulebook."""
        return Terms(
            rules=self.rules,
            categories=self.categories,
            tolerance=self.tolerance,
            order_costs=self.order_costs,
            tasks={task.id: task.rules for task in self.tasks},
            unseen_fails=self.unseen_fails,
            givens=self.givens,
        )

    def watched_by(self, post: PostId) -> tuple[Rule, ...]:
        """The rules a post watches, in the order of the rulebook."""
        return tuple(rule for rule in self.rules.values() if post in rule.posts)
