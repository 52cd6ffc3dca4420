"""The format of a rulebook as a JSON Schema (draft 2020-12), for editors that complete and check.

It is made of the schemas that read rulebooks, so it cannot fall behind them. An editor reads YAML
its own way and may take `3` for a number and `yes` for a truth value; both are allowed here.
"""

from typing import Any, Final

from marshmallow import Schema, fields

from scoring.fields import (
    Amount,
    Name,
    Named,
    OneOf,
    Pairs,
    Section,
    Several,
    Whole,
    YesNo,
)
from scoring.ids import NAME
from scoring.kinds import KINDS
from scoring.kinds.base import After
from scoring.penalties import CategorySchema, Costs
from scoring.rulebook.schema import AnyRule, RulebookSchema

_DRAFT: Final = "https://json-schema.org/draft/2020-12/schema"
_SCALAR: Final = {"type": ["string", "number", "boolean"]}
_NAME: Final = {"type": ["string", "number"], "pattern": f"^{NAME.pattern}$"}


def json_schema() -> dict[str, Any]:
    """The whole format; every mapping of a rulebook is a definition of its own."""
    writer = _Writer()
    root = writer.mapping(RulebookSchema())
    use = {
        "type": "object",
        "properties": {"use": _NAME, "as": _NAME, "with": {"type": "object"}},
        "required": ["use", "as"],
        "additionalProperties": False,
    }
    # A rule of a block may have a gap (`<side>`) wherever a name or a value stands.
    keys = sorted({key for kind in KINDS.values() for key in _keys(kind.schema())})
    root["properties"]["blocks"] = {
        "type": "object",
        "additionalProperties": {
            "type": "array",
            "items": {"type": "object", "propertyNames": {"enum": keys}},
        },
    }
    return {"$schema": _DRAFT, "title": "Rulebook", **root, "$defs": {**writer.defs, "Use": use}}


def _keys(schema: Schema) -> list[str]:
    """The keys of a mapping as they are written."""
    return [field.data_key or name for name, field in schema.fields.items()]


class _Writer:
    """Definitions by the name of the schema they are made of."""

    def __init__(self) -> None:
        self.defs: dict[str, Any] = {}

    def mapping(self, schema: Schema) -> dict[str, Any]:
        """A mapping with its keys."""
        known = {field.data_key or name: field for name, field in schema.fields.items()}
        required = [key for key, field in known.items() if field.required]
        return {
            "type": "object",
            **({"description": schema.__doc__} if schema.__doc__ else {}),
            "properties": {key: self.field(field) for key, field in known.items()},
            **({"required": required} if required else {}),
            "additionalProperties": False,
        }

    def reference(self, schema: Schema) -> dict[str, Any]:
        """A reference to the definition of a schema, which is written at the first asking."""
        name = type(schema).__name__.strip("_").removesuffix("Schema")
        if name not in self.defs:
            self.defs[name] = {}
            self.defs[name] = self.mapping(schema)
        return {"$ref": f"#/$defs/{name}"}

    def any_rule(self) -> dict[str, Any]:
        """A rule of any kind, or the use of a block."""
        kinds = [self.reference(kind.schema()) for kind in KINDS.values()]
        return {"oneOf": [*kinds, {"$ref": "#/$defs/Use"}]}

    def field(self, field: fields.Field[Any]) -> dict[str, Any]:  # noqa: PLR0911 - one kind each
        """What may stand under a key."""
        if isinstance(field, After):
            order = self.reference(field.order())
            return {"anyOf": [*self._several(_NAME)["anyOf"], order]}
        if isinstance(field, Several):
            return self._several(self.field(field.inner))
        if isinstance(field, fields.List):
            return {"type": "array", "items": self.field(field.inner)}
        if isinstance(field, Section):
            return self.reference(field.schema)
        if isinstance(field, Named):
            values = self.field(field.value_field) if field.value_field else {}
            return {"type": "object", "propertyNames": _NAME, "additionalProperties": values}
        if isinstance(field, Pairs | fields.Dict):
            return {"type": "object", "propertyNames": _NAME, "additionalProperties": _SCALAR}
        if isinstance(field, Costs):
            words = [{"const": word} for word in field.words]
            return {"anyOf": [_NAME, self.reference(CategorySchema()), *words]}
        if isinstance(field, AnyRule):
            return self.any_rule()
        return _scalar(field)

    def _several(self, inner: dict[str, Any]) -> dict[str, Any]:
        """One thing, or a list of them."""
        return {"anyOf": [inner, {"type": "array", "items": inner}]}


def _scalar(field: fields.Field[Any]) -> dict[str, Any]:
    """A plain value."""
    if isinstance(field, Name):
        return _NAME
    if isinstance(field, Whole):
        return {"type": "integer", "minimum": field.least, "maximum": field.most}
    if isinstance(field, Amount):
        return {"type": "number", "minimum": field.least // 1_000, "maximum": field.most // 1_000}
    if isinstance(field, YesNo):
        return {"enum": ["yes", "no", True, False]}
    if isinstance(field, OneOf):
        return {"enum": [str(choice) for choice in field.choices]}
    return _SCALAR
