"""A conduct rule: what must hold always, during a task, or from one rule until another."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, ClassVar, Final

from marshmallow import ValidationError, validates_schema

from scoring.entries import Breach, Entry, Observation
from scoring.fields import Duration, Name, OneOf, Several, Text
from scoring.fold import Run
from scoring.ids import RuleId
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


class ConductSchema(RuleSchema):
    """A conduct rule as it is written."""

    id = Name(required=True, data_key="conduct")
    text = Text(required=True)
    during = Several(Name(), distinct=True)
    since = Name(data_key="from")
    until = Name()
    charged = OneOf(Charged, data_key="charge")
    window = Duration()

    @validates_schema(skip_on_field_errors=True)
    def _holds_at_one_time(self, data: Mapping[str, Any], **_: Any) -> None:
        if "during" in data and ("since" in data or "until" in data):
            raise ValidationError("Give 'during', or 'from' and 'until', not both.", "during")


@dataclass(frozen=True, slots=True, kw_only=True)
class Conduct(Rule):
    """A rule that is broken, not done: the judge marks each breach.

    Marks by different judges within `window` milliseconds saw one breach; one judge's two marks
    are two. `during`, or `since` and `until`, tell the judge when it holds; neither means always.
    """

    kind: ClassVar[str] = "conduct"
    schema: ClassVar[type[RuleSchema]] = ConductSchema

    since: RuleId | None = None
    until: RuleId | None = None
    charged: Charged = Charged.BREACH
    window: int = _WINDOW

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
        """A breach."""
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
        breaches = _same_moments(run.seen.get(self.id, ()), self.window)
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
                doubts=(Doubt.UNCORROBORATED,) if watching > len(judges) == 1 else (),
            )


def _whom(seen: list[Entry]) -> str:
    names = [entry.what.whom for entry in seen if isinstance(entry.what, Breach)]
    return next((name for name in names if name), "")


def _same_moments(marks: tuple[Entry, ...], window: int) -> list[list[Entry]]:
    """Marks of different judges close together, as one breach each, in order of time."""
    breaches: list[list[Entry]] = []
    near: list[list[Entry]] = []
    for entry in (mark for mark in marks if isinstance(mark.what, Breach)):
        near = [breach for breach in near if entry.at - breach[0].at <= window]
        for breach in near:
            same = {_whom([other]) for other in (*breach, entry)} - {""}
            if entry.by not in {other.by for other in breach} and len(same) <= 1:
                breach.append(entry)
                break
        else:
            near.append([entry])
            breaches.append(near[-1])
    return breaches


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
