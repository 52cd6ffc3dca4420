"""A conduct rule: what must hold always, during a task, or from one rule until another."""

from collections import deque
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, ClassVar, Final

from marshmallow import ValidationError, validates_schema

from scoring.entries import Breach, Entry, Moment, Moved, Observation
from scoring.fields import Duration, Name, OneOf, Several, Text
from scoring.fold import Run
from scoring.ids import RuleId, TaskId
from scoring.kinds.base import (
    Control,
    Doubt,
    Failure,
    Fault,
    Rule,
    RuleSchema,
    Terms,
    enough,
    failure_id,
)


class Charged(StrEnum):
    """What makes one finding of a conduct rule."""

    BREACH = "breach"
    PERSON = "person"
    ONCE = "once"


#: Two judges' marks within this time saw one breach, unless the rule says otherwise.
_WINDOW: Final = 10_000
#: What `during` may name beside tasks.
WALKTHROUGH: Final = TaskId("walkthrough")
RUN: Final = TaskId("run")
AFTER_STOP: Final = TaskId("after-stop")
PHASES: Final = (WALKTHROUGH, RUN, AFTER_STOP)


class ConductSchema(RuleSchema):
    """A conduct rule as it is written."""

    id = Name(required=True, data_key="conduct")
    text = Text(required=True)
    during = Several(Name(), distinct=True)
    since = Name(data_key="from")
    until = Name()
    charged = OneOf(Charged, data_key="charge")
    window = Duration()
    latch = Text(longest=200)

    @validates_schema(skip_on_field_errors=True)
    def _holds_at_one_time(self, data: Mapping[str, Any], **_: Any) -> None:
        if "during" in data and ("since" in data or "until" in data):
            raise ValidationError("Give 'during', or 'from' and 'until', not both.", "during")


@dataclass(frozen=True, slots=True, kw_only=True)
class Conduct(Rule):
    """A rule that is broken, not done: the judge marks each breach.

    Marks by different judges within `window` milliseconds saw one breach; one judge's two marks
    are two. `during`, or `since` and `until`, tell the judge when it holds; neither means always.
    With a `latch`, no breach costs again until a judge says that what the latch names has happened.
    """

    kind: ClassVar[str] = "conduct"
    schema: ClassVar[type[RuleSchema]] = ConductSchema

    since: RuleId | None = None
    until: RuleId | None = None
    charged: Charged = Charged.BREACH
    window: int = _WINDOW
    latch: str = ""

    @property
    def control(self) -> Control:
        """Two touches from anywhere: breaches, then the rule."""
        return Control.BREACH

    @property
    def asked(self) -> bool:
        """Never: no mark is no breach."""
        return False

    def holds(self) -> str:
        """Always, during tasks, or between two rules."""
        since = f"from {self.since}" if self.since is not None else ""
        until = f"until {self.until}" if self.until is not None else ""
        during = f"during {', '.join(self.during)}" if self.during else ""
        return " ".join(filter(None, (during, since, until))) or "always"

    def takes(self, said: Observation) -> bool:
        """A breach, or that the latch is released."""
        if isinstance(said, Moved):
            return bool(self.latch) and said.moment is Moment.RELEASED
        return isinstance(said, Breach)

    def references(self) -> Iterator[tuple[str, RuleId]]:
        """The rules between which it holds, too."""
        yield from Rule.references(self)
        if self.since is not None:
            yield "from", self.since
        if self.until is not None:
            yield "until", self.until

    def failures(self, run: Run, terms: Terms) -> Iterator[Failure]:
        """One failure for each breach, for each person, or for the whole run."""
        marks = run.seen.get(self.id, ())
        breaches = _same_moments(marks, self.window)
        if self.latch:
            breaches = _latched(breaches, marks)
        for name, seen in _charged(breaches, self.charged):
            judges = {entry.by for entry in seen}
            watching = max(len(self.posts), len(judges))
            yield Failure(
                id=failure_id(self.id, name),
                rule=self.id,
                fault=Fault.BREACH,
                costs=self.costs,
                item=_whom(seen),
                at=seen[0].at,
                stands_on=tuple(entry.id for entry in seen),
                proposed=not enough(len(judges), watching, terms.categories[self.costs].seen_by),
                doubts=(
                    *((Doubt.UNCORROBORATED,) if watching > len(judges) == 1 else ()),
                    *((Doubt.OUTSIDE,) if self._outside(seen[0], run, terms) else ()),
                ),
            )

    def _outside(self, mark: Entry, run: Run, terms: Terms) -> bool:
        """Whether the breach was marked when the rule did not hold, as far as that is known."""
        begun = terms.rules[self.since].begun(run) if self.since is not None else None
        ended = terms.rules[self.until].ended(run) if self.until is not None else None
        if begun is not None and mark.at < begun.at - terms.tolerance - mark.off_by - begun.off_by:
            return True
        if ended is not None and mark.at > ended.at + terms.tolerance + mark.off_by + ended.off_by:
            return True
        phases = [each for each in self.during if each in PHASES]
        return (
            bool(phases) and len(phases) == len(self.during) and phase(run, mark.at) not in phases
        )


def _whom(seen: list[Entry]) -> str:
    names = [entry.what.whom for entry in seen if isinstance(entry.what, Breach)]
    return next((name for name in names if name), "")


def _alike(some: list[Entry], others: list[Entry]) -> bool:
    """Whether marks may be on one person, as far as their judges could tell."""
    one, other = _whom(some), _whom(others)
    return one == other or not (one and other)


def _same_moments(marks: tuple[Entry, ...], window: int) -> list[list[Entry]]:
    """Marks of different judges close together, as one breach each, in order of time."""
    breaches: list[list[Entry]] = []
    near: deque[list[Entry]] = deque()
    for entry in (mark for mark in marks if isinstance(mark.what, Breach)):
        while near and entry.at - near[0][0].at > window:
            near.popleft()
        for breach in near:
            if all(entry.by != other.by for other in breach) and _alike(breach, [entry]):
                breach.append(entry)
                break
        else:
            near.append([entry])
            breaches.append(near[-1])
    return breaches


def _latched(breaches: list[list[Entry]], marks: tuple[Entry, ...]) -> list[list[Entry]]:
    """Breaches with those inside the latch laid to the one that closed it: kept, and free."""
    released = [
        entry
        for entry in marks
        if isinstance(entry.what, Moved) and entry.what.moment is Moment.RELEASED
    ]
    kept: list[list[Entry]] = []
    for breach in breaches:
        shut = kept and not any(kept[-1][0].when < each.when < breach[0].when for each in released)
        if shut:
            kept[-1].extend(breach)
        else:
            kept.append(breach)
    return kept


def phase(run: Run, at: int) -> TaskId | None:
    """The phase of the run a moment lies in, as far as the clock's signals tell."""
    if run.stop is not None and at > run.stop.at:
        return AFTER_STOP
    if run.start is not None and at >= run.start.at:
        return RUN
    if run.walkthrough is not None and at >= run.walkthrough.begin:
        return WALKTHROUGH
    return None


def _charged(breaches: list[list[Entry]], charged: Charged) -> Iterator[tuple[str, list[Entry]]]:
    """The breaches as findings: the lasting part of the name, and the marks."""
    if charged is Charged.BREACH:
        for breach in breaches:
            yield breach[0].id, breach
        return
    groups: dict[str, list[Entry]] = {}
    for breach in breaches:
        person = _whom(breach) if charged is Charged.PERSON else ""
        groups.setdefault(person, []).extend(breach)
    for person, seen in groups.items():
        yield person, seen


ConductSchema.makes = Conduct
