"""A meet file: several events, and how overall standings are made of them."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from itertools import pairwise
from typing import Any, Final

from marshmallow import ValidationError, fields, post_load, validates_schema

from scoring.entries import Status
from scoring.errors import MeetError, RulebookError
from scoring.fields import (
    MISSING,
    Amount,
    Name,
    Named,
    OneOf,
    Section,
    Several,
    Text,
    Whole,
    Written,
    amount,
    listed,
    nearest,
)
from scoring.kinds.base import Path
from scoring.results import Result
from scoring.rulebook import Rulebook
from scoring.rulebook.checks import Complaint
from scoring.rulebook.reader import FileKind, read_file

_ONE: Final = 1_000
_MOST_EVENTS: Final = 100
_LONGEST_TABLE: Final = 500
_BEYOND: Final = re.compile(r"(entries|starters|finishers)\s*\+\s*(\d{1,3})", re.ASCII)
_UNRANKED: Final = "unranked"


class By(StrEnum):
    """What overall standings are summed of."""

    PLACES = "places"
    POINTS = "points"
    SCORES = "scores"


class Shared(StrEnum):
    """What a shared place counts as."""

    PLACE = "place"
    MEAN = "mean"


class OverallTie(StrEnum):
    """What parts equal sums."""

    FIRSTS = "most-firsts"
    BEST = "best-scores"
    LATEST = "latest-scores"


class Number(StrEnum):
    """Whose number a missing result's place comes after."""

    ENTRIES = "entries"
    STARTERS = "starters"
    FINISHERS = "finishers"


@dataclass(frozen=True, slots=True)
class Missing:
    """What an event without a result counts as: a place after a number of teams, or an amount.

    With neither, who has such an event among those that count has no overall place.
    """

    after: Number | None = None
    plus: int = 0
    amount: int | None = None


@dataclass(frozen=True, slots=True)
class Overall:
    """How the results of events make overall standings. Amounts in thousandths of a point."""

    by: By
    missing: Missing
    by_status: Mapping[Status, Missing] = field(default_factory=dict)
    table: tuple[int, ...] = ()
    shared: Shared = Shared.PLACE
    full: int = 100 * _ONE
    drop: int = 0
    ties: tuple[OverallTie, ...] = ()

    @property
    def least_wins(self) -> bool:
        """Whether the least sum is first."""
        return self.by is By.PLACES

    def counts_as(self, status: Status | None) -> Missing:
        """What a result that is missing for a reason counts as."""
        return self.by_status.get(status, self.missing) if status is not None else self.missing


@dataclass(frozen=True, slots=True)
class MeetEvent:
    """An event of a meet. `weight` is in thousandths: twice as much is 2000."""

    id: str
    title: str
    file: str
    rulebook: Rulebook
    weight: int = _ONE


@dataclass(frozen=True, slots=True)
class Meet:
    """A meet. Its events are in the order in which they are held; `hash` as in a rulebook."""

    id: str
    title: str
    edition: int
    events: Mapping[str, MeetEvent]
    overall: Overall
    hash: str


def read_meet(content: bytes, rulebooks: Mapping[str, Rulebook], file: str = "meet") -> Meet:
    """The meet that the bytes of a YAML file say; `rulebooks` are those it may name, by file.

    Raises `MeetError` with every problem, each at its line and column.
    """

    def build(data: Mapping[str, Any], digest: str) -> tuple[Meet | None, list[Complaint]]:
        wrong = [Complaint(path, says) for path, says in _complaints(data, rulebooks)]
        return (None, wrong) if wrong else (_meet(data, rulebooks, digest), [])

    kind = FileKind(MeetSchema, build, "a meet begins with 'meet: its-id'")
    try:
        return read_file(content, file, kind)
    except RulebookError as error:
        raise MeetError(error.file, error.problems) from error


def _meet(data: Mapping[str, Any], rulebooks: Mapping[str, Rulebook], digest: str) -> Meet:
    events = {
        name: MeetEvent(
            name,
            event.get("title", rulebooks[event["file"]].title),
            event["file"],
            rulebooks[event["file"]],
            event["weight"],
        )
        for name, event in data["events"].items()
    }
    return Meet(data["id"], data["title"], data["edition"], events, data["overall"], digest)


def _complaints(
    data: Mapping[str, Any], rulebooks: Mapping[str, Rulebook]
) -> Iterator[tuple[Path, str]]:
    events, overall = data["events"], data["overall"]
    if not events:
        yield ("events",), "There is no event in this meet."
    for name, event in events.items():
        path: Path = ("events", name, "rulebook")
        known = rulebooks.get(event["file"])
        if known is None:
            names = sorted(rulebooks)
            near = nearest(event["file"], names)
            yield (
                path,
                f"There is no rulebook '{event['file'][:60]}'; there are {listed(names)}.{near}",
            )
        elif known.result is Result.ASSESSMENT:
            yield path, f"'{event['file'][:60]}' is an assessment; nobody has a place in it."
    if events and overall.drop >= len(events):
        yield (
            ("overall", "drop"),
            f"Of {len(events)} events at most {len(events) - 1} can be dropped.",
        )


class _Missing(fields.Field[Any]):
    """What a missing result counts as; deserialises to `Missing`."""

    default_error_messages = MISSING

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        text = Text().deserialize(value, attr, data, **kwargs)
        if text == _UNRANKED:
            return Missing()
        if beyond := _BEYOND.fullmatch(text):
            return Missing(Number(beyond[1]), int(beyond[2]))
        try:
            return Missing(amount=amount(text))
        except ValidationError as error:
            raise ValidationError(
                f"'{text[:60]}' is not allowed here; write points, {_UNRANKED}, or a place such as "
                "'entries + 1', 'starters + 1' or 'finishers + 1'."
            ) from error


class MissingSchema(Written):
    """What missing results count as, by the reason."""

    otherwise = _Missing(required=True)
    did_not_finish = _Missing(data_key="did-not-finish")
    did_not_start = _Missing(data_key="did-not-start")
    disqualified = _Missing(data_key="disqualified")


_STATUSES: Final = {
    "did_not_finish": Status.DID_NOT_FINISH,
    "did_not_start": Status.DID_NOT_START,
    "disqualified": Status.DISQUALIFIED,
}


class _MissingBy(_Missing):
    """One thing for all that is missing, or by the reason; deserialises to both."""

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        if not isinstance(value, dict):
            return super()._deserialize(value, attr, data, **kwargs), {}
        said = MissingSchema().load(value)
        return said["otherwise"], {
            status: said[key] for key, status in _STATUSES.items() if key in said
        }


class MeetEventSchema(Written):
    """An event of a meet as it is written."""

    file = Text(required=True, longest=200, data_key="rulebook")
    title = Text(longest=200)
    weight = Amount(least=1, load_default=_ONE)


class OverallSchema(Written):
    """The overall section as it is written."""

    by = OneOf(By, required=True)
    table = Several(Amount())
    shared = OneOf(Shared)
    full = Amount(least=1)
    drop = Whole(1, _MOST_EVENTS)
    missing = _MissingBy(required=True)
    ties = Several(OneOf(OverallTie), distinct=True)

    @validates_schema(skip_on_field_errors=True)
    def _fits_together(self, data: Mapping[str, Any], **_: Any) -> None:
        by = data["by"]
        if by is By.POINTS and "table" not in data:
            raise ValidationError("By points, 'table' says what each place gives.")
        for key, others in (("table", {By.POINTS}), ("full", {By.SCORES})):
            if key in data and by not in others:
                raise ValidationError(f"This has a meaning only by {min(others)}.", key)
        if by is By.SCORES and "shared" in data:
            raise ValidationError("Scores need no places, so none is shared.", "shared")
        table = data.get("table", ())
        if len(table) > _LONGEST_TABLE:
            raise ValidationError(f"At most {_LONGEST_TABLE} places.", "table")
        if any(later > earlier for earlier, later in pairwise(table)):
            raise ValidationError("A later place gives no more than an earlier one.", "table")
        otherwise, by_status = data["missing"]
        missing = (otherwise, *by_status.values())
        if by is By.PLACES and any(each.amount is not None for each in missing):
            raise ValidationError(
                f"By places a missing result is a place, such as 'entries + 1', or {_UNRANKED}.",
                "missing",
            )
        if by is By.SCORES and any(each.after is not None for each in missing):
            raise ValidationError(f"Scores know no places; write points or {_UNRANKED}.", "missing")

    @post_load
    def _make(self, data: dict[str, Any], **_: Any) -> Overall:
        otherwise, by_status = data.pop("missing")
        return Overall(missing=otherwise, by_status=by_status, **data)


class MeetSchema(Written):
    """The whole file."""

    id = Name(required=True, data_key="meet")
    title = Text(required=True, longest=200)
    edition = Whole(1, 9_999, required=True)
    events = Named(MeetEventSchema, required=True)
    overall = Section(OverallSchema, required=True)
