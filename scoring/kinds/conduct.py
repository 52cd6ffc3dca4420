"""A conduct rule: what must hold always, during a task, or from one rule until another."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, ClassVar, Final, TypeAlias

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
from scoring.kinds.breaches import WINDOW, judges, same_moments, whom


class Charged(StrEnum):
    """What makes one finding of a conduct rule."""

    BREACH = "breach"
    PERSON = "person"
    ONCE = "once"


#: The marks of one moment.
_Breach: TypeAlias = list[Entry]
#: What `during` may name beside tasks.
WALKTHROUGH: Final = TaskId("walkthrough")
RUN: Final = TaskId("run")
AFTER_STOP: Final = TaskId("after-stop")
PHASES: Final = (WALKTHROUGH, RUN, AFTER_STOP)
_IN_WORDS: Final = {
    WALKTHROUGH: "the walkthrough",
    RUN: "the run",
    AFTER_STOP: "the time after the stop",
}


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
    window: int = WINDOW
    latch: str = ""

    @property
    def control(self) -> Control:
        """Two touches from anywhere: breaches, then the rule."""
        return Control.BREACH

    @property
    def asked(self) -> bool:
        """Never: no mark is no breach."""
        return False

    def says(self, terms: Terms) -> Iterator[str]:  # noqa: ARG002 - it needs none
        """What makes one finding of it, and its latch."""
        if self.charged is Charged.PERSON:
            yield "It costs once for each person who breaks it."
        if self.charged is Charged.ONCE:
            yield "It costs once in a run, however often it is broken."
        if self.latch:
            yield f"After a breach no other one costs until a judge has seen this: {self.latch}."

    def holds(self) -> str:
        """Always, during tasks, or between two rules."""
        since = f"from {self.since}" if self.since is not None else ""
        until = f"until {self.until}" if self.until is not None else ""
        named = (_IN_WORDS.get(each, each) for each in self.during)
        during = f"during {', '.join(named)}" if self.during else ""
        return " ".join(filter(None, (during, since, until))) or "always"

    def shown(self) -> Mapping[str, Any]:
        """What must happen after a breach before another one costs."""
        return {"latch": self.latch}

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
        """One failure for each breach, for each person, or for the whole run.

        One of several breaches counts as soon as judges enough have seen one and the same.
        """
        marks = run.seen.get(self.id, ())
        breaches = [[breach] for breach in same_moments(marks, self.window)]
        if self.latch:
            breaches = _latched(breaches, marks)
        seen_by = terms.categories[self.costs].seen_by
        for name, those in _charged(breaches, self.charged):
            seen = [entry for breach in those for entry in breach]
            saw = max(len(judges(breach)) for breach in those)
            watching = max(len(self.posts), saw)
            outside = all(self._outside(breach[0], run, terms) for breach in those)
            yield Failure(
                id=failure_id(self.id, name),
                rule=self.id,
                fault=Fault.BREACH,
                costs=self.costs,
                item=whom(seen),
                at=seen[0].at,
                stands_on=tuple(entry.id for entry in seen),
                proposed=not enough(saw, watching, seen_by),
                doubts=(
                    *((Doubt.UNCORROBORATED,) if watching > saw == 1 else ()),
                    *((Doubt.OUTSIDE,) if outside else ()),
                ),
            )

    def _outside(self, mark: Entry, run: Run, terms: Terms) -> bool:
        """Whether the breach was marked when the rule did not hold, as far as that is known."""
        slack = terms.tolerance + mark.off_by
        begun = terms.rules[self.since].begun(run) if self.since is not None else None
        ended = terms.rules[self.until].ended(run) if self.until is not None else None
        if begun is not None and mark.at < begun.at - slack - begun.off_by:
            return True
        if ended is not None and mark.at > ended.at + slack + ended.off_by:
            return True
        # When a task begins and ends nobody marks; only of the phases that is known.
        return bool(self.during) and not any(
            each not in PHASES or _may_lie_in(each, run, mark.at, slack) for each in self.during
        )


def _may_lie_in(phase: TaskId, run: Run, at: int, slack: int) -> bool:
    """Whether a moment may lie in a phase of the run, by the clock's signals so far."""
    walk, start, stop = run.walkthrough, run.start, run.stop
    begin: int | None = None
    end: int | None = None
    if phase == WALKTHROUGH:
        begin = walk.begin if walk is not None else None
        end = walk.end if walk is not None else None
        if end is None and start is not None:
            end = start.at
    elif phase == RUN:
        begin = start.at if start is not None else None
        end = stop.at if stop is not None else None
    else:
        begin = stop.at if stop is not None else None
    return (begin is None or at >= begin - slack) and (end is None or at <= end + slack)


def _latched(breaches: list[list[_Breach]], marks: Sequence[Entry]) -> list[list[_Breach]]:
    """Breaches with those inside the latch laid to the one that closed it: kept, and free."""
    released = [
        entry.when
        for entry in marks
        if isinstance(entry.what, Moved) and entry.what.moment is Moment.RELEASED
    ]
    kept: list[list[_Breach]] = []
    before = 0
    for [breach] in breaches:
        while before < len(released) and released[before] < breach[0].when:
            before += 1
        if kept and not (before and released[before - 1] > kept[-1][0][0].when):
            kept[-1].append(breach)
        else:
            kept.append([breach])
    return kept


def _charged(
    breaches: list[list[_Breach]], charged: Charged
) -> Iterator[tuple[str, list[_Breach]]]:
    """The breaches as findings: the lasting part of the name, and the breaches."""
    if charged is Charged.BREACH:
        for those in breaches:
            yield those[0][0].id, those
        return
    groups: dict[str, list[_Breach]] = {}
    for those in breaches:
        person = whom(those[0]) if charged is Charged.PERSON else ""
        groups.setdefault(person, []).extend(those)
    yield from groups.items()


ConductSchema.makes = Conduct
