"""rulebooks/README.md explains every key and every word of the language, and nothing else."""

import re
from collections.abc import Iterator
from typing import Any, Final

import pytest
import yaml
from marshmallow import fields

from scoring import KINDS, read_meet, read_rulebook
from scoring.fields import OneOf, Written
from scoring.kinds.base import RuleSchema
from scoring.kinds.repeated import RepeatedSchema
from scoring.rulebook.schema import LESS, RulebookSchema
from tests.house.tree import ROOT

BOOKS: Final = sorted((ROOT / "rulebooks").glob("*.yaml"))
README: Final = (ROOT / "rulebooks" / "README.md").read_text(encoding="utf-8")
#: Each row of a table of keys: the key's path, and the whole row.
ROWS: Final = {
    found[1]: found[0] for found in re.finditer(r"^\| `([\w.-]+)` \|.*\|$", README, re.MULTILINE)
}
#: Where the keys of a schema stand, beside those of the kinds. What several schemas share stands
#: nowhere of its own.
_UNDER: Final = {
    RulebookSchema.__name__: "",
    RuleSchema.__name__: "",
    "CrewSchema": "crew.",
    "PostSchema": "posts.",
    "GivenSchema": "givens.",
    "CategorySchema": "penalties.",
    "ClockSchema": "clock.",
    "_WalkthroughSchema": "clock.walkthrough.",
    "_RunSchema": "clock.run.",
    "_OfficialSchema": "clock.official.",
    "OrderSchema": "order.",
    "_OrderSchema": "after.",
    "TaskSchema": "tasks.",
    "TieSchema": "ties.",
    "PointsSchema": "points.",
    "TimeTermSchema": "points.time.",
    "AssessmentSchema": "assessment.",
    "AttemptsSchema": "attempts.",
    "MeetSchema": "meet.",
    "MeetEventSchema": "meet.events.",
    "OverallSchema": "meet.overall.",
    "MissingSchema": "meet.overall.missing.",
    **{kind.schema.__name__: f"{name}." for name, kind in KINDS.items()},
}


def _schemas(of: type[Written] = Written) -> Iterator[type[Written]]:
    for schema in of.__subclasses__():
        if schema.__module__.startswith("scoring."):
            yield schema
        yield from _schemas(schema)


def _keys() -> Iterator[tuple[str, fields.Field[Any]]]:
    """Every key of the language with its field, as the reference writes it."""
    common = RuleSchema().fields
    for schema in set(_schemas()) - {RepeatedSchema}:
        under = _UNDER[schema.__name__]
        for name, field in schema().fields.items():
            if schema is RuleSchema or name not in common or not issubclass(schema, RuleSchema):
                key = field.data_key or name
                yield (key if f"{key}." == under else under + key), field


KEYS: Final = dict(sorted(_keys(), key=lambda each: each[0]))


def _choices(field: fields.Field[Any]) -> list[str]:
    inner = field.inner if isinstance(field, fields.List) else field
    return [str(choice) for choice in inner.choices] if isinstance(inner, OneOf) else []


@pytest.mark.parametrize("key", KEYS)
def test_the_reference_explains_the_key(key: str) -> None:
    _, _, means, example, does, _ = [cell.strip() for cell in ROWS[key].split("|")]
    assert len(means) > 10, key
    assert len(does) > 5, key
    written = yaml.safe_load(example.strip("`"))
    assert list(written) == [key.rsplit(".", maxsplit=1)[-1]], key


@pytest.mark.parametrize("key", [key for key, field in KEYS.items() if _choices(field)])
def test_the_reference_explains_every_word_that_may_stand_there(key: str) -> None:
    assert [choice for choice in _choices(KEYS[key]) if f"`{choice}`" not in ROWS[key]] == []


def test_the_reference_explains_what_may_be_less() -> None:
    assert [word for word in LESS if f"`{word}`" not in ROWS["ties.less"]] == []


def test_the_reference_explains_no_key_that_is_gone() -> None:
    assert ROWS.keys() - KEYS.keys() == set()


def test_the_reference_has_the_answers_of_every_kind() -> None:
    answers = {answer for kind in KINDS.values() for answer in kind.answers.values()}
    assert [answer for answer in answers if f"*{answer}*" not in README] == []


def test_the_whole_rulebook_in_the_reference_reads_clean() -> None:
    (example,) = re.findall(r"^```yaml\n(rulebook:.*?)^```$", README, re.MULTILINE | re.DOTALL)
    assert {rule.kind for rule in read_rulebook(example.encode()).rules.values()} == {*KINDS}


def test_the_meet_in_the_reference_reads_clean() -> None:
    (example,) = re.findall(r"^```yaml\n(meet:.*?)^```$", README, re.MULTILINE | re.DOTALL)
    (rulebook,) = re.findall(r"^```yaml\n(rulebook:.*?)^```$", README, re.MULTILINE | re.DOTALL)
    rulebooks = {path.name: read_rulebook(path.read_bytes()) for path in BOOKS}
    rulebooks["rope-bag.yaml"] = read_rulebook(rulebook.encode())
    assert [*read_meet(example.encode(), rulebooks).events] == ["bag", "change"]


@pytest.mark.parametrize("path", BOOKS, ids=lambda path: path.name)
def test_a_shipped_rulebook_reads_clean_and_names_who_does_what(path: Any) -> None:
    book = read_rulebook(path.read_bytes(), path.name)
    assert path.stem == book.id
    acts = [rule for rule in book.rules.values() if rule.kind in {"step", "callout"}]
    assert [rule.id for rule in acts if not rule.by] == []
    used = {rule.costs for rule in book.rules.values()} | {book.order_costs}
    assert [name for name in book.categories if name not in used and " " not in name] == []
    assert [role for role in book.crew.roles if not any(role in rule.by for rule in acts)] == []
    assert [post for post in book.posts if not book.watched_by(post)] == []


def test_the_sheave_change_is_as_long_as_a_real_procedure() -> None:
    (path,) = [path for path in BOOKS if path.stem == "sheave-change"]
    kinds = [rule.kind for rule in read_rulebook(path.read_bytes()).rules.values()]
    assert kinds.count("step") >= 60
    assert kinds.count("callout") >= 25
