"""The briefing: a rulebook in the order in which a head judge reads it aloud."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final

from scoring.kinds.base import Rule
from scoring.kinds.callout import Callout
from scoring.kinds.conduct import Conduct
from scoring.kinds.repeated import Repeated
from scoring.papers.lines import quoted, roles
from scoring.papers.words import clock_words, more_words, result_words, said
from scoring.rulebook import Rulebook

#: Read first, whatever the rulebook says.
CAUTION: Final = (
    "These are contest rules, no work procedure. Local law, the maker's manual and the person "
    "authorised on site come first."
)
#: What rules that belong to no task are read under, by their kind, in this order.
_BESIDE: Final = {
    "conduct": "Conduct",
    "correctable": "What is put right when told",
    "returns": "Back in place",
    "bonus": "What is given",
    "ender": "What ends a run",
}
_OTHERS: Final = "Beside the tasks"


@dataclass(frozen=True, slots=True)
class Item:
    """One rule as it is read; `quoted` are words that must be said.

    `remark` is the author's own; text, roles and remark are in the event's language.
    """

    rule: str
    text: str
    by: str = ""
    quoted: bool = False
    notes: tuple[str, ...] = ()
    remark: str = ""


@dataclass(frozen=True, slots=True)
class Part:
    """A part of the briefing: sentences, then rules."""

    title: str
    words: tuple[str, ...] = ()
    items: tuple[Item, ...] = ()


@dataclass(frozen=True, slots=True)
class Briefing:
    """The parts in order; the cautions come first."""

    parts: tuple[Part, ...]


def briefing(book: Rulebook) -> Briefing:
    """What is read aloud before the first run."""
    return Briefing(tuple(part for part in _parts(book) if part.words or part.items))


def _parts(book: Rulebook) -> Iterator[Part]:
    yield Part("Cautions", (CAUTION, *book.cautions))
    yield Part("The crew", tuple(_crew(book)))
    yield Part("Who watches", tuple(post.title for post in book.posts.values()))
    yield Part("The clock", tuple(clock_words(book)))
    drawn = (f"{name}: {said(given.choices, 'or')}" for name, given in book.givens.items())
    yield Part("Drawn or known for each run", tuple(each.removesuffix(": ") for each in drawn))
    for task in book.tasks:
        title = f"Task {task.id}: {task.title}"
        yield Part(title, items=_items((book.rules[rule] for rule in task.rules), book))
    beside = [rule for rule in book.rules.values() if rule.task is None]
    for kind, title in _BESIDE.items():
        yield Part(title, items=_items((rule for rule in beside if rule.kind == kind), book))
    rest = (rule for rule in beside if rule.kind not in _BESIDE)
    yield Part(_OTHERS, items=_items(rest, book))
    gives = any(rule.kind == "bonus" for rule in book.rules.values())
    title = "Penalties, and what is given" if gives else "Penalties"
    yield Part(title, tuple(_penalties(book)))
    yield Part("The result", tuple(result_words(book)))


def _crew(book: Rulebook) -> Iterator[str]:
    size = book.crew.size
    yield "One person works alone." if size == 1 else f"{size} people work at once."
    if book.crew.roles:
        yield f"Their roles: {said(list(book.crew.roles.values()), 'and')}."


def _items(rules: Iterable[Rule], book: Rulebook) -> tuple[Item, ...]:
    return tuple(
        Item(
            rule.id,
            quoted(rule),
            roles(rule, book),
            isinstance(rule, Callout),
            tuple(_notes(rule, book)),
            rule.note,
        )
        for rule in rules
    )


def _notes(rule: Rule, book: Rulebook) -> Iterator[str]:
    """What else a crew must hear of a rule."""
    for name, value in rule.when:
        yield f"Only where {name} is {value}."
    if isinstance(rule, Conduct):
        yield f"Holds {rule.holds()}."
    if isinstance(rule, Repeated) and rule.times > 1:
        yield f"{rule.times} times."
    elif rule.items != ("",):
        yield f"For each: {said(list(rule.items), 'and')}."
    yield from more_words(rule, book)
    category = book.categories.get(rule.costs) if rule.costed else None
    # What is priced in its own place has no name to be read among the penalties.
    if category is not None and " " in category.id and not category.title:
        yield f"{'It gives' if rule.kind == 'bonus' else 'It costs'} {category}."


def _penalties(book: Rulebook) -> Iterator[str]:
    for category in book.categories.values():
        if " " not in category.id or category.title:
            yield f"{category.title or category.id}: {category}."
