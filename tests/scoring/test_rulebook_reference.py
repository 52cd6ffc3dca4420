"""rulebooks/README.md explains every key and every word of the language, and nothing else."""

import re
from collections.abc import Iterator
from typing import Any, Final

import pytest
import yaml
from marshmallow import fields

from scoring import KINDS, Grade, lint, read_meet, read_rulebook
from scoring.clock import _LimitSchema
from scoring.fields import OneOf, Written
from scoring.kinds.base import RuleSchema
from scoring.kinds.repeated import RepeatedSchema
from scoring.rulebook.reuse import USE_KEYS
from scoring.rulebook.schema import LESS, RulebookSchema
from tests.house.tree import ROOT
from tests.scoring.builders import book

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
    "_LongSchema": "clock.official.long.",
    "OrderSchema": "order.",
    "RuleOrderSchema": "after.",
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
    "BandSchema": "placement.bands.",
    **{kind.schema.__name__: f"{name}." for name, kind in KINDS.items()},
}

_SHARED: Final = {RepeatedSchema, _LimitSchema}
#: The keys of blocks, which the rulebook is written out by before any schema reads it.
_BLOCKS: Final = ("blocks", *("use" if key == "use" else f"use.{key}" for key in USE_KEYS))


def _schemas(of: type[Written] = Written) -> Iterator[type[Written]]:
    for schema in of.__subclasses__():
        if schema.__module__.startswith("scoring."):
            yield schema
        yield from _schemas(schema)


def _keys() -> Iterator[tuple[str, fields.Field[Any]]]:
    """Every key of the language with its field, as the reference writes it."""
    common = {field.data_key or name for name, field in RuleSchema().fields.items()}
    for schema in set(_schemas()) - _SHARED:
        under = _UNDER[schema.__name__]
        for name, field in schema().fields.items():
            key = field.data_key or name
            if schema is RuleSchema or key not in common or not issubclass(schema, RuleSchema):
                yield (key if f"{key}." == under else under + key), field


KEYS: Final = dict(sorted(_keys(), key=lambda each: each[0])) | {
    key: fields.Raw() for key in _BLOCKS
}


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
    book = read_rulebook(example.encode())
    assert len({rule.kind for rule in book.rules.values()}) > 3
    assert [remark for remark in lint(book) if remark.grade is Grade.WARNING] == []


EXAMPLES: Final = re.findall(
    r"^```yaml\n((?:- |blocks:).*?)^```$", README, re.MULTILINE | re.DOTALL
)


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda text: text[2:24])
def test_every_example_of_a_rule_reads_clean(example: str) -> None:
    task = "task: B, title: T, rules: [{step: B1, do: It}]"
    sections: dict[str, str | None] = {
        "crew": "{size: 4, roles: {lead: Lead, rigger: Rigger, electrician: Electrician}}",
        "posts": "{north: {title: North}, lift: {title: Lift}}",
        "rules": None,
        "tasks": f"[{{{task}, post: north, costs: slip}}]",
    }
    if example.startswith("blocks:"):
        blocks, tasks = example.removeprefix("blocks:\n").split("tasks:\n")
        sections |= {"blocks": f"\n{blocks}", "tasks": f"\n{tasks}"}
    else:
        rules = "\n".join(f"      {line}" for line in example.splitlines())
        sections["tasks"] = (
            f"\n  - {{{task}, post: north, costs: slip}}\n"
            f"  - task: C\n    title: T\n    post: north\n    costs: slip\n    rules:\n{rules}"
        )
    assert book(**sections).rules


def test_every_kind_has_an_example() -> None:
    shown = {kind for text in EXAMPLES for kind in KINDS if re.search(rf"[{{ ]{kind}: ", text)}
    (whole,) = re.findall(r"^```yaml\n(rulebook:.*?)^```$", README, re.MULTILINE | re.DOTALL)
    shown |= {rule.kind for rule in read_rulebook(whole.encode()).rules.values()}
    assert KINDS.keys() - shown == set()


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
    assert [remark for remark in lint(book) if remark.grade is Grade.WARNING] == []
    assert [role for role in book.crew.roles if not any(role in rule.by for rule in acts)] == []


def test_the_sheave_change_is_as_long_as_a_real_procedure() -> None:
    (path,) = [path for path in BOOKS if path.stem == "sheave-change"]
    kinds = [rule.kind for rule in read_rulebook(path.read_bytes()).rules.values()]
    assert kinds.count("step") >= 60
    assert kinds.count("callout") >= 25
