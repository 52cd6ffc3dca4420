"""A rulebook as it is written: which keys there are and what each may hold."""

from collections.abc import Mapping
from enum import StrEnum
from functools import cache
from typing import Any, Final

from marshmallow import ValidationError, fields, post_load, validates_schema

from scoring.clock import ClockSchema
from scoring.dates import DateForm
from scoring.fields import (
    Duration,
    Name,
    Named,
    OneOf,
    Section,
    Several,
    Text,
    Whole,
    Written,
    YesNo,
    listed,
    nearest,
)
from scoring.kinds import KINDS
from scoring.kinds.base import GivenValue
from scoring.kinds.valued import UnitField
from scoring.penalties import CategorySchema, Costs
from scoring.results import AssessmentSchema, AttemptsSchema, PointsSchema, Result
from scoring.rulebook.model import TieBreak


class AnyRule(fields.Field[Any]):
    """A rule of any kind: the key that names it says which; deserialises to a `Rule`."""

    def _deserialize(self, value: Any, *_: Any, **__: Any) -> Any:
        if not isinstance(value, dict):
            raise ValidationError("Write a rule here: a mapping that begins with its kind and id.")
        kinds = [key for key in value if key in KINDS]
        if len(kinds) != 1:
            found = "two kinds at once" if kinds else "no kind"
            raise ValidationError(
                f"This rule names {found}; exactly one key of {listed(list(KINDS))} is wanted."
                + (
                    ""
                    if kinds
                    else next(filter(None, (nearest(key, list(KINDS)) for key in value)), "")
                )
            )
        return _schema(kinds[0]).load(value)


@cache
def _schema(kind: str) -> Written:
    """The schema of a kind; making one takes longer than reading a rule with it."""
    return KINDS[kind].schema()


class PostSchema(Written):
    """A post."""

    title = Text(required=True)
    watches = Whole(1, 9)


class CrewSchema(Written):
    """The crew."""

    size = Whole(1, 30)
    roles = Named(Text())


class TaskSchema(Written):
    """A task: its rules in the order of the work, and what they share unless they say otherwise."""

    id = Name(required=True, data_key="task")
    title = Text(required=True)
    posts = Several(Name(), distinct=True, data_key="post")
    costs = Costs()
    in_order = YesNo(data_key="in-order", load_default=False)
    rules = Several(AnyRule(), required=True)


class Better(StrEnum):
    """Which attempts decide."""

    ATTEMPT = "attempt"
    ATTEMPTS = "attempts"


class Places(StrEnum):
    """Among whom places are given."""

    ALL = "all"
    DIVISION = "division"


class TieSchema(Written):
    """One step of the tie-break."""

    fewer = Name()
    more = Name()
    less = Name()
    better = OneOf(Better)

    @validates_schema(skip_on_field_errors=True)
    def _says_one_thing(self, data: Mapping[str, Any], **_: Any) -> None:
        if len(data) != 1:
            raise ValidationError(
                "A tie-break says exactly one of 'fewer', 'more', 'less' and 'better'."
            )
        if "less" in data and data["less"] not in LESS:
            raise ValidationError(
                f"'{data['less']}' cannot be less; allowed are {listed(LESS)}.", "less"
            )

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> TieBreak:
        return TieBreak(**data)


class Unseen(StrEnum):
    """What becomes of a requirement that nobody saw."""

    GOOD = "good"
    MISSING = "missing"


class GivenSchema(Written):
    """What is drawn for a run or known of its bay."""

    choices = Several(Text(longest=80), distinct=True)
    unit = UnitField(data_key="number")
    date = OneOf(DateForm)

    @validates_schema(skip_on_field_errors=True)
    def _says_one_thing(self, data: Mapping[str, Any], **_: Any) -> None:
        if len(data) != 1:
            said = " and ".join("number" if key == "unit" else key for key in data)
            raise ValidationError(
                "A given says exactly one of 'choices', 'number' and 'date'; "
                f"this one says {said or 'none of them'}."
            )

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> GivenValue:
        return GivenValue(**data)


TIME_AND_COSTS: Final = "time-and-costs"
LESS: Final = ("time", TIME_AND_COSTS, "penalties")


class OrderSchema(Written):
    """How order is judged unless a rule says otherwise."""

    tolerance = Duration()
    costs = Costs()


class RulebookSchema(Written):
    """The whole file."""

    id = Name(required=True, data_key="rulebook")
    title = Text(required=True, longest=200)
    edition = Whole(1, 9_999, required=True)
    language = Name(load_default="en")
    result = OneOf(Result, load_default=Result.TIME)
    cautions = Several(Text(), required=True)
    crew = Section(CrewSchema)
    posts = Named(PostSchema, required=True)
    penalties = Named(CategorySchema, required=True)
    clock = Section(ClockSchema)
    order = Section(OrderSchema)
    tasks = Several(Section(TaskSchema), load_default=())
    rules = Several(AnyRule(), load_default=())
    points = Section(PointsSchema)
    assessment = Section(AssessmentSchema)
    attempts = Section(AttemptsSchema)
    ties = Several(Section(TieSchema))
    places = OneOf(Places)
    givens = Named(GivenSchema, load_default=dict)
    unseen = OneOf(Unseen, load_default=Unseen.GOOD)
