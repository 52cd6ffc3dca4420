"""Writes the scripts of demo_events/sheave-change: `python -m tests.demo_events.sheave_change`.

What each crew gets wrong is laid down here by hand; only how long each thing takes is drawn, from a
seeded generator, so that the same files come out every time.
"""

import math
import random
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import count
from pathlib import Path
from typing import Any, Final

import yaml

from scoring import Rule, Rulebook, RuleId, read_rulebook
from tests.house.tree import ROOT

FOLDER: Final = ROOT / "demo_events" / "sheave-change"
BOOK: Final = ROOT / "rulebooks" / "sheave-change.yaml"

#: Seconds that a middling crew takes over each step; a callout takes 3.
_SECONDS: Final = {
    rule: int(seconds)
    for rule, seconds in re.findall(
        r"(\S+) (\d+)",
        """
        A1 8  A2 10  A3 6  A4 25  A5 12  A6 40  A7 10  A8 20  A9 60  A10 18  A11 75  A12 20
        B1 60  B2 60  gear-good 12  B3 35  B4 35  B5 40  hook-seated 6  B6 12  B7 40  B8 25  B9 60
        B10 16  C1 25  C2 35  C3 40  C4 60  C5 25  C6 40  C7 25
        D1 12  D2 50  D3 45  D4 50  D5 45  D6 24  bearing 6  D7 50  D8 55  D9 20  D10 50  D11 12
        D12 70  D13 12  D14 80  D15 30  D16 25  D17 8
        E1 30  E2 45  E3 45  E4 45  E5 30  E6 20  E7 25  E8 60  E9 20  E10 50  E11 30  E12 15
        F1 20  all-clear 6  F2 40  F3 10  F4 20  F5 6  F6 45  F7 40  F8 40  F9 20
        """,
    )
}
_LAST: Final = RuleId("line-clear")

#: What a judge says of an item instead of "good": an outcome, or one of the words below.
Slips = Mapping[str, str]
_LATER: Final = "good, answered at close-out"
_UNSEEN: Final = "not seen, then asked around"
_MISTAKEN: Final = "missing, taken back, good"


@dataclass(frozen=True)
class Breaching:
    """A breach during a rule: which, by whom, and which posts mark it how many seconds apart."""

    rule: str
    during: str
    posts: Sequence[str]
    whom: str = ""
    apart: int = 4


@dataclass(frozen=True)
class Crew:
    """How a crew's run goes: `seconds` of official time, `slips` by rule or `rule/item`."""

    team: str
    bay: int
    seconds: str
    slips: Slips = field(default_factory=dict)
    breaches: Sequence[Breaching] = ()
    returns: Mapping[str, int] = field(default_factory=dict)
    swapped: Sequence[tuple[str, str]] = ()
    late_taps: Mapping[str, int] = field(default_factory=dict)
    hold: tuple[str, int, str] | None = None
    false_start: bool = False
    watches: Sequence[int] = (1, 2, 3)
    walkthrough: int = 340
    rulings: Sequence[Mapping[str, Any]] = ()


CREWS: Final = (
    Crew(
        "heron",
        bay=1,
        seconds="1752.4",
        slips={
            "gear-good/hoist two": "missing",
            "first-round": "wrong",
            "E4": _MISTAKEN,
            "A12": _LATER,
        },
        breaches=[Breaching("helmet", "C6", ["lift"], "fitter")],
    ),
    Crew(
        "fox",
        bay=2,
        seconds="1618.7",
        slips={
            "B8/downhill anchor": "missing",
            "C3": "wrong",
            "weight-on": "missing",
            "rope-clear": "missing",
            "hook-seated/downhill": "wrong",
            "D9": "wrong",
            "D14/3": "wrong",
            "D14/7": "wrong",
            "D16": "missing",
            "D17": _LATER,
        },
        breaches=[
            Breaching("under-load", "C6", ["lift", "bench"], "fitter"),
            Breaching("gloves", "B5", ["lift"], "rigger"),
            Breaching("gloves", "B9", ["lift"], "fitter"),
        ],
        returns={"shadow-board": 3},
        swapped=[("D7", "D8")],
        rulings=[
            {
                "finding": "D8 after/D7",
                "stands_on": ["D7", "D8"],
                "decision": "uphold",
                "reason": "The liner was in before the grease; the captain agrees.",
            }
        ],
    ),
    Crew(
        "owl",
        bay=1,
        seconds="1805.2",
        slips={
            "axle-in": "missing",
            "stopped": "wrong",
            "D12/2": "wrong",
            "D12/5": "wrong",
            "F3": _UNSEEN,
        },
        breaches=[Breaching("advice", "D6", ["bench", "lift"])],
        returns={"floor": 2},
        late_taps={"E3": 60},
        false_start=True,
        rulings=[
            {
                "finding": "E4 after/E3",
                "stands_on": ["E3", "E4"],
                "decision": "strike",
                "reason": "The lift judge tapped the axle late; the work was in order.",
            }
        ],
    ),
    Crew(
        "pine",
        bay=2,
        seconds="1775.2",
        slips={
            "A7": "missing",
            "C7": "wrong",
            "D3": "wrong",
            "E10/downhill": "wrong",
            "B1": _LATER,
        },
        breaches=[Breaching("before-dead", "A4", ["lift"], "rigger")],
        rulings=[
            {
                "finding": "before-dead/{before-dead 0}",
                "stands_on": ["before-dead"],
                "decision": "strike",
                "reason": "The power judge stood nearer and saw no hand on the rope.",
            }
        ],
    ),
    Crew(
        "anvil",
        bay=1,
        seconds="1880.0",
        slips={
            "no-start": "missing",
            "backup-on": "missing",
            "load-down": "wrong",
            "second-round": "wrong",
            "D6/left": "wrong",
            "D11": "missing",
            "F9": "missing",
            "C1": _LATER,
        },
        breaches=[Breaching("tools", "C4", ["lift"]), Breaching("tools", "D10", ["bench"])],
        returns={"rack": 2},
        hold=("D4", 100, "The lamps of the bay went out."),
        watches=(1, 3),
        walkthrough=394,
        rulings=[
            {
                "finding": "D6/left",
                "stands_on": ["D6/left"],
                "decision": "change",
                "cost": 5_000,
                "reason": "Turned, but not listened to; a step half done.",
            }
        ],
    ),
    Crew(
        "lantern",
        bay=2,
        seconds="2201.3",
        slips={
            "ask-stop": "missing",
            "brake-set": "missing",
            "locks-on": "wrong",
            "gear-good/sling": "missing",
            "clear-to-lift": "wrong",
            "rope-seated": "missing",
            "A5": "wrong",
            "B6": "missing",
            "E12": "missing",
            "A11/V to W": "wrong",
            "D2": "wrong",
            "E5/lower": "wrong",
            "E2": _MISTAKEN,
            "F5": _LATER,
        },
        breaches=[Breaching("rope-and-groove", "E8", ["lift", "bench"], "rigger", apart=6)],
        returns={"shadow-board": 14, "floor": 2},
    ),
    Crew(
        "marten",
        bay=1,
        seconds="1700.9",
        slips={
            "A6/rigger": "missing",
            "axle-out": "missing",
            "turns-free": "missing",
            "A1": "wrong",
            "D1": _LATER,
        },
        breaches=[
            Breaching("hand-on-load", "C5", ["lift"], "fitter"),
            Breaching("under-load", "E2", ["lift"], "rigger"),
        ],
    ),
)
#: Who does not start, and why.
ABSENT: Final = {"gorse": "The crew's van broke down on the way."}


class Day:
    """A crew's script in the making."""

    def __init__(self, crew: Crew, book: Rulebook) -> None:
        self._crew = crew
        self._book = book
        self._chance = random.Random(crew.team)  # noqa: S311 - durations of an invented day
        self._lines: list[tuple[int, int, str, dict[str, Any]]] = []
        self._turn = count()
        self._later: list[tuple[str, str, str, str]] = []

    def lines(self) -> list[dict[str, Any]]:
        """The whole run, in order of time."""
        crew = self._crew
        self._signal(5_000, "walkthrough")
        self._signal(5_000 + crew.walkthrough * 1_000, "walkthrough over")
        start = 420_000
        if crew.false_start:
            self._signal(start, "start")
            self._signal(start + 4_200, "false start", "The rigger moved before the signal.")
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
        return self._crew.hold[1] * 1_000 if self._crew.hold else 0

    def _run(self, start: int, official: int) -> int:
        """Every mark made as things happen; when the clock stops."""
        nominal = self._plan()
        whole = nominal[_LAST][1]
        scaled = {
            rule: (begin * official // whole, end * official // whole)
            for rule, (begin, end) in nominal.items()
        }
        for one, other in self._crew.swapped:
            here, there = RuleId(one), RuleId(other)
            scaled[here], scaled[there] = scaled[there], scaled[here]
        held_from = official
        if self._crew.hold:
            rule, seconds, reason = self._crew.hold
            held_from = scaled[RuleId(rule)][1] + 1_500
            self._signal(start + held_from, "hold", reason)
            self._signal(start + held_from + seconds * 1_000, "resume")

        def moment(into: int) -> int:
            return start + into + (self._held if into > held_from else 0)

        for each, span in scaled.items():
            self._mark(self._book.rules[each], span, moment)
        for breach in self._crew.breaches:
            begin, end = scaled[RuleId(breach.during)]
            for nth, post in enumerate(breach.posts):
                at = moment((begin + end) // 2) + nth * breach.apart * 1_000
                said = {"rule": breach.rule, "whom": breach.whom if nth == 0 else ""}
                self._add(at, post, "breach", said, f"{breach.rule} {nth}")
        return moment(official)

    def _plan(self) -> dict[RuleId, tuple[int, int]]:
        """When each step and callout begins and ends, at an uneven pace, in milliseconds."""
        spans: dict[RuleId, tuple[int, int]] = {}
        for task in self._book.tasks:
            free = 20_000 if task.id == "B" else 0
            for each in task.rules:
                rule = self._book.rules[each]
                ready = [spans[first][1] for first in rule.after.rules if first in spans]
                begin = max([free, *ready])
                pace = 850 + int(self._chance.random() * 300)
                free = begin + _SECONDS.get(each, 3) * pace
                spans[each] = (begin, free)
        last = max(end for _, end in spans.values())
        spans[_LAST] = (last, last)
        return spans

    def _mark(self, rule: Rule, span: tuple[int, int], moment: Callable[[int], int]) -> None:
        begin, end = span
        for nth, item in enumerate(rule.items, 1):
            slip = self._crew.slips.get(f"{rule.id}/{item}" if item else rule.id, "good")
            late = self._crew.late_taps.get(rule.id, 0) * 1_000
            for post in rule.posts:
                tap = 300 + int(self._chance.random() * 700)
                at = moment(begin + (end - begin) * nth // len(rule.items)) + tap + late
                if rule.id == _LAST:
                    at -= tap
                self._say(rule.id, item, post, at, slip)

    def _say(self, rule: str, item: str, post: str, at: int, slip: str) -> None:
        if slip in {_LATER, _UNSEEN}:
            self._later.append((rule, item, post, slip))
        elif slip == _MISTAKEN:
            self._add(at, post, "mark", _mark(rule, item, "missing"), f"mistake {rule}")
            back = {"entry": f"{{mistake {rule}}}", "reason": "Tapped the wrong answer."}
            self._add(at + 2_500, post, "withdrawal", back)
            self._add(at + 4_000, post, "mark", _mark(rule, item, "good"))
        else:
            self._add(at, post, "mark", _mark(rule, item, slip))

    def _watches(self, ends: int, shown: int) -> None:
        """Three hands on three watches; the one that counts rounds up to the time laid down."""
        counts = shown - int(self._chance.random() * 9) * 10
        two = len(self._crew.watches) == 2
        spread = [counts, counts - 120] if two else [counts - 90, counts + 130, counts]
        for nth, (watch, elapsed) in enumerate(zip(self._crew.watches, spread, strict=True)):
            self._add(
                ends + 6_000 + nth * 4_000, "clock", "watch", {"watch": watch, "elapsed": elapsed}
            )

    def _close_out(self, ends: int) -> None:
        for nth, rule in enumerate(r for r in self._book.rules.values() if r.kind == "returns"):
            missing = self._crew.returns.get(rule.id, 0)
            said = {"rule": rule.id, "count": missing}
            self._add(ends + 70_000 + nth * 15_000, rule.posts[0], "count", said)
        for nth, (rule_id, item, post, slip) in enumerate(self._later):
            at = ends + 60_000 + nth * 7_000
            if slip == _UNSEEN:
                self._add(at, post, "mark", _mark(rule_id, item, "unseen", timed=False))
                at += 30_000
            self._add(at, post, "mark", _mark(rule_id, item, "good", timed=False))
        for nth, post in enumerate(self._book.posts):
            self._add(ends + 150_000 + nth * 11_000, post, "close-out", {})

    def _rule(self, at: int) -> None:
        for nth, ruling in enumerate(self._crew.rulings):
            self._add(at + nth * 45_000, None, "ruling", dict(ruling))

    def _signal(self, at: int, signal: str, reason: str = "") -> None:
        said = {"signal": signal, "reason": reason} if reason else {"signal": signal}
        self._add(at, "clock", "signal", said)

    def _add(
        self, at: int, post: str | None, kind: str, what: dict[str, Any], key: str = ""
    ) -> None:
        by = "head" if post is None else f"{post}-{self._crew.bay}"
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
                    if _about(other.get("mark", other.get("breach", {}))) & about
                ]
        return lines

    def _id(self, number: int) -> str:
        return f"sheave-change.{self._crew.team}.{number:03d}"


def _about(observed: Mapping[str, Any]) -> set[str]:
    """What an observation is about: its rule, and the item of it as `rule/item`."""
    rule = observed.get("rule", "")
    return {rule, f"{rule}/{observed.get('item', '')}"}


def _mark(rule: str, item: str, outcome: str, *, timed: bool = True) -> dict[str, Any]:
    said: dict[str, Any] = {"rule": rule, "outcome": outcome}
    if item:
        said["item"] = item
    if not timed:
        said["timed"] = False
    return said


def scripts() -> Iterator[tuple[Path, str]]:
    """Each script's file and its text."""
    book = read_rulebook(BOOK.read_bytes(), BOOK.name)
    for crew in CREWS:
        yield FOLDER / "runs" / f"{crew.team}.yaml", _text(Day(crew, book).lines())
    for team, reason in ABSENT.items():
        line = {
            "at": 600_000,
            "by": "head",
            "status": {"status": "did not start", "reason": reason},
        }
        yield FOLDER / "runs" / f"{team}.yaml", _text([line])


def _text(lines: list[dict[str, Any]]) -> str:
    """One entry a line, so that a change shows as one line."""
    return "".join(
        "- "
        + yaml.safe_dump(
            line, default_flow_style=True, sort_keys=False, width=math.inf, allow_unicode=True
        )
        for line in lines
    )


if __name__ == "__main__":
    for file, text in scripts():
        file.write_text(text, encoding="utf-8")
