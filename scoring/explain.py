"""A rule in plain words, with what it would cost: told by the engine itself, on made-up marks."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from scoring.durations import format_thousandths, speak_duration
from scoring.entries import (
    Addition,
    Breach,
    Count,
    Decision,
    Entry,
    Mark,
    Measured,
    Moment,
    Moved,
    Outcome,
    Ruling,
    Value,
    What,
)
from scoring.findings import State, find
from scoring.fold import fold
from scoring.ids import EntryId, PersonId, RuleId, RunId
from scoring.kinds.base import Control, Rule
from scoring.kinds.conduct import Charged, Conduct
from scoring.kinds.held import Held
from scoring.kinds.limit import Limit
from scoring.kinds.placement import Placement
from scoring.kinds.reading import Reading
from scoring.kinds.setting import Setting
from scoring.kinds.step import Step
from scoring.penalties import WARNING, Category
from scoring.rulebook import Rulebook

#: Time between made-up marks, so that no two are taken for one.
_APART: Final = 3_600_000
_MINUTE: Final = 60_000
#: What no tool is set to.
_ABSURD: Final = "99999999"


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
        Example(happens, _cost(said, rule, book)) for happens, said in _stories(rule, book)
    )
    return Explanation(rule.id, tuple(_sentences(rule, book)), examples)


def _sentences(rule: Rule, book: Rulebook) -> Iterator[str]:
    yield f"{rule.kind.capitalize()} {rule.id}: {_what(rule)}"
    task = next((task for task in book.tasks if task.id == rule.task), None)
    if task is not None:
        yield f"It belongs to task {task.id}, {task.title}."
    roles = [str(book.crew.roles.get(role, role)) for role in rule.by]
    if roles:
        yield f"It is for {_listed(roles, 'or')}."
    if rule.holds():
        yield f"It holds {rule.holds()}."
    yield from _items(rule)
    yield from _order(rule, book)
    for name, value in rule.when:
        yield f"It applies only where {name} is {value}."
    yield from rule.says(book.terms)
    posts = [book.posts[post].title for post in rule.posts]
    yield f"Watched from: {_listed(posts, 'and')}."
    if rule.costed:
        verb = "It gives" if rule.control is Control.ACHIEVE else "It costs"
        yield f"{verb} {_priced(book.categories[rule.costs])}."
    if rule.note:
        yield f"For judges: {rule.note}"


def _what(rule: Rule) -> str:
    quoted = f"“{rule.text}”" if rule.kind == "callout" else rule.text
    return quoted if quoted.endswith((".", "!", "?", "”")) else f"{quoted}."


def _items(rule: Rule) -> Iterator[str]:
    """What is judged one by one."""
    if _is_numbered(rule):
        yield f"It comes {len(rule.items)} times."
    elif rule.items != ("",):
        yield f"Each is judged by itself: {_listed(list(rule.items), 'and')}."


def _is_numbered(rule: Rule) -> bool:
    return len(rule.items) > 1 and rule.items == tuple(str(n + 1) for n in range(len(rule.items)))


def _order(rule: Rule, book: Rulebook) -> Iterator[str]:
    """What comes before it, what after, and what it costs the other way round."""
    later = [name for key, name in rule.references() if key == "before"]
    if rule.after.rules:
        yield f"It comes after {_listed(list(rule.after.rules), 'and')}."
    if later:
        yield f"It comes before {_listed(later, 'and')}."
    if rule.after.rules and isinstance(costs := rule.after.costs or book.order_costs, str):
        upheld = "" if rule.after.at_once else ", once the head judge upholds it"
        yield f"Begun too early it costs {_priced(book.categories[costs])}{upheld}."


def _priced(category: Category) -> str:
    """What a category costs, and what it is called; one written in place has no name."""
    name = category.title or ("" if " " in category.id else category.id)
    return f"{category} ({name})" if name else str(category)


def _stories(rule: Rule, book: Rulebook) -> Iterator[tuple[str, tuple[What, ...]]]:
    """What might happen with a rule, each as the entries it would make."""
    match rule.control:
        case Control.BREACH:
            yield from _broken(rule)
        case Control.COUNT:
            for count in (1, 3):
                yield f"{count} missing", (Count(rule.id, count),)
        case Control.CORRECT:
            yield from _told(rule)
        case Control.VALUE:
            yield from _keyed(rule)
        case Control.ACHIEVE:
            yield "earned", (Mark(rule.id, Outcome.GOOD),)
        case Control.CLOCK:
            yield from _late(rule, book)
        case Control.COMPUTED if rule.costed:
            yield "outside its limits", (Addition(rule.id, 1, "-"),)
        case _:
            yield from _marked(rule)


def _late(rule: Rule, book: Rulebook) -> Iterator[tuple[str, tuple[What, ...]]]:
    """How a task might come to its limit."""
    if isinstance(rule, Limit) and rule.cut:
        yield "stopped by the judge", (Moved(rule.id, Moment.END),)
    over = book.categories[rule.costs].begun(_MINUTE)
    yield "a minute over", (Addition(rule.id, over, "-"),)


def _broken(rule: Rule) -> Iterator[tuple[str, tuple[What, ...]]]:
    """How often it might be broken; one time is enough for what ends a run."""
    if not rule.costed:
        yield "marked, and upheld", (Breach(rule.id),)
        return
    apart = isinstance(rule, Conduct) and rule.charged is Charged.PERSON
    for count in (1, 2, 3):
        happens = "one breach" if count == 1 else f"{count} breaches"
        if apart and count > 1:
            happens += f", by {count} people"
        yield happens, tuple(Breach(rule.id, str(n) if apart else "") for n in range(count))


def _told(rule: Rule) -> Iterator[tuple[str, tuple[What, ...]]]:
    """What might become of a fault that the crew was told of."""
    told = Moved(rule.id, Moment.TOLD)
    yield "told, and corrected", (told, Moved(rule.id, Moment.CORRECTED))
    yield "told, and not corrected", (told, Mark(rule.id, Outcome.MISSING))
    yield "told, and put right by the judge", (told, Moved(rule.id, Moment.JUDGE_DID))


def _keyed(rule: Rule) -> Iterator[tuple[str, tuple[What, ...]]]:
    """What might be keyed in; nothing that is written anywhere reads "?"."""
    item = rule.items[0]
    if isinstance(rule, Setting):
        yield "set wrong on every try", tuple(Value(rule.id, _ABSURD) for _ in range(rule.tries))
        return
    if isinstance(rule, Reading) and not rule.is_free:
        yield "wrong", (Value(rule.id, "?", item),)
    yield "not written", (Value(rule.id, "", item),)
    yield "illegible", (Value(rule.id, "?", item, legible=False),)


def _marked(rule: Rule) -> Iterator[tuple[str, tuple[What, ...]]]:
    """What might happen with a rule whose items are answered one by one."""
    items = rule.items
    if isinstance(rule, Step) and rule.points:
        yield "not done at all", (Mark(rule.id, Outcome.MISSING),)
    for outcome in (Outcome.MISSING, Outcome.WRONG):
        label = rule.answers.get(outcome)
        if label is None:
            continue
        one = f"one of {len(items)}" if _is_numbered(rule) else items[0]
        yield f"{one}: {label}" if one else label, (Mark(rule.id, outcome, items[0]),)
        if len(items) > 1:
            marks = tuple(Mark(rule.id, outcome, each) for each in items)
            yield f"all {len(items)}: {label}", marks
    for happens, amount in _amounts(rule):
        yield happens, (Measured(rule.id, amount, items[0]),)


def _amounts(rule: Rule) -> Iterator[tuple[str, int]]:
    """What might be measured of a rule, in thousandths."""
    if isinstance(rule, Placement) and rule.measured:
        beyond = [band.over for band in rule.bands] or [rule.free or 0, (rule.free or 0) + 9_000]
        for amount in beyond:
            yield f"out by {format_thousandths(amount + 1_000)} cm", amount + 1_000
    if isinstance(rule, Held):
        if rule.at_least:
            short = rule.at_least * 4 // 5
            yield f"only {speak_duration(short)} counted", short
        if rule.at_most is not None:
            long = rule.at_most * 6 // 5
            yield f"{speak_duration(long)} counted", long


def _cost(said: tuple[What, ...], rule: Rule, book: Rulebook) -> str:
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
    if any(finding.how.startswith(WARNING) for finding in found) and not cost:
        return WARNING
    if not cost:
        return "costs nothing"
    words = found[0].category.say(abs(cost))
    return f"gives {words}" if cost < 0 else f"costs {words}"


def _listed(names: Sequence[str], last: str) -> str:
    """Names as they are read aloud: a, b and c; parted more strongly where they are long."""
    if any(", " in name or f" {last} " in name for name in names):
        return "; ".join(names)
    if len(names) < 2:  # noqa: PLR2004 - nothing to join
        return "".join(names)
    return f"{', '.join(names[:-1])} {last} {names[-1]}"
