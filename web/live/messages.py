"""Every message a screen may send, the schema of what it carries, and the one shape of answers.

An answer is `{"ok": true, "reply": {…}}` or `{"ok": false, "error": {"code": …, "says": …}}`.
Unknown messages are answered too.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from marshmallow import Schema, ValidationError, fields, validate

from web.errors import AppError, BadMessageError
from web.live import handlers
from web.live.handlers import Desk
from web.services.access import Actor
from web.values import Standing

_MOST_ENTRIES: Final = 200
_LATEST: Final = 2**53


class Empty(Schema):
    """A message that carries nothing."""


class Time(Schema):
    """`sent`: the tablet's clock when it sent this, in milliseconds."""

    sent = fields.Float(required=True)


class Follow(Schema):
    """`run` and the number `since` which entries are wanted."""

    run = fields.String(required=True, validate=validate.Length(1, 64))
    since = fields.Integer(strict=True, load_default=0, validate=validate.Range(0, _LATEST))


class OneRun(Schema):
    """`run`: the run that is meant."""

    run = fields.String(required=True, validate=validate.Length(1, 64))


class Observe(Schema):
    """`entries`: at most 200 entries, in the form `scoring.encode` gives them."""

    entries = fields.List(
        fields.Dict(keys=fields.String()), required=True, validate=validate.Length(1, _MOST_ENTRIES)
    )


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


def answer(desk: Desk, actor: Callable[[], Actor], name: str, data: object) -> dict[str, Any]:
    """The answer to a message, whatever it is."""
    try:
        message = MESSAGES.get(name)
        if message is None:
            raise BadMessageError(f"There is no message '{name[:40]}'.", "unknown_message")
        try:
            said = message.schema.load(data if data is not None else {})  # type: ignore[arg-type] # the schema says if it is no mapping
        except ValidationError as error:
            raise BadMessageError(f"'{name}' is not of its shape: {_sentence(error)}") from error
        return {"ok": True, "reply": message.handle(desk, actor(), **said)}
    except AppError as error:
        return {"ok": False, "error": error.shape()}


def _sentence(error: ValidationError) -> str:
    messages = error.messages if isinstance(error.messages, dict) else {"_schema": error.messages}
    return "; ".join(f"{str(key)[:40]}: {said}"[:200] for key, said in list(messages.items())[:5])
