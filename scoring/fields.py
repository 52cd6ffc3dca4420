"""How the texts of a rulebook become values, and the words that refuse them.

The reader hands every scalar over as the text its author wrote (so `1:30` is no 90 and `NO` no
False); these fields give it its type. Their messages are sentences: what is wrong, what is allowed.
"""

import re
from collections.abc import Mapping
from decimal import Decimal
from difflib import get_close_matches
from enum import StrEnum
from typing import Any, Final, TypeVar

from marshmallow import Schema, ValidationError, fields

from scoring.durations import format_thousandths, parse_duration
from scoring.errors import DurationError
from scoring.ids import NAME, NAME_SAYS

Choice = TypeVar("Choice", bound=StrEnum)

_LONGEST: Final = 2_000
#: Controls but tab and line end, halves of characters, and what is no character.
UNREADABLE: Final = re.compile(r"[\0-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]")
#: What a person still reads as one list.
_LISTED: Final = 24
#: In a path and in what marshmallow says of a mapping: the key itself, not its value.
KEY: Final = None
#: With more unknown keys than this a file is no rulebook, and looking for near names takes long.
_MOST_GUESSES: Final = 50
_DECIMAL: Final = re.compile(r"-?\d{1,9}(?:\.\d{1,3})?", re.ASCII)
_WHOLE: Final = re.compile(r"-?\d{1,9}", re.ASCII)
#: What is said where a value is wanted and none stands.
MISSING: Final[dict[str, Any]] = {"required": "Missing.", "null": "Missing."}
#: What is said of a warning that would come at the limit or before the time begins.
WARNS_IN_TIME: Final = "A warning comes before the limit, by less than its length."
_MAPPING: Final = "Write a mapping (key: value) here."
_SECTION: Final = {**MISSING, "type": _MAPPING}
_NAMED: Final = {**MISSING, "invalid": "Write a mapping (id: …) here."}
_SCHEMA: Final = {"type": _MAPPING, "unknown": ""}


def nearest(wrong: str, allowed: list[str] | tuple[str, ...]) -> str:
    """` Did you mean 'x'?` when something allowed is near, else nothing."""
    near = get_close_matches(wrong, allowed, n=1)
    return f" Did you mean '{near[0]}'?" if near else ""


def listed(names: list[str] | tuple[str, ...]) -> str:
    """Names as people list them, cut where there are too many to read."""
    shown = [f"'{name}'" for name in names[:_LISTED]]
    more = f" and {len(names) - _LISTED} more" if len(names) > _LISTED else ""
    return ", ".join(shown) + more if shown else "none"


def readable(text: str) -> None:
    """Raise a `ValidationError` where a text holds what no page, sheet or file can show."""
    if found := UNREADABLE.search(text):
        raise ValidationError(
            f"The character U+{ord(found[0]):04X} in it is no text; leave it out."
        )


class Text(fields.Field[str]):
    """A text that says something."""

    default_error_messages = MISSING

    def __init__(self, *, longest: int = _LONGEST, **more: Any) -> None:
        super().__init__(**more)
        self.longest = longest

    def _deserialize(self, value: Any, *_: Any, **__: Any) -> str:
        if not isinstance(value, str):
            raise ValidationError("Write a text here, not a list or a mapping.")
        text = value.strip()
        if not text:
            raise ValidationError("Empty; write a text here.")
        if len(text) > self.longest:
            raise ValidationError(f"{len(text)} characters; at most {self.longest} are allowed.")
        readable(text)
        return text


class Name(Text):
    """An id, or a reference to one."""

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> str:
        text = super()._deserialize(value, attr, data, **kwargs)
        if not NAME.fullmatch(text):
            raise ValidationError(f"'{text[:60]}' cannot be an id; allowed are {NAME_SAYS}.")
        return text


class Whole(Text):
    """A whole number between two bounds; deserialises to int."""

    def __init__(self, least: int, most: int, **more: Any) -> None:
        super().__init__(**more)
        self.least, self.most = least, most

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        text = super()._deserialize(value, attr, data, **kwargs)
        allowed = f"write a whole number from {self.least} to {self.most}"
        number = int(text) if _WHOLE.fullmatch(text) else None
        if number is None or not self.least <= number <= self.most:
            raise ValidationError(f"'{text[:60]}' is not allowed here; {allowed}.")
        return number


class Amount(Text):
    """Seconds or points with at most three decimals; deserialises to int thousandths."""

    def __init__(self, *, least: int = 0, most: int = 100_000_000, **more: Any) -> None:
        super().__init__(**more)
        self.least, self.most = least, most

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        text = super()._deserialize(value, attr, data, **kwargs)
        return amount(text, self.least, self.most)


def amount(text: str, least: int = 0, most: int = 100_000_000) -> int:
    """Thousandths of a plain decimal number, or a `ValidationError`."""
    low, high = format_thousandths(least), format_thousandths(most)
    wrong = (
        f"'{text[:60]}' is no amount; write a number from {low} to {high}, at most three decimals."
    )
    if _DECIMAL.fullmatch(text):
        exact = int(Decimal(text).scaleb(3))
        if least <= exact <= most:
            return exact
    raise ValidationError(wrong)


class Duration(Text):
    """A length of time; deserialises to int milliseconds, more than none."""

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        text = super()._deserialize(value, attr, data, **kwargs)
        try:
            ms = parse_duration(text)
        except DurationError as error:
            raise ValidationError(str(error)) from error
        if ms == 0:
            raise ValidationError(f"'{text}' is no time at all.")
        return ms


class YesNo(Text):
    """`yes` or `no`; deserialises to bool."""

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        text = super()._deserialize(value, attr, data, **kwargs)
        if text not in {"yes", "no"}:
            raise ValidationError(f"'{text[:60]}' is not allowed here; write yes or no.")
        return text == "yes"


class OneOf(Text):
    """One word of a fixed set; deserialises to the member of that `StrEnum`."""

    def __init__(self, choices: type[StrEnum], **more: Any) -> None:
        super().__init__(**more)
        self.choices = choices

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        text = super()._deserialize(value, attr, data, **kwargs)
        allowed = [str(choice) for choice in self.choices]
        if text not in allowed:
            raise ValidationError(
                f"'{text[:60]}' is not allowed here; allowed are {listed(allowed)}."
                + nearest(text, allowed)
            )
        return self.choices(text)


class Several(fields.List[Any]):
    """A list, or one thing without the brackets; deserialises to a tuple.

    `distinct`: the same thing may not stand there twice.
    """

    default_error_messages = MISSING

    def __init__(self, inner: fields.Field[Any], *, distinct: bool = False, **more: Any) -> None:
        super().__init__(inner, **more)
        self.distinct = distinct

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        several = value if isinstance(value, list) else [value]
        if not several:
            otherwise = "" if self.required else ", or leave the key out"
            raise ValidationError(f"An empty list; write something in it{otherwise}.")
        made = tuple(super()._deserialize(several, attr, data, **kwargs))
        if self.distinct and len(set(made)) < len(made):
            first = {each: n for n, each in reversed([*enumerate(made)])}
            twice = [n for n, each in enumerate(made) if first[each] < n]
            raise ValidationError({n: [f"'{several[n]}' stands here twice."] for n in twice})
        return made


class Section(fields.Nested):
    """A mapping under a key, with a schema of its own."""

    default_error_messages = _SECTION


class Named(fields.Dict):
    """A mapping from ids to sections, in the order written."""

    default_error_messages = _NAMED

    def __init__(self, values: type[Schema] | fields.Field[Any], **more: Any) -> None:
        below = values if isinstance(values, fields.Field) else Section(values)
        super().__init__(keys=Name(), values=below, **more)

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        try:
            return super()._deserialize(value, attr, data, **kwargs)  # type: ignore[no-untyped-call]
        except ValidationError as error:
            if not isinstance(error.messages, dict):
                raise
            said = {key: _of_key_and_value(both) for key, both in error.messages.items()}
            raise ValidationError(said) from error


def _of_key_and_value(both: Mapping[str, Any]) -> Any:
    """What marshmallow says of a key and of its value, as one."""
    if "key" not in both:
        return both["value"]
    below = both.get("value", {})
    return {KEY: both["key"], **(below if isinstance(below, dict) else {"_schema": below})}


class Pairs(fields.Field[Any]):
    """A mapping from ids to texts, in the order written; deserialises to a tuple of pairs."""

    default_error_messages = MISSING

    def _deserialize(self, value: Any, *_: Any, **__: Any) -> Any:
        if not isinstance(value, dict):
            raise ValidationError("Write a mapping (id: text) here.")
        name, text = Name(), Text(longest=200)
        return tuple((name.deserialize(key), text.deserialize(said)) for key, said in value.items())


class Written(Schema):
    """A mapping of a rulebook: unknown keys are refused with the nearest key that is allowed."""

    error_messages = _SCHEMA

    def load(self, data: Any, **more: Any) -> Any:
        """Values of a mapping, or a `ValidationError` with every complaint in it."""
        return super().load(data, **more)

    def handle_error(self, error: ValidationError, data: Any, **_: Any) -> None:
        """Say of each unknown key what is allowed and what is near."""
        allowed = [field.data_key or name for name, field in self.fields.items()]
        if isinstance(error.messages, dict) and isinstance(data, Mapping):
            guess = len(error.messages) <= _MOST_GUESSES
            for key, said in error.messages.items():
                if said == [self.error_messages["unknown"]]:
                    near = nearest(str(key), allowed) if guess else ""
                    says = f"Unknown key '{str(key)[:60]}'; allowed are {listed(allowed)}.{near}"
                    error.messages[key] = {KEY: [says]}
