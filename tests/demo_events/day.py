"""Writes the script of a run: every mark a crew earns, at a drawn pace, with the slips laid down.

What a crew gets wrong is laid down by hand beside the event; only how long each thing takes is
drawn, from a generator seeded with the team, so that the same files come out every time.
"""

import random
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import count
from pathlib import Path
from typing import Any, Final

import yaml

from scoring import Rule, Rulebook, RuleId, Way, read_rulebook
from tests.house.tree import ROOT

DEMO_EVENTS: Final = ROOT / "demo_events"

#: What a judge says of an item instead of "good": an outcome, or one of the words below.
Slips = Mapping[str, str]
LATER: Final = "good, answered at close-out"
UNSEEN: Final = "not seen, then asked around"
MISTAKEN: Final = "missing, taken back, good"
#: Where nobody can read what stands on the sheet.
ILLEGIBLE: Final = "(illegible)"

_CALLOUT: Final = 3
#: Kinds that are done at their place in the work; the others are marked when they happen.
_WORKED: Final = {"step", "callout", "crew", "held"}


@dataclass(frozen=True)
class Breaching:
    """A breach during a rule: which, by whom, and which posts mark it how many seconds apart."""

    rule: str
    during: str
    posts: Sequence[str]
    whom: str = ""
    apart: int = 4


@dataclass(frozen=True)
class Also:
    """One more entry, so many seconds after a rule was begun; `key` is what others call it by."""

    rule: str
    seconds: float
    post: str
    kind: str
    what: Mapping[str, Any]
    key: str = ""


@dataclass(frozen=True)
class Hold:
    """A hold after a rule, of so many seconds; a danger stop where a post calls it."""

    after: str
    seconds: int
    reason: str
    danger: str = ""


@dataclass(frozen=True)
class Crew:
    """How a crew's run goes: `seconds` of official time, `slips` by rule or `rule/item`.

    `values` is what stands on the sheet or the dial, by rule or `rule/item`, a sequence for tries;
    `lasted` how many seconds was held, `centimetres` how far a thing was out. `bay` 0: there is
    only one. `takes` goes before that of the course. `signed` is the assessor's outcome and remark.
    """

    team: str
    seconds: str
    bay: int = 0
    slips: Slips = field(default_factory=dict)
    breaches: Sequence[Breaching] = ()
    returns: Mapping[str, int | Sequence[str]] = field(default_factory=dict)
    swapped: Sequence[tuple[str, str]] = ()
    late_taps: Mapping[str, int] = field(default_factory=dict)
    hold: Hold | None = None
    false_starts: int = 0
    watches: Sequence[int] = ()
    walkthrough: int = 0
    rulings: Sequence[Mapping[str, Any]] = ()
    givens: Mapping[str, str] = field(default_factory=dict)
    values: Mapping[str, str | Sequence[str]] = field(default_factory=dict)
    lasted: Mapping[str, float] = field(default_factory=dict)
    centimetres: Mapping[str, float] = field(default_factory=dict)
    earned: Sequence[str] = ()
    also: Sequence[Also] = ()
    takes: Mapping[str, int] = field(default_factory=dict)
    signed: tuple[str, str] | None = None


@dataclass(frozen=True)
class Course:
    """An event as its crews meet it.

    `takes` is how many seconds a middling crew needs for a rule, where the rulebook does not say,
    and `begins` how far into the run a task may begin, for tasks that go on side by side.
    """

    event: str
    rulebook: str
    folder: Path
    takes: Mapping[str, int] = field(default_factory=dict)
    begins: Mapping[str, int] = field(default_factory=dict)
    #: What a crew writes or sets where it makes no slip.
    values: Mapping[str, str] = field(default_factory=dict)
    walkthrough: int = 0
    #: How many seconds after its run begins the first start is given.
    start: int = 420

    @property
    def book(self) -> Rulebook:
        """Its rulebook."""
        file = ROOT / "rulebooks" / f"{self.rulebook}.yaml"
        return read_rulebook(file.read_bytes(), file.name)

    def scripts(
        self, crews: Iterable[Crew], absent: Mapping[str, str] | None = None
    ) -> Iterator[tuple[Path, str]]:
        """Each script's file and its text; `absent` are who does not start, and why."""
        book = self.book
        for crew in crews:
            yield self.folder / "runs" / f"{crew.team}.yaml", _text(Day(self, crew, book).lines())
        for team, reason in (absent or {}).items():
            status = {"status": "did not start", "reason": reason}
            line = {"at": 600_000, "by": "head", "status": status}
            yield self.folder / "runs" / f"{team}.yaml", _text([line])


class Day:
    """A crew's script in the making."""

    def __init__(self, course: Course, crew: Crew, book: Rulebook) -> None:
        self._course = course
        self._crew = crew
        self._book = book
        self._chance = random.Random(crew.team)  # noqa: S311 - durations of an invented day
        self._lines: list[tuple[int, int, str, dict[str, Any]]] = []
        self._turn = count()
        self._later: list[tuple[str, str, str, str]] = []
        self._clock = next(post.id for post in book.posts.values() if post.watches)
        self._there = [
            rule
            for rule in book.rules.values()
            if all(crew.givens.get(name) == value for name, value in rule.when)
        ]
        self._last = book.clock.ends

    def lines(self) -> list[dict[str, Any]]:
        """The whole run, in order of time."""
        crew = self._crew
        for nth, (name, value) in enumerate(crew.givens.items()):
            self._add(1_000 + nth * 1_000, None, "given", {"name": name, "value": value})
        walkthrough = crew.walkthrough or self._course.walkthrough
        if walkthrough:
            self._signal(5_000, "walkthrough")
            self._signal(5_000 + walkthrough * 1_000, "walkthrough over")
        start = self._course.start * 1_000
        self._settings(start)
        for _ in range(crew.false_starts):
            self._signal(start, "start")
            self._signal(start + 4_200, "false start", "Somebody moved before the signal.")
            start += 60_000
        self._signal(start, "start")
        official = round(float(crew.seconds) * 1_000)
        ends = self._run(start, official)
        self._signal(ends, "stop")
        self._watches(ends, official + self._held)
        self._close_out(ends)
        self._rule(ends + 400_000)
        return self._numbered()

    @property
    def _held(self) -> int:
        return self._crew.hold.seconds * 1_000 if self._crew.hold else 0

    def _run(self, start: int, official: int) -> int:
        """Every mark made as things happen; when the clock stops."""
        nominal = self._plan()
        whole = max(end for _, end in nominal.values())
        scaled = {
            rule: (begin * official // whole, end * official // whole)
            for rule, (begin, end) in nominal.items()
        }
        for one, other in self._crew.swapped:
            here, there = RuleId(one), RuleId(other)
            scaled[here], scaled[there] = scaled[there], scaled[here]
        held_from = official
        if self._crew.hold:
            held_from = self._hold(start, scaled[RuleId(self._crew.hold.after)][1], self._crew.hold)

        def moment(into: int) -> int:
            return start + into + (self._held if into > held_from else 0)

        for each, span in scaled.items():
            self._work(self._book.rules[each], span, moment)
        for breach in self._crew.breaches:
            begin, end = scaled[RuleId(breach.during)]
            for nth, post in enumerate(breach.posts):
                at = moment((begin + end) // 2) + nth * breach.apart * 1_000
                said = {"rule": breach.rule, "whom": breach.whom if nth == 0 else ""}
                self._add(at, post, "breach", said, f"{breach.rule} {nth}")
        for more in self._crew.also:
            at = moment(scaled[RuleId(more.rule)][0]) + round(more.seconds * 1_000)
            self._add(at, more.post, more.kind, dict(more.what), more.key)
        return moment(official)

    def _hold(self, start: int, after: int, hold: Hold) -> int:
        """Hold the clock after something; how far into the run."""
        held_from = after + 1_500
        signal = "danger" if hold.danger else "hold"
        said = {"signal": signal, "reason": hold.reason}
        self._add(start + held_from, hold.danger or self._clock, "signal", said)
        self._signal(start + held_from + hold.seconds * 1_000, "resume")
        return held_from

    def _plan(self) -> dict[RuleId, tuple[int, int]]:
        """When each rule of the work begins and ends, at an uneven pace, in milliseconds."""
        spans: dict[RuleId, tuple[int, int]] = {}
        free = 0
        for task in self._book.tasks:
            if task.id in self._course.begins:
                free = self._course.begins[task.id] * 1_000
            for rule in self._there:
                if rule.id not in task.rules or rule.kind not in _WORKED:
                    continue
                ready = [spans[first][1] for first in rule.after.rules if first in spans]
                begin = max([free, *ready])
                pace = 850 + int(self._chance.random() * 300)
                free = begin + self._seconds(rule) * pace
                spans[rule.id] = (begin, free)
        last = max(end for _, end in spans.values())
        if self._last is not None:
            spans[self._last] = (last, last)
        return spans

    def _seconds(self, rule: Rule) -> int:
        """How many seconds a middling crew takes."""
        acts = getattr(rule, "repeats", rule.items)
        usual = rule.takes_time * len(acts) // 1_000 or _CALLOUT
        return self._crew.takes.get(rule.id, self._course.takes.get(rule.id, usual))

    def _work(self, rule: Rule, span: tuple[int, int], moment: Callable[[int], int]) -> None:
        if rule.kind == "held" and rule.id not in self._crew.slips:
            _, end = span
            # A second more than is asked, where nothing else is laid down.
            least: int = getattr(rule, "at_least", 0)
            lasted = round(self._crew.lasted.get(rule.id, least / 1_000 + 1) * 1_000)
            for post in rule.posts:
                at = moment(end)
                self._add(at - lasted, post, "moved", {"rule": rule.id, "moment": "begin"})
                self._add(at, post, "moved", {"rule": rule.id, "moment": "end"}, f"{rule.id} end")
            return
        self._mark(rule, span, moment)

    def _mark(self, rule: Rule, span: tuple[int, int], moment: Callable[[int], int]) -> None:
        begin, end = span
        for nth, item in enumerate(rule.items, 1):
            named = f"{rule.id}/{item}" if item else rule.id
            slip = self._crew.slips.get(named, "good")
            late = self._crew.late_taps.get(named, 0) * 1_000
            for post in rule.posts:
                tap = 300 + int(self._chance.random() * 700)
                at = moment(begin + (end - begin) * nth // len(rule.items)) + tap + late
                if rule.id == self._last:
                    at -= tap
                self._say(rule.id, item, post, at, slip)

    def _say(self, rule: str, item: str, post: str, at: int, slip: str) -> None:
        if slip in {LATER, UNSEEN}:
            self._later.append((rule, item, post, slip))
        elif slip == MISTAKEN:
            self._add(at, post, "mark", _mark(rule, item, "missing"), f"mistake {rule}")
            back = {"entry": f"{{mistake {rule}}}", "reason": "Tapped the wrong answer."}
            self._add(at + 2_500, post, "withdrawal", back)
            self._add(at + 4_000, post, "mark", _mark(rule, item, "good"))
        else:
            self._add(at, post, "mark", _mark(rule, item, slip))

    def _settings(self, start: int) -> None:
        """What tools are set to, try by try, before the start."""
        for rule in (each for each in self._there if each.kind == "setting"):
            said = self._crew.values.get(rule.id, self._course.values.get(rule.id, ""))
            tries = [said] if isinstance(said, str) else said
            for nth, value in enumerate(tries):
                at = start - 30_000 + nth * 12_000
                self._add(at, rule.posts[0], "value", {"rule": rule.id, "value": value})

    def _watches(self, ends: int, shown: int) -> None:
        """Hands on watches; what is made of them comes to the time laid down."""
        drawn = int(self._chance.random() * 9) * 10
        up = self._book.clock.rounding == "up"
        counts = shown - drawn if up else shown - 40 + drawn
        watches = self._crew.watches or range(1, self._book.clock.watches + 1)
        middle = self._book.clock.ways[0] is Way.MIDDLE
        spread = {1: [counts], 2: [counts, counts - 120], 3: [counts - 90, counts + 130, counts]}
        if self._book.clock.ways[0] is Way.MEAN:
            spread[2] = [counts + 70, counts - 70]
        assert middle or len(watches) < len(spread)
        for nth, (watch, elapsed) in enumerate(zip(watches, spread[len(watches)], strict=True)):
            said = {"watch": watch, "elapsed": elapsed}
            self._add(ends + 6_000 + nth * 4_000, self._clock, "watch", said)

    def _close_out(self, ends: int) -> None:
        returned = (rule for rule in self._there if rule.kind == "returns")
        for nth, rule in enumerate(returned):
            self._count(rule, ends + 70_000 + nth * 15_000)
        for nth, (rule_id, item, post, slip) in enumerate(self._later):
            at = ends + 60_000 + nth * 7_000
            if slip == UNSEEN:
                self._add(at, post, "mark", _mark(rule_id, item, "unseen", timed=False))
                at += 30_000
            self._add(at, post, "mark", _mark(rule_id, item, "good", timed=False))
        for nth, rule in enumerate(self._there):
            self._look(rule, ends + 90_000 + nth * 1_000)
        for nth, post in enumerate(self._book.posts):
            self._add(ends + 150_000 + nth * 11_000, post, "close-out", {})
        if self._crew.signed is not None:
            outcome, remark = self._crew.signed
            said = {"outcome": outcome, "remark": remark}
            self._add(ends + 600_000, self._clock, "signature", said)

    def _count(self, rule: Rule, at: int) -> None:
        missing = self._crew.returns.get(rule.id, 0)
        post = rule.posts[0]
        if rule.items == ("",):
            self._add(at, post, "count", {"rule": rule.id, "count": missing})
            return
        self._add(at, post, "mark", _mark(rule.id, "", "good", timed=False))
        for nth, item in enumerate(missing if not isinstance(missing, int) else (), 1):
            self._add(at + nth * 1_000, post, "mark", _mark(rule.id, item, "missing", timed=False))

    def _look(self, rule: Rule, at: int) -> None:
        """What is read, measured and given once the run is over."""
        if rule.kind == "reading":
            for item in rule.items:
                named = f"{rule.id}/{item}" if item else rule.id
                value = self._crew.values.get(named, self._course.values.get(named, ""))
                said: dict[str, Any] = {"rule": rule.id, "value": value}
                if value == ILLEGIBLE:
                    said = {"rule": rule.id, "value": "", "legible": False}
                self._add(at, rule.posts[0], "value", said | ({"item": item} if item else {}))
        elif rule.kind == "bonus":
            outcome = "good" if rule.id in self._crew.earned else "missing"
            self._add(at, rule.posts[0], "mark", _mark(rule.id, "", outcome, timed=False))
        elif rule.kind == "placement" and rule.control == "measure":
            amount = round(self._crew.centimetres.get(rule.id, 0) * 1_000)
            self._add(at, rule.posts[0], "measured", {"rule": rule.id, "amount": amount})
        elif rule.kind == "placement":
            slip = self._crew.slips.get(rule.id, "good")
            self._add(at, rule.posts[0], "mark", _mark(rule.id, "", slip, timed=False))

    def _rule(self, at: int) -> None:
        for nth, ruling in enumerate(self._crew.rulings):
            self._add(at + nth * 45_000, None, "ruling", dict(ruling))

    def _signal(self, at: int, signal: str, reason: str = "") -> None:
        said = {"signal": signal, "reason": reason} if reason else {"signal": signal}
        self._add(at, self._clock, "signal", said)

    def _add(
        self, at: int, post: str | None, kind: str, what: dict[str, Any], key: str = ""
    ) -> None:
        bay = f"-{self._crew.bay}" if self._crew.bay else ""
        by = "head" if post is None else f"{post}{bay}"
        where = {} if post is None else {"post": post}
        self._lines.append((at, next(self._turn), key, {"at": at, "by": by, **where, kind: what}))

    def _numbered(self) -> list[dict[str, Any]]:
        """The lines in order, with each `{key}` replaced by the id of the line called so."""
        ordered = sorted(self._lines, key=lambda line: line[:2])
        ids = {key: self._id(number) for number, (_, _, key, _) in enumerate(ordered, 1) if key}
        lines = [line for _, _, _, line in ordered]
        for line in lines:
            for what in (line.get("withdrawal", {}), line.get("ruling", {})):
                for name in {"entry", "finding"} & what.keys():
                    what[name] = what[name].format_map(ids)
            if "ruling" in line:
                about = set(line["ruling"]["stands_on"])
                line["ruling"]["stands_on"] = [
                    self._id(number)
                    for number, other in enumerate(lines, 1)
                    if _about(other) & about
                ]
        return lines

    def _id(self, number: int) -> str:
        return f"{self._course.event}.{self._crew.team}.{number:03d}"


def _about(line: Mapping[str, Any]) -> set[str]:
    """What an observation is about: its rule, and the item of it as `rule/item`."""
    kinds = ("mark", "breach", "moved")
    said: Mapping[str, Any] = next((line[kind] for kind in kinds if kind in line), {})
    rule = said.get("rule", "")
    return {rule, f"{rule}/{said.get('item', '')}"}


def _mark(rule: str, item: str, outcome: str, *, timed: bool = True) -> dict[str, Any]:
    said: dict[str, Any] = {"rule": rule, "outcome": outcome}
    if item:
        said["item"] = item
    if not timed:
        said["timed"] = False
    return said


def _text(lines: list[dict[str, Any]]) -> str:
    """One entry a line, so that a change shows as one line."""
    return "".join(
        "- "
        + yaml.safe_dump(
            line, default_flow_style=True, sort_keys=False, width=10**9, allow_unicode=True
        )
        for line in lines
    )
