"""The format for editors, held against the reference implementation of JSON Schema."""

from pathlib import Path
from typing import Any

import pytest
import yaml
from jsonschema import Draft202012Validator

from scoring import json_schema

ROOT = Path(__file__).parents[2]
RULEBOOKS = sorted((*ROOT.glob("rulebooks/*.yaml"), *ROOT.glob("tests/published/rulebooks/*.yaml")))
VALIDATOR = Draft202012Validator(json_schema())


def _read(path: Path) -> Any:
    return yaml.safe_load(path.read_text("utf-8"))


def test_the_schema_is_one() -> None:
    Draft202012Validator.check_schema(json_schema())


@pytest.mark.parametrize("path", RULEBOOKS, ids=lambda path: path.stem)
def test_every_rulebook_fits_it(path: Path) -> None:
    assert [error.message for error in VALIDATOR.iter_errors(_read(path))] == []


@pytest.mark.parametrize(
    ("section", "key", "value"),
    [
        ("penalties", "procedure", {"secnods": 10}),
        ("posts", "power", {}),
        ("crew", "size", "many"),
        ("clock", "official", {"from": "fastest of nine"}),
    ],
)
def test_what_the_reader_refuses_an_editor_underlines(section: str, key: str, value: Any) -> None:
    written = _read(ROOT / "rulebooks" / "sheave-change.yaml")
    written[section][key] = value
    assert not VALIDATOR.is_valid(written)


def test_a_rule_of_no_kind_is_underlined() -> None:
    written = _read(ROOT / "rulebooks" / "sheave-change.yaml")
    written["tasks"][0]["rules"][0] = {"stp": "A1", "do": "Begin"}
    assert not VALIDATOR.is_valid(written)


def test_a_key_that_no_rule_has_is_underlined_in_a_block_too() -> None:
    written = _read(ROOT / "rulebooks" / "cliff-rescue.yaml")
    assert VALIDATOR.is_valid(written)
    next(iter(written["blocks"].values()))[0]["sya"] = "Go"
    assert not VALIDATOR.is_valid(written)
