"""A rule in plain words, with what it would cost: told by the engine itself, on made-up marks."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

from scoring.entries import (
    Breach,
    Count,
    Decision,
    Entry,
    Mark,
    Measured,
    Moment,
    Moved,
    Observation,
    Outcome,
    Ruling,
    Value,
)
from scoring.findings import State, find
from scoring.fold import fold
from scoring.ids import EntryId, PersonId, RuleId, RunId
from scoring.kinds.base import Control, Rule
from scoring.kinds.reading import Reading
from scoring.kinds.setting import Setting
from scoring.rulebook import Rulebook

#: Time between made-up marks, so that no two are taken for one.
_APART: Final = 3_600_000


@dataclass(frozen=True, slots=True)
class Example:
    """What might happen, and what it would cost."""

    happens: str
    costs: str


@dataclass(frozen=True, slots=True)
class Explanation:
    """A rule in sentences, and examples of what it would cost on its own."""

    rule: RuleId
    sentences: tuple[str, ...]
    examples: tuple[Example, ...]


def explain(rule: Rule, book: Rulebook) -> Explanation:
    """A rule in plain words."""
    examples = tuple(
        Example(happens, _cost(said, rule, book)) for happens, said in _stories(rule) if said
    )
    return Explanation(rule.id, tuple(_sentences(rule, book)), examples)


def _sentences(rule: Rule, book: Rulebook) -> Iterator[str]:
    roles = [str(book.crew.roles.get(role, role)) for role in rule.by]
    yield f"{rule.kind.capitalize()} {rule.id}: {_what(rule)}"
    task = next((task for task in book.tasks if task.id == rule.task), None)
    if task is not None:
        yield f"It belongs to task {task.id}, {task.title}."
    if roles:
        yield f"It is for {_listed(roles, 'or')}."
    if rule.holds():
        yield f"It holds {rule.holds()}."
    if rule.items != ("",):
        yield f"It is judged {len(rule.items)} times: {_listed(list(rule.items), 'and')}."
    if rule.after.rules:
        yield f"It comes after {_listed(list(rule.after.rules), 'and')}."
    for name, value in rule.when:
        yield f"It applies only where {name} is {value}."
    posts = [book.posts[post].title for post in rule.posts]
    yield f"Watched from: {_listed(posts, 'and')}."
    if rule.costed:
        category = book.categories[rule.costs]
        yield f"Cost: {category} ({category.title or category.id})."
    if rule.note:
        yield f"For judges: {rule.note}"


def _what(rule: Rule) -> str:
    quoted = f"“{rule.text}”" if rule.kind == "callout" else rule.text
    return quoted if quoted.endswith((".", "!", "?", "”")) else f"{quoted}."


def _stories(rule: Rule) -> Iterator[tuple[str, tuple[Observation, ...]]]:
    """What might happen with a rule, each as the marks a judge would make."""
    match rule.control:
        case Control.BREACH:
            for count in (1, 2, 3):
                yield _times(count, "breach"), tuple(Breach(rule.id) for _ in range(count))
        case Control.COUNT:
            for count in (1, 3):
                yield f"{count} missing", (Count(rule.id, count),)
        case Control.CORRECT:
            told = Moved(rule.id, Moment.TOLD)
            yield "told, and corrected", (told, Moved(rule.id, Moment.CORRECTED))
            yield "told, and not corrected", (told, Mark(rule.id, Outcome.MISSING))
            yield "put right by the judge", (told, Moved(rule.id, Moment.JUDGE_DID))
        case Control.VALUE:
            yield from _keyed(rule)
        case Control.ACHIEVE:
            yield "earned", (Mark(rule.id, Outcome.GOOD),)
        case _:
            yield from _marked(rule)


def _keyed(rule: Rule) -> Iterator[tuple[str, tuple[Observation, ...]]]:
    """What might be keyed in; nothing that is written anywhere reads "?"."""
    item = rule.items[0]
    if isinstance(rule, Setting):
        yield "set wrong on every try", tuple(Value(rule.id, "0") for _ in range(rule.tries))
        return
    if isinstance(rule, Reading) and not rule.is_free:
        yield "wrong", (Value(rule.id, "?", item),)
    yield "not written", (Value(rule.id, "", item),)
    yield "illegible", (Value(rule.id, "?", item, legible=False),)


def _marked(rule: Rule) -> Iterator[tuple[str, tuple[Observation, ...]]]:
    """What might happen with a rule whose items are answered one by one."""
    items = rule.items
    for outcome in (Outcome.MISSING, Outcome.WRONG):
        label = rule.answers.get(outcome)
        if label is None:
            continue
        named = f"{items[0]}: {label}" if items[0] else label
        yield named, (Mark(rule.id, outcome, items[0]),)
        if len(items) > 1:
            yield (
                f"all {len(items)}: {label}",
                tuple(Mark(rule.id, outcome, each) for each in items),
            )
    if rule.control is Control.MEASURE:
        for amount in (3_000, 12_000):
            yield f"out by {amount // 1_000} cm", (Measured(rule.id, amount, items[0]),)


def _cost(said: tuple[Observation, ...], rule: Rule, book: Rulebook) -> str:
    """What the engine makes of some marks of this rule alone, each proposal taken as upheld."""
    by = [PersonId(f"judge {n}") for n in range(max(1, len(rule.posts)))]
    entries = [
        Entry(EntryId(f"{n:04}-{who}"), RunId("example"), who, None, (n + 1) * _APART, 0, what)
        for n, what in enumerate(said)
        for who in by
    ]
    always = replace(book, rules={**book.rules, rule.id: replace(rule, when=())})
    found = find(fold(entries), always, None)
    first = entries[0]
    upheld = [
        replace(first, id=EntryId(f"upheld {each.id}"), what=Ruling(each.id, Decision.UPHOLD, "-"))
        for each in found
        if each.state is State.PROPOSED
    ]
    found = find(fold([*entries, *upheld]), always, None)
    if any(finding.ends is not None for finding in found):
        return next(str(finding.ends) for finding in found if finding.ends is not None)
    cost = sum(finding.cost for finding in found)
    if not found or cost == 0:
        return "costs nothing"
    words = found[0].category.say(abs(cost))
    return f"gives {words}" if cost < 0 else f"costs {words}"


def _times(count: int, what: str) -> str:
    return f"one {what}" if count == 1 else f"{count} {what}es"


def _listed(names: list[str], last: str) -> str:
    """Names as they are read aloud: a, b and c."""
    if len(names) < 2:  # noqa: PLR2004 - nothing to join
        return "".join(names)
    return f"{', '.join(names[:-1])} {last} {names[-1]}"
