"""How a sheet takes a rule: its lines, and what is written or ticked on each.

A judge's sheet and the workbook that it is keyed into are both made of these lines.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from itertools import takewhile
from typing import Final

from scoring.entries import Moment, Moved, Outcome
from scoring.ids import RuleId
from scoring.kinds.base import Control, Fault, Rule
from scoring.kinds.callout import Callout
from scoring.kinds.repeated import Repeated
from scoring.kinds.setting import Setting
from scoring.papers.words import more_words
from scoring.rulebook import Rulebook


class Takes(StrEnum):
    """What a line of a sheet wants."""

    ANSWER = "answer"
    BREACHES = "breaches"
    COUNT = "count"
    SECONDS = "seconds"
    CENTIMETRES = "centimetres"
    VALUE = "value"
    OVER = "over"
    NOTHING = "nothing"


@dataclass(frozen=True, slots=True)
class Line:
    """One line: an item of a rule, or the whole of it under an empty name."""

    rule: RuleId
    item: str
    takes: Takes
    #: What is printed beside the boxes; nothing where the rule's own text says it all.
    says: str = ""


@dataclass(frozen=True, slots=True)
class Block:
    """A rule on a sheet: what it says, what a judge must know of it, and its lines.

    `remark` is the author's own. `answers` are the boxes of each line that wants one. With `timed`
    the order of the work may depend on it, so that there is room for a time. With `across` its
    items are only numbers.
    """

    rule: RuleId
    kind: str
    text: str
    by: str
    notes: tuple[str, ...]
    remark: str
    answers: tuple[str, ...]
    lines: tuple[Line, ...]
    timed: bool
    across: bool


#: How a fault that may be put right came out, in the order of the sheet.
OUTCOMES: Final = (Fault.CORRECTED, Fault.NOT_CORRECTED, Fault.JUDGE_DID)
#: Their boxes say enough.
_PLAIN: Final = {"step", "callout"}
_WHOLE: Final = "all of it"
_TAKES: Final[Mapping[Control, Takes]] = {
    Control.BREACH: Takes.BREACHES,
    Control.COUNT: Takes.COUNT,
    Control.HOLD: Takes.SECONDS,
    Control.MEASURE: Takes.CENTIMETRES,
    Control.VALUE: Takes.VALUE,
    Control.CLOCK: Takes.OVER,
    Control.COMPUTED: Takes.NOTHING,
}
_ANSWERED: Final = {Takes.ANSWER, Takes.SECONDS, Takes.CENTIMETRES}


def lines(rule: Rule) -> tuple[Line, ...]:
    """The lines on which a sheet takes a rule."""
    takes = _TAKES.get(rule.control, Takes.ANSWER)
    if rule.control is Control.CORRECT:
        return tuple(Line(rule.id, how, Takes.COUNT, how) for how in OUTCOMES)
    if isinstance(rule, Setting):
        tries = (f"try {number}" for number in range(1, rule.tries + 1))
        return tuple(Line(rule.id, each, takes, each) for each in tries)
    if rule.control is Control.CLOCK:
        stopped = rule.takes(Moved(rule.id, Moment.END))
        return (Line(rule.id, "", takes, "stopped by the judge" if stopped else "over by"),)
    items = tuple(Line(rule.id, item, takes, item) for item in rule.items)
    if rule.control is Control.CHECKLIST:
        return (Line(rule.id, "", takes, _WHOLE), *items)
    return items


def answers(rule: Rule) -> Mapping[str, Outcome]:
    """The boxes of a rule's lines, in order, and what each means."""
    wanted = {line.takes for line in lines(rule)} & _ANSWERED
    return {label: outcome for outcome, label in rule.answers.items()} if wanted else {}


def block(rule: Rule, book: Rulebook, ordered: frozenset[RuleId]) -> Block:
    """A rule as it stands on a sheet; `ordered` are the rules that order is about."""
    made, boxes = lines(rule), tuple(answers(rule))
    return Block(
        rule=rule.id,
        kind=rule.kind,
        text=quoted(rule),
        by=roles(rule, book),
        notes=tuple(_notes(rule, book)),
        remark=rule.note,
        answers=boxes,
        lines=made,
        timed=made[0].takes is Takes.ANSWER and rule.id in ordered,
        across=made[0].takes is Takes.ANSWER and len(made) > 1 and _numbered(rule),
    )


def quoted(rule: Rule) -> str:
    """What a rule says; words that must be said stand in quotes."""
    return f"“{rule.text}”" if isinstance(rule, Callout) else rule.text


def roles(rule: Rule, book: Rulebook) -> str:
    """Who does it, by the names of the roles; nothing where anybody may."""
    return ", ".join(str(book.crew.roles.get(role, role)) for role in rule.by)


def ordered(book: Rulebook) -> frozenset[RuleId]:
    """The rules that must come before or after another."""
    found: set[RuleId] = set()
    for rule in book.rules.values():
        named = {*rule.after.rules, *(rule.before if isinstance(rule, Callout) else ())}
        if named or (isinstance(rule, Repeated) and (rule.first or rule.last)):
            found |= {rule.id, *named}
    return frozenset(found)


def _numbered(rule: Rule) -> bool:
    return isinstance(rule, Repeated) and not rule.each and rule.items == rule.repeats


def _beside(rule: Rule, book: Rulebook) -> set[RuleId]:
    """The rules that stand next to one in its task, callouts passed over: the sheet shows those."""
    task = next((task.rules for task in book.tasks if task.id == rule.task), (rule.id,))
    here = task.index(rule.id)
    found: set[RuleId] = set()
    for way in (task[:here][::-1], task[here + 1 :]):
        called = [*takewhile(lambda each: book.rules[each].kind == "callout", way)]
        found.update(way[: len(called) + 1])
    return found


def _notes(rule: Rule, book: Rulebook) -> Iterator[str]:
    """What else a judge must know of a rule."""
    if rule.holds():
        yield f"Holds {rule.holds()}."
    if rule.kind not in _PLAIN:
        yield from more_words(rule, book)
    near = _beside(rule, book)
    if after := [each for each in rule.after.rules if each not in near]:
        yield f"After {', '.join(after)}."
    if isinstance(rule, Callout) and (before := [each for each in rule.before if each not in near]):
        yield f"Before {', '.join(before)}."
    for name, value in rule.when:
        yield f"Only where {name} is {value}."
    if rule.control is Control.COMPUTED:
        yield "Worked out from the check sheet; nothing to write."
    others = [book.posts[post].title for post in rule.posts]
    if len(others) > 1:
        yield f"Watched from: {'; '.join(others)}."
