"""The one door between entries and mappings: stored rows, tablets' messages, exports.

A mapping carries `shape`, the number of the form it was written in, so that an old row and a
tablet that was last updated in spring are still understood. A new shape adds its own upcast here.
"""

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any, Final

from marshmallow import Schema, ValidationError, fields, validate, validates_schema

from scoring.durations import LONGEST
from scoring.entries import (
    Addition,
    Breach,
    CloseOut,
    Competence,
    Count,
    Decision,
    Entry,
    Given,
    Mark,
    Measured,
    Moment,
    Moved,
    Outcome,
    Ruling,
    Signal,
    SignalName,
    Signature,
    Status,
    StatusRuling,
    TimeBack,
    Value,
    WatchReading,
    What,
    Withdrawal,
)
from scoring.errors import EntryError
from scoring.fields import UNREADABLE, readable
from scoring.ids import EntryId, PersonId, PostId, RunId

SHAPE: Final = 1
_NO_MAPPING: Final = {"type": "An entry is a mapping, nothing else."}

#: Text a person typed on a tablet: a reason, a remark.
_LONGEST_TEXT: Final = 500
#: The last millisecond of the year 9999: beyond it a time is no time of a contest.
_LAST_MOMENT: Final = 253_402_300_799_999
#: A clock further out than a day is no clock.
_WIDEST: Final = 86_400_000
_MOST: Final = 10_000
#: More than a person reads.
_MOST_COMPLAINTS: Final = 12


def _name(*, required: bool = True, **more: Any) -> fields.String:
    return fields.String(required=required, validate=[validate.Length(1, 64), readable], **more)


def _text(*, least: int = 0, **more: Any) -> fields.String:
    return fields.String(validate=[validate.Length(least, _LONGEST_TEXT), readable], **more)


def _whole(least: int, most: int, **more: Any) -> fields.Integer:
    return fields.Integer(strict=True, validate=validate.Range(least, most), **more)


def _yes_or_no() -> fields.Boolean:
    return fields.Boolean(truthy={True}, falsy={False}, load_default=True)


def _reason() -> fields.String:
    return _text(least=1, required=True)


class _WhatSchema(Schema):
    """The fields that one kind of entry adds to the common ones."""


class _MarkSchema(_WhatSchema):
    rule = _name()
    outcome = fields.Enum(Outcome, by_value=True, required=True)
    item = _text(load_default="")
    timed = _yes_or_no()


class _BreachSchema(_WhatSchema):
    rule = _name()
    whom = _text(load_default="")


class _CountSchema(_WhatSchema):
    rule = _name()
    count = _whole(0, _MOST, required=True)


class _MovedSchema(_WhatSchema):
    rule = _name()
    moment = fields.Enum(Moment, by_value=True, required=True)
    item = _text(load_default="")


class _MeasuredSchema(_WhatSchema):
    rule = _name()
    amount = _whole(0, LONGEST, required=True)
    item = _text(load_default="")


class _ValueSchema(_WhatSchema):
    rule = _name()
    value = _text(required=True)
    item = _text(load_default="")
    legible = _yes_or_no()


class _GivenSchema(_WhatSchema):
    name = _name()
    value = _text(least=1, required=True)


class _SignalSchema(_WhatSchema):
    signal = fields.Enum(SignalName, by_value=True, required=True)
    reason = _text(load_default="")


class _WatchReadingSchema(_WhatSchema):
    watch = _whole(0, 9, required=True)
    elapsed = _whole(1, LONGEST, required=True)


class _CloseOutSchema(_WhatSchema):
    pass


class _WithdrawalSchema(_WhatSchema):
    entry = _name()
    reason = _text(load_default="")


class _RulingSchema(_WhatSchema):
    finding = _text(least=1, required=True)
    decision = fields.Enum(Decision, by_value=True, required=True)
    reason = _reason()
    cost = _whole(-LONGEST, LONGEST, load_default=None, allow_none=True)
    stands_on = fields.List(_name(), load_default=(), validate=validate.Length(max=_MOST))

    @validates_schema(skip_on_field_errors=True)
    def _changes_to_something(self, data: Mapping[str, Any], **_: Any) -> None:
        if (data["decision"] is Decision.CHANGE) is (data["cost"] is None):
            raise ValidationError("A change gives the new cost, and nothing else does.", "cost")


class _AdditionSchema(_WhatSchema):
    rule = _name()
    count = _whole(1, _MOST, load_default=1)
    reason = _reason()


class _TimeBackSchema(_WhatSchema):
    time = _whole(-LONGEST, LONGEST, required=True)
    reason = _reason()


class _StatusRulingSchema(_WhatSchema):
    status = fields.Enum(Status, by_value=True, required=True, allow_none=True)
    reason = _reason()


class _SignatureSchema(_WhatSchema):
    outcome = fields.Enum(Competence, by_value=True, required=True)
    remark = _text(load_default="")


#: The name each kind of entry goes by outside, its class and the schema of its own fields.
_KINDS: Final[dict[str, tuple[type[What], _WhatSchema]]] = {
    "mark": (Mark, _MarkSchema()),
    "breach": (Breach, _BreachSchema()),
    "count": (Count, _CountSchema()),
    "moved": (Moved, _MovedSchema()),
    "measured": (Measured, _MeasuredSchema()),
    "value": (Value, _ValueSchema()),
    "given": (Given, _GivenSchema()),
    "signal": (Signal, _SignalSchema()),
    "watch": (WatchReading, _WatchReadingSchema()),
    "close-out": (CloseOut, _CloseOutSchema()),
    "withdrawal": (Withdrawal, _WithdrawalSchema()),
    "ruling": (Ruling, _RulingSchema()),
    "addition": (Addition, _AdditionSchema()),
    "time-back": (TimeBack, _TimeBackSchema()),
    "status": (StatusRuling, _StatusRulingSchema()),
    "signature": (Signature, _SignatureSchema()),
}
_NAMES: Final = {made: name for name, (made, _) in _KINDS.items()}


class _EntrySchema(Schema):
    """What every entry says, whatever its kind."""

    error_messages = _NO_MAPPING

    shape = fields.Integer(required=True, strict=True, validate=validate.Equal(SHAPE))
    kind = fields.String(required=True, validate=validate.OneOf(list(_KINDS)))
    id = _name()
    run = _name()
    by = _name()
    post = _name(required=False, load_default=None, allow_none=True)
    at = _whole(0, _LAST_MOMENT, required=True)
    off_by = _whole(0, _WIDEST, load_default=0)
    what = fields.Dict(required=True)


_ENTRY: Final = _EntrySchema()


def kind_of(what: What) -> str:
    """The name this kind of entry goes by in mappings, messages and tables."""
    return _NAMES[type(what)]


def encode(entry: Entry) -> dict[str, Any]:
    """An entry as a mapping of plain values, fit for canonical JSON."""
    what = {
        key: list(value) if isinstance(value, tuple) else value
        for key, value in asdict(entry.what).items()
    }
    return {
        "shape": SHAPE,
        "kind": kind_of(entry.what),
        "id": entry.id,
        "run": entry.run,
        "by": entry.by,
        "post": entry.post,
        "at": entry.at,
        "off_by": entry.off_by,
        "what": what,
    }


def decode(mapping: Mapping[str, Any]) -> Entry:
    """The entry that a mapping says, or an `EntryError` naming each field and what it allows."""
    try:
        common = _ENTRY.load(mapping)
    except ValidationError as error:
        raise EntryError(_sentence(error)) from error
    made, schema = _KINDS[common["kind"]]
    try:
        said = schema.load(common["what"])
    except ValidationError as error:
        raise EntryError(_sentence(error, "what.")) from error
    if "stands_on" in said:
        said["stands_on"] = tuple(said["stands_on"])
    return Entry(
        id=EntryId(common["id"]),
        run=RunId(common["run"]),
        by=PersonId(common["by"]),
        post=None if common["post"] is None else PostId(common["post"]),
        at=common["at"],
        off_by=common["off_by"],
        what=made(**said),
    )


def _sentence(error: ValidationError, under: str = "") -> str:
    """Every complaint in one line, or the first of very many: `what.count: Must be …; at: …`."""
    complaints = _complaints(error.messages, under)
    more = len(complaints) - _MOST_COMPLAINTS
    said = "; ".join(complaints[:_MOST_COMPLAINTS]) + (f"; and {more} more" if more > 0 else "")
    return UNREADABLE.sub("?", said)


def _complaints(messages: object, path: str) -> list[str]:
    if isinstance(messages, Mapping):
        return [
            line
            for key, below in messages.items()
            for line in _complaints(below, f"{path}{str(key)[:40]}." if key != "_schema" else path)
        ]
    said = (
        " ".join(str(message) for message in messages) if isinstance(messages, list) else messages
    )
    return [f"{path.rstrip('.') or 'entry'}: {said}"]
