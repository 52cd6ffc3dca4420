"""Every message a screen may send, the schema of what it carries, and the one shape of answers.

An answer is `{"ok": true, "reply": {…}}` or `{"ok": false, "error": {"code": …, "says": …}}`.
Unknown messages are answered too.
"""

import logging
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import Any, Final

from marshmallow import Schema, ValidationError, fields, validate

from web.errors import AppError, BadMessageError
from web.live import handlers
from web.live.handlers import Desk
from web.live.transport import MALFORMED
from web.services.access import Actor
from web.values import Standing

_MOST_ENTRIES: Final = 200
_LATEST: Final = 2**53
#: How much of a name, and how many complaints, an answer repeats.
_SHOWN: Final = 40
_COMPLAINTS: Final = 5
_LOG: Final = logging.getLogger(__name__)


class Empty(Schema):
    """A message that carries nothing."""


class Number(fields.Float):
    """A number, and no text that looks like one."""

    def _validated(self, value: Any) -> float:
        if isinstance(value, str):
            raise self.make_error("invalid", input=value)
        return super()._validated(value)


class Time(Schema):
    """`sent`: the tablet's clock when it sent this, in milliseconds."""

    sent = Number(required=True)


class Follow(Schema):
    """`run` and the number `since` which entries are wanted."""

    run = fields.String(required=True, validate=validate.Length(1, 64))
    since = fields.Integer(strict=True, load_default=0, validate=validate.Range(0, _LATEST))


class OneRun(Schema):
    """`run`: the run that is meant."""

    run = fields.String(required=True, validate=validate.Length(1, 64))


class Mappings(fields.Field[list[Any]]):
    """A list of mappings. What each says is read entry by entry, so that each is answered."""

    def _deserialize(self, value: Any, *_: Any, **__: Any) -> list[Any]:
        if not isinstance(value, list):
            raise ValidationError("Not a valid list.")
        if not 1 <= len(value) <= _MOST_ENTRIES:
            raise ValidationError(f"Length must be between 1 and {_MOST_ENTRIES}.")
        wrong = [n for n, each in enumerate(value) if not isinstance(each, dict)]
        if wrong:
            raise ValidationError({n: ["Not a valid mapping type."] for n in wrong})
        return value


class Observe(Schema):
    """`entries`: at most 200 entries, in the form `scoring.encode` gives them."""

    entries = Mappings(required=True)


class Publish(Schema):
    """`standing`: provisional or official; `reason`: why all the same, where something is open."""

    standing = fields.Enum(Standing, by_value=True, required=True)
    reason = fields.String(load_default="", validate=validate.Length(max=500))


@dataclass(frozen=True, slots=True)
class Message:
    """What a message carries, and what answers it."""

    schema: Schema
    handle: Callable[..., dict[str, Any]]


#: The messages by name. Each handler gets the desk, the actor and the fields of its schema.
MESSAGES: Final[Mapping[str, Message]] = {
    "hello": Message(Empty(), handlers.hello),
    "time": Message(Time(), handlers.time),
    "follow": Message(Follow(), handlers.follow),
    "observe": Message(Observe(), handlers.observe),
    "card": Message(OneRun(), handlers.card),
    "standings": Message(Empty(), handlers.standings),
    "publish": Message(Publish(), handlers.publish),
    "board": Message(Empty(), handlers.board),
}


def answer(desk: Desk, actor: Callable[[], Actor], name: str, *data: object) -> dict[str, Any]:
    """The answer to a message, whatever it is and whatever becomes of it."""
    try:
        handle, said = _read(name, data)
        return {"ok": True, "reply": handle(desk, actor(), **said)}
    except AppError as error:
        return {"ok": False, "error": error.shape()}
    except Exception:  # noqa: BLE001 - a message is answered, whatever it is that fails
        _LOG.exception("the message '%s' could not be answered", name[:_SHOWN])
        failed = AppError("The server failed at this; the mistake is its own. Try again.")
        return {"ok": False, "error": failed.shape()}


def _read(
    name: str, data: Sequence[object]
) -> tuple[Callable[..., dict[str, Any]], Mapping[str, Any]]:
    """What answers a message, and the fields it carries: one mapping, or none for no fields."""
    if name == MALFORMED:
        raise BadMessageError("That was no message: a name and one mapping are wanted.")
    message = MESSAGES.get(name)
    if message is None:
        raise BadMessageError(f"There is no message '{name[:_SHOWN]}'.", "unknown_message")
    if len(data) > 1:
        raise BadMessageError(f"'{name}' carries one mapping; {len(data)} values came.")
    try:
        said: Mapping[str, Any] = message.schema.load(data[0] if data else {})  # type: ignore[arg-type] # the schema says if it is no mapping
    except ValidationError as error:
        complaints = "; ".join(islice(_complaints(error.messages, ""), _COMPLAINTS))
        raise BadMessageError(f"'{name}' is not of its shape. {complaints}") from error
    return message.handle, said


def _complaints(messages: object, path: str) -> Iterator[str]:
    if isinstance(messages, Mapping):
        for key, below in messages.items():
            under = path if key == "_schema" else f"{path}.{key}".lstrip(".")[:_SHOWN]
            yield from _complaints(below, under)
    else:
        says = " ".join(map(str, messages)) if isinstance(messages, list) else str(messages)
        yield f"{path}: {says}" if path else says
