"""What is allowed in a rulebook and still likely to go wrong on the day, graded.

`Grade.WARNING` is something that will trouble judges or crews; `Grade.ADVICE` something to look at.
Each measure is explained in its own sentence; their bounds are common practice, no source.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import Final

from scoring.durations import format_duration
from scoring.ids import CategoryId, PostId, RuleId, TaskId
from scoring.kinds.base import Control, Rule
from scoring.kinds.conduct import AFTER_STOP, WALKTHROUGH, Charged, Conduct
from scoring.kinds.held import Held
from scoring.kinds.repeated import Charge, Repeated
from scoring.penalties import Scope
from scoring.rulebook import Rulebook

#: How long a rule's work usually takes where the author does not say, in milliseconds.
_TAKES: Final = {"step": 20_000, "callout": 3_000, "reading": 15_000, "held": 10_000}
_USUAL: Final = 10_000
#: What one mark and one conduct rule cost a judge in attention within a minute, in milliseconds.
_A_MARK: Final = 4_000
_A_CONDUCT: Final = 2_000
_MINUTE: Final = 60_000
#: From this share of all that could be charged once, a category decides the event.
_DECIDES: Final = Fraction(7, 10)


class Grade(StrEnum):
    """How much a remark matters."""

    WARNING = "warning"
    ADVICE = "advice"


@dataclass(frozen=True, slots=True)
class Remark:
    """One remark: how much it matters, the rule, post or category it is about, the sentence."""

    grade: Grade
    about: str
    says: str


def lint(book: Rulebook) -> tuple[Remark, ...]:
    """Every remark on a rulebook, warnings first."""
    remarks = [
        *_loads(book),
        *_unused(book),
        *_shared_words(book),
        *_claimed_twice(book),
        *_ladders(book),
        *_decides_all(book),
    ]
    return tuple(sorted(remarks, key=lambda each: (each.grade is not Grade.WARNING, each.about)))


@dataclass(frozen=True, slots=True)
class Load:
    """A post's busiest minute: when it begins in a run of usual pace, and what falls into it."""

    post: PostId
    begins: int
    task: TaskId | None
    marks: int
    conduct: int

    @property
    def attention(self) -> int:
        """The seconds of watching that the minute asks for, in milliseconds."""
        return self.marks * _A_MARK + self.conduct * _A_CONDUCT


def busiest(book: Rulebook, post: PostId) -> Load:
    """The minute of a run of usual pace in which a post has the most to watch.

    Tasks follow each other, and in a task one rule's work another's, each as long as it usually
    takes (`takes`, else 20 s a step, 15 s a reading, 3 s a callout, what must be held, 10 s
    anything else).
    """
    pace = [*_pace(book)]
    due = sorted(_due(pace, post), key=lambda each: each[0])
    holding = [*_holding(book, pace, post)]
    begins, ends = sorted(begin for begin, _ in holding), sorted(end for _, end in holding)
    worst = Load(post, 0, None, 0, 0)
    last = begun = ended = 0
    for first, (at, task) in enumerate(due):
        while last < len(due) and due[last][0] < at + _MINUTE:
            last += 1
        while begun < len(begins) and begins[begun] < at + _MINUTE:
            begun += 1
        while ended < len(ends) and ends[ended] <= at:
            ended += 1
        load = Load(post, at, task, last - first, begun - ended)
        if load.attention > worst.attention:
            worst = load
    return worst


#: What is not work of its own: kept or broken while other work is done, or watched by the clock.
_NO_WORK: Final = {Control.BREACH, Control.CORRECT, Control.CLOCK, Control.COMPUTED}


def _pace(book: Rulebook) -> Iterator[tuple[Rule, int, int]]:
    """Each rule of the tasks with when its work begins and ends in a run of usual pace."""
    at = 0
    for task in book.tasks:
        for name in task.rules:
            rule = book.rules[name]
            if rule.control in _NO_WORK:
                continue
            usual = _TAKES.get(rule.kind, _USUAL)
            if isinstance(rule, Held):
                usual = max(usual, rule.at_least)
            # A checklist is one act, however many points it has.
            acts = 1 if rule.control is Control.CHECKLIST else len(rule.items)
            took = (rule.takes_time or usual) * acts
            yield rule, at, at + took
            at += took


def _due(
    pace: Sequence[tuple[Rule, int, int]], post: PostId
) -> Iterator[tuple[int, TaskId | None]]:
    """When each mark of a post falls due, and in which task; a checklist is one tap."""
    for rule, begins, ends in pace:
        if post in rule.posts:
            marks = 1 if rule.control is Control.CHECKLIST else len(rule.items)
            for n in range(marks):
                yield begins + (ends - begins) * (n + 1) // marks, rule.task


def _holding(
    book: Rulebook, pace: Sequence[tuple[Rule, int, int]], post: PostId
) -> Iterator[tuple[int, int]]:
    """From when until when of the run each rule holds that a post must keep an eye on."""
    spans = {rule.id: (begins, ends) for rule, begins, ends in pace}
    end = max((ends for _, ends in spans.values()), default=0) + 1
    tasks = {task.id: [spans[rule] for rule in task.rules if rule in spans] for task in book.tasks}
    for rule in book.watched_by(post):
        if rule.control not in {Control.BREACH, Control.CORRECT}:
            continue
        during = rule.during or ((rule.task,) if rule.control is Control.CORRECT else ())
        if during and set(during) <= {WALKTHROUGH, AFTER_STOP}:
            continue
        if within := [span for task in during if task for span in tasks.get(task, [])]:
            yield min(begins for begins, _ in within), max(ends for _, ends in within)
            continue
        named = dict(rule.references())
        since, until = named.get("from"), named.get("until")
        yield (
            spans[since][0] if since in spans else 0,
            spans[until][1] if until in spans else end,
        )


def _loads(book: Rulebook) -> Iterator[Remark]:
    for post in book.posts:
        load = busiest(book, post)
        if load.attention > _MINUTE:
            task = f", in task {load.task}" if load.task is not None else ""
            yield Remark(
                Grade.WARNING,
                post,
                f"Post '{post}' has more to watch than a person can. At a usual pace {load.marks} "
                f"marks fall due there in the minute from {format_duration(load.begins, 1_000)} on"
                f"{task}, while {_many(load.conduct, 'rule')} of conduct must be kept in sight. At "
                f"{_A_MARK // 1_000} s a mark and {_A_CONDUCT // 1_000} s a rule of conduct that "
                f"is {load.attention // 1_000} s of watching. Give some of it to another post, or "
                "say with 'takes' how long the work really takes.",
            )


def _unused(book: Rulebook) -> Iterator[Remark]:
    """What the rulebook names and then makes no use of."""
    rules = book.rules.values()
    roles = {role for rule in rules for role in rule.by}
    watching = {post for rule in rules for post in rule.posts}
    givens = {name for rule in rules for name, _ in rule.when}
    givens |= {given for rule in rules for given in rule.reads_givens}
    givens |= {book.points.start} if isinstance(book.points.start, str) else set()
    for category in book.categories.keys() - _costing(book):
        yield Remark(Grade.WARNING, category, f"Nothing costs '{category}'.")
    for post in book.posts.values():
        if post.id not in watching and not post.watches:
            yield Remark(Grade.WARNING, post.id, f"Post '{post.id}' has nothing to watch.")
    for role in book.crew.roles.keys() - roles:
        yield Remark(Grade.ADVICE, role, f"No rule is for the role '{role}'.")
    for given in book.givens.keys() - givens:
        yield Remark(Grade.ADVICE, given, f"Nothing depends on the given '{given}'.")


def _costing(book: Rulebook) -> set[str]:
    """The categories that something costs."""
    return _costing_elsewhere(book) | {rule.costs for rule in book.rules.values()}


def _costing_elsewhere(book: Rulebook) -> set[str]:
    """The categories that something costs beside the rules' own failures."""
    clock, rules = book.clock, book.rules.values()
    limits = [limit for limit in (clock.limit, clock.walkthrough) if limit is not None]
    costs = [
        *(rule.after.costs for rule in rules),
        *(costs for rule in rules for _, costs in rule.more_costs()),
        *(limit.over for limit in limits),
        clock.false_start,
        book.order_costs,
    ]
    return {each for each in costs if isinstance(each, str)}


def _shared_words(book: Rulebook) -> Iterator[Remark]:
    """Different rules in the same words: nobody can tell on a sheet which was meant."""
    by_words: dict[tuple[str, tuple[str, ...]], list[RuleId]] = {}
    for rule in book.rules.values():
        by_words.setdefault((rule.text.casefold(), rule.by), []).append(rule.id)
    for rules in by_words.values():
        if len(rules) > 1:
            names = " and ".join(f"'{rule}'" for rule in rules)
            yield Remark(
                Grade.ADVICE,
                rules[0],
                f"{names} say the same; word them so that a sheet tells them apart.",
            )


def _claimed_twice(book: Rulebook) -> Iterator[Remark]:
    for rule in book.rules.values():
        if rule.kind == "callout" and len(rule.by) > len(rule.items):
            roles = " and ".join(f"'{role}'" for role in rule.by)
            yield Remark(
                Grade.ADVICE,
                rule.id,
                f"Callout '{rule.id}' is for {roles}: each may wait for the other to say it. Name "
                "one of them.",
            )


def _ladders(book: Rulebook) -> Iterator[Remark]:
    """Rungs that no run can reach, because there are fewer things to go wrong than rungs."""
    elsewhere = _costing_elsewhere(book)
    for category in book.categories.values():
        rungs = len(category.rungs)
        rules = [rule for rule in book.rules.values() if rule.costs == category.id]
        chances = [_chances(rule, book) for rule in rules]
        known = [chance for chance in chances if chance is not None]
        if rungs == 1 or not known or len(known) < len(chances) or category.id in elsewhere:
            continue
        most = max(known) if category.ladder is Scope.RULE else sum(known)
        if most < rungs:
            yield Remark(
                Grade.WARNING,
                category.id,
                f"The ladder of '{category.id}' has {rungs} steps, but in a run only "
                f"{_many(most, 'thing')} can go wrong that it counts. What comes after step {most} "
                "is never reached.",
            )


def _chances(rule: Rule, book: Rulebook) -> int | None:
    """How often a rule can cost its category in a run; None where there is no bound."""
    if rule.control is Control.CORRECT or (
        rule.control is Control.BREACH
        and not (isinstance(rule, Conduct) and rule.charged is Charged.ONCE)
    ):
        return None
    disorder = rule.after.costs is None and book.order_costs is None
    return _items(rule) + (len(rule.after.rules) if disorder else 0)


def _items(rule: Rule) -> int:
    """How many findings a rule makes if all about it goes wrong."""
    once = isinstance(rule, Repeated) and rule.charge is Charge.ONCE
    return 1 if once else len(rule.items)


def _decides_all(book: Rulebook) -> Iterator[Remark]:
    """A category that holds most of what could be charged if everything went wrong once."""
    charged: Counter[CategoryId] = Counter()
    for rule in book.rules.values():
        if rule.costed and rule.control is not Control.ACHIEVE:
            charged[rule.costs] += book.categories[rule.costs].rung(1).amount * _items(rule)
    for name, cost in charged.items():
        cap = book.categories[name].cap
        if cap is not None and book.categories[name].cap_of is Scope.CATEGORY:
            charged[name] = min(cost, cap)
    total = sum(charged.values())
    for name, cost in charged.items():
        share = Fraction(cost, total) if total else Fraction(0)
        if len(charged) > 1 and share >= _DECIDES and " " not in name:
            yield Remark(
                Grade.ADVICE,
                name,
                f"If everything went wrong once, '{name}' would be {int(share * 100)} % of all "
                "penalties: it decides the event, whatever else happens.",
            )


def _many(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number} {what}s"
