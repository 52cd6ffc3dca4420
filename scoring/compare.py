"""Two editions of a rulebook, compared in words that a crew understands."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields
from difflib import SequenceMatcher
from enum import StrEnum
from typing import Any, Final

from scoring.clock import Clock, Limit
from scoring.durations import format_duration, format_seconds
from scoring.kinds.base import Order, Rule
from scoring.results import Result
from scoring.rulebook import Rulebook

#: Two texts less alike than this say something else (0 to 100, by `SequenceMatcher`).
_ALIKE: Final = 40


class Matter(StrEnum):
    """What a change is about, in the order a crew reads them."""

    NEW_MEANING = "an id with a new meaning"
    ADDED = "added"
    DROPPED = "dropped"
    COST = "cost"
    WORDS = "words"
    WORK = "the work"
    JUDGING = "judging"
    CLOCK = "the clock"
    OTHER = "other"


@dataclass(frozen=True, slots=True)
class Change:
    """One difference: what it is about, the rule or category, the sentence."""

    matter: Matter
    about: str
    says: str


def compare(old: Rulebook, new: Rulebook) -> tuple[Change, ...]:
    """What has changed from one edition to the other, the gravest first.

    An id that has come to mean something else is named: marks and statistics of the old edition
    would be taken for the new rule's.
    """
    changes = [*_rules(old, new), *_categories(old, new), *_clocks(old, new), *_rest(old, new)]
    order = list(Matter)
    return tuple(sorted(changes, key=lambda change: order.index(change.matter)))


def _rules(old: Rulebook, new: Rulebook) -> Iterator[Change]:
    for name, rule in new.rules.items():
        before = old.rules.get(name)
        if before is None:
            cost = f" It costs {new.categories[rule.costs]}." if rule.costed else ""
            yield Change(Matter.ADDED, name, f"New {rule.kind} '{name}': {rule.text}.{cost}")
        elif before.kind != rule.kind:
            says = f"'{name}' was a {before.kind} and is now a {rule.kind}; give it a new id."
            yield Change(Matter.NEW_MEANING, name, says)
        else:
            yield from _rule(before, rule, old, new)
    for name, rule in old.rules.items():
        if name not in new.rules:
            yield Change(Matter.DROPPED, name, f"No longer a {rule.kind}: '{name}', {rule.text}.")


def _rule(before: Rule, after: Rule, old: Rulebook, new: Rulebook) -> Iterator[Change]:
    name = after.id
    if before.text != after.text:
        if _alike(before.text, after.text) < _ALIKE:
            yield Change(
                Matter.NEW_MEANING,
                name,
                f"'{name}' said “{before.text}” and now says “{after.text}”; if that is another "
                "rule, give it a new id.",
            )
        else:
            says = f"'{name}' is now worded “{after.text}” (was “{before.text}”)."
            yield Change(Matter.WORDS, name, says)
    was, now = old.categories[before.costs], new.categories[after.costs]
    if was.id != now.id and str(was) != str(now):
        yield Change(Matter.COST, name, f"'{name}' now costs {now} (was {was}).")
    for each in fields(after):
        change = _field(each.name, before, after)
        if change is not None:
            yield change


#: The fields of a rule that are compared elsewhere, or that change no one's work.
_ELSEWHERE: Final = frozenset({"id", "text", "costs", "kind", "schema"})
#: The fields that judges work by.
_JUDGING: Final = frozenset({"posts", "note", "window", "tolerance", "charged", "charge", "tries"})


def _field(key: str, before: Rule, after: Rule) -> Change | None:
    """The change of one field of a rule, in words."""
    was, now = getattr(before, key), getattr(after, key)
    if key in _ELSEWHERE or was == now:
        return None
    matter = Matter.JUDGING if key in _JUDGING else Matter.WORK
    written = after.schema().fields[key].data_key if key in after.schema().fields else None
    says = f"'{after.id}': {written or key} is now {_say(now)} (was {_say(was)})."
    return Change(matter, after.id, says)


def _say(value: Any) -> str:
    """A field's value as people read it."""
    if isinstance(value, Order):
        return _say(value.rules)
    if isinstance(value, tuple):
        return ", ".join(_say(each) for each in value) or "none"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "none" if value in {None, ""} else str(value)


def _categories(old: Rulebook, new: Rulebook) -> Iterator[Change]:
    for name, category in new.categories.items():
        before = old.categories.get(name)
        if before is None:
            yield Change(Matter.ADDED, name, f"New penalty category '{name}': {category}.")
        elif str(before) != str(category):
            rules = sum(rule.costs == name for rule in new.rules.values())
            many = f" for {rules} rules" if rules > 1 else ""
            says = f"'{name}' now costs {category}{many} (was {before})."
            yield Change(Matter.COST, name, says)
        elif before.seen_by is not category.seen_by:
            says = f"'{name}' now counts when seen by {category.seen_by} (was {before.seen_by})."
            yield Change(Matter.JUDGING, name, says)
    for name in old.categories.keys() - new.categories.keys():
        yield Change(Matter.DROPPED, name, f"Penalty category '{name}' is gone.")


def _clocks(old: Rulebook, new: Rulebook) -> Iterator[Change]:
    before, after = _clock(old.clock, old), _clock(new.clock, new)
    for key, now in after.items():
        if before[key] != now:
            yield Change(Matter.CLOCK, key, f"{key} is now {now} (was {before[key]}).")


def _clock(clock: Clock, book: Rulebook) -> Mapping[str, str]:
    """The clock section in words."""
    return {
        "The limit of the run": _limit(clock.limit, book),
        "The limit of the walkthrough": _limit(clock.walkthrough, book),
        "What ends the run": clock.ends or "the signal",
        "The official time": ", else ".join(clock.ways),
        "Its rounding": f"{clock.rounding} to {format_seconds(clock.step)}",
    }


def _limit(limit: Limit | None, book: Rulebook) -> str:
    if limit is None:
        return "none"
    over = "did not finish" if limit.ends_run else "nothing"
    if isinstance(limit.over, str):
        over = str(book.categories[limit.over])
    return f"{format_duration(limit.time, 1_000)}, over it {over}"


def _rest(old: Rulebook, new: Rulebook) -> Iterator[Change]:
    for what, was, now in (
        ("The title", old.title, new.title),
        ("The crew", old.crew.size, new.crew.size),
        ("What nobody saw", _unseen(old), _unseen(new)),
        ("The tolerance of order", format_seconds(old.tolerance), format_seconds(new.tolerance)),
        ("The result", _result(old), _result(new)),
        ("What counts of several runs", _attempts(old), _attempts(new)),
        ("The tie-breaks", _ties(old), _ties(new)),
        ("Who is ranked together", _together(old), _together(new)),
    ):
        if was != now:
            yield Change(Matter.OTHER, what, f"{what} is now {now} (was {was}).")
    for name, post in new.posts.items():
        if name not in old.posts:
            yield Change(Matter.JUDGING, name, f"New post '{name}': {post.title}.")
    for name in old.posts.keys() - new.posts.keys():
        yield Change(Matter.JUDGING, name, f"Post '{name}' is gone.")
    if new.edition <= old.edition and new.hash != old.hash:
        says = f"The edition is {new.edition}, which is no higher than {old.edition}; count it up."
        yield Change(Matter.NEW_MEANING, "edition", says)


def _unseen(book: Rulebook) -> str:
    return "counted against the crew" if book.unseen_fails else "in the crew's favour"


def _result(book: Rulebook) -> str:
    if book.result is Result.TIME:
        return "a time"
    if book.result is Result.POINTS:
        return f"points {book.points}"
    return f"an assessment ({book.assessment}), points {book.points}"


def _attempts(book: Rulebook) -> str:
    return book.attempts.say(book.unit) if book.attempts.count > 1 else "the only one"


def _together(book: Rulebook) -> str:
    return "each division by itself" if book.apart else "everybody"


def _ties(book: Rulebook) -> str:
    said = [str(tie) for tie in book.ties]
    return ", then ".join(said) or "none"


def _alike(one: str, two: str) -> int:
    """How alike two texts are, from 0 to 100."""
    return int(SequenceMatcher(None, one.casefold(), two.casefold()).ratio() * 100)
