"""The sheets that are written on: one for each post, the crew's check sheet, the clock's."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby
from typing import Final

from scoring.durations import format_duration
from scoring.entries import Status
from scoring.ids import PostId, TaskId
from scoring.kinds.base import Rule
from scoring.kinds.derived import Derived
from scoring.kinds.reading import Reading
from scoring.kinds.setting import Setting
from scoring.kinds.valued import Valued
from scoring.papers.lines import Block, block, ordered
from scoring.papers.words import clock_words, said
from scoring.rulebook import Rulebook
from scoring.units import say

#: What stands above rules that belong to no task.
THROUGHOUT: Final = "At any time, and at the end"
_FORMS: Final = {
    "yes-no": "yes or no",
    "initials": "initials",
    "signature": "signature",
    "text": "in words",
}


@dataclass(frozen=True, slots=True)
class Section:
    """A task's part of a sheet, in the rulebook's order; a task may come again."""

    title: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class JudgeSheet:
    """All that a post watches, with the box for each answer; `assessor`: somebody signs it off."""

    post: PostId
    title: str
    sections: tuple[Section, ...]
    assessor: bool


@dataclass(frozen=True, slots=True)
class CheckLine:
    """One thing to write. `hint` is its form or unit; `written`: there is a line to write on."""

    rule: str
    text: str
    item: str
    by: str
    hint: str
    written: bool


@dataclass(frozen=True, slots=True)
class CheckSheet:
    """What the crew writes during the run. No reference stands on it."""

    lines: tuple[CheckLine, ...]


@dataclass(frozen=True, slots=True)
class ClockSheet:
    """What the timekeeper writes: the rules of the clock in words, and how many watches there are.

    `drawn` are the values to be drawn for the run, each with what it may be.
    """

    words: tuple[str, ...]
    watches: int
    walkthrough: str
    statuses: tuple[str, ...]
    drawn: tuple[tuple[str, str], ...]


def judge_sheet(post: PostId, book: Rulebook) -> JudgeSheet:
    """The sheet of one post: every rule it watches, once."""
    titles = {task.id: f"Task {task.id}: {task.title}" for task in book.tasks}

    def title(rule: Rule) -> str:
        return titles.get(rule.task or TaskId(""), THROUGHOUT)

    timed = ordered(book)
    return JudgeSheet(
        post,
        book.posts[post].title,
        tuple(
            Section(name, tuple(block(rule, book, timed) for rule in rules))
            for name, rules in groupby(book.watched_by(post), title)
        ),
        book.result == "assessment",
    )


def check_sheet(book: Rulebook) -> CheckSheet:
    """The crew's sheet; it has no line where the rulebook has nothing to write."""
    return CheckSheet(tuple(_check_lines(book)))


def _check_lines(book: Rulebook) -> Iterator[CheckLine]:
    for rule in book.rules.values():
        if isinstance(rule, Valued):
            by = said([str(book.crew.roles.get(role, role)) for role in rule.by], "or")
            for item in rule.items:
                hint, written = _hint(rule), not isinstance(rule, Derived)
                yield CheckLine(rule.id, rule.text, item, by, hint, written)


def _hint(rule: Valued) -> str:
    """In which form something is to be written."""
    if isinstance(rule, Setting):
        return f"to be set to {say(rule.value.amount, rule.number)}; write what it is set to"
    if isinstance(rule, Derived):
        return f"{rule.value} of {said(list(rule.of), 'and')}: worked out by the judges"
    if not isinstance(rule, Reading):
        return rule.number
    if rule.number:
        return f"in {rule.number}"
    if rule.date is not None:
        return f"date, {rule.date}"
    return _FORMS[rule.written] if rule.written is not None else said(list(rule.choices), "or")


def clock_sheet(book: Rulebook) -> ClockSheet:
    """The timekeeper's sheet."""
    walkthrough = book.clock.walkthrough
    return ClockSheet(
        words=tuple(clock_words(book)),
        watches=max(1, book.clock.watches, *(post.watches for post in book.posts.values())),
        walkthrough=format_duration(walkthrough.time, 1_000) if walkthrough is not None else "",
        statuses=tuple(Status),
        drawn=tuple(
            (name, said(list(given.choices), "or") or given.date or f"in {given.unit}")
            for name, given in book.givens.items()
        ),
    )
