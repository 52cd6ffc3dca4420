"""A rulebook as the engine knows it: frozen values, every reference known to lead somewhere."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from scoring.clock import Clock
from scoring.ids import CategoryId, PostId, RoleId, RuleId, TaskId
from scoring.kinds.base import Rule, Terms
from scoring.penalties import Category, Unit


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


@dataclass(frozen=True, slots=True)
class GivenValue:
    """What is drawn for each run, or known of its bay: one of `choices`, or a number in `unit`."""

    choices: tuple[str, ...] = ()
    unit: str = ""


@dataclass(frozen=True, slots=True)
class TieBreak:
    """One step of breaking a tie: fewer findings (or of a category or severity), or less time."""

    fewer: str = ""
    less: str = ""


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
    ties: tuple[TieBreak, ...]
    givens: Mapping[str, GivenValue]
    #: Whether what nobody saw counts against the crew.
    unseen_fails: bool
    tolerance: int
    order_costs: CategoryId | None
    hash: str

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
        )

    def watched_by(self, post: PostId) -> tuple[Rule, ...]:
        """The rules a post watches, in the order of the rulebook."""
        return tuple(rule for rule in self.rules.values() if post in rule.posts)
