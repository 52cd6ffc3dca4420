"""Entries of one run, in whatever order and however often they came, as one run.

`fold` knows no rules. It is total (no entry makes it raise), and deaf to order and repeats: it
sees a set. What does not fit together becomes an `Anomaly` for a person to look at.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from itertools import pairwise
from typing import Final, TypeVar

from scoring.codec import encode
from scoring.entries import (
    OBSERVATIONS,
    Addition,
    CloseOut,
    Entry,
    Given,
    Ruling,
    Signal,
    SignalName,
    Signature,
    StatusRuling,
    TimeBack,
    WatchReading,
    What,
    Withdrawal,
)
from scoring.ids import EntryId, FindingId, PostId, RuleId

Kind = TypeVar("Kind")


class Oddity(StrEnum):
    """What can be odd about a record, whatever the rules."""

    TWO_UNDER_ONE_ID = "two different entries carry one id"
    WITHDRAWS_NOTHING = "a withdrawal names an entry that is not on the record"
    WITHDRAWS_A_WITHDRAWAL = "a withdrawal cannot be withdrawn; mark again instead"
    STARTED_TWICE = "started twice without a false start; the first start counts"
    STOP_WITHOUT_START = "stopped without a start; the stop does not count"
    STOPPED_TWICE = "stopped twice; the first stop counts"
    OUT_OF_PLACE = "a clock signal has no meaning where it stands; it does not count"
    HELD_TWICE = "held while held; the first hold counts"
    RESUMED_UNHELD = "resumed while not held"
    WATCH_READ_TWICE = "a watch was read twice with different times; the later entry counts"


@dataclass(frozen=True, slots=True)
class Anomaly:
    """Something odd on the record, and the entries that show it."""

    oddity: Oddity
    entries: tuple[EntryId, ...]


@dataclass(frozen=True, slots=True)
class Span:
    """From one moment to another, in milliseconds on the server's clock; `end` None: still open."""

    begin: int
    end: int | None
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Run:
    """One run as its record tells it. Everything is in order of time, the id deciding ties."""

    entries: tuple[Entry, ...] = ()
    withdrawn: tuple[Entry, ...] = ()
    anomalies: tuple[Anomaly, ...] = ()
    walkthrough: Span | None = None
    start: Entry | None = None
    stop: Entry | None = None
    holds: tuple[Span, ...] = ()
    false_starts: tuple[Entry, ...] = ()
    #: Danger stops, whenever they were given.
    dangers: tuple[Entry, ...] = ()
    #: The entry that holds for each watch.
    watches: Mapping[int, Entry] = field(default_factory=dict)
    closed: frozenset[PostId] = frozenset()
    #: The observations of each rule.
    seen: Mapping[RuleId, tuple[Entry, ...]] = field(default_factory=dict)
    #: What was drawn for this run: the latest value of each name.
    givens: Mapping[str, str] = field(default_factory=dict)
    #: The ruling that holds for each finding: the latest.
    rulings: Mapping[FindingId, Entry] = field(default_factory=dict)
    additions: tuple[Entry, ...] = ()
    times_back: tuple[Entry, ...] = ()
    #: The status ruling that holds: the latest.
    status: Entry | None = None
    #: The signature that holds for each person: the latest.
    signatures: tuple[Entry, ...] = ()

    @property
    def restarted(self) -> int:
        """When the last false start was called, or 0; what was timed earlier is of no attempt."""
        return self.false_starts[-1].at if self.false_starts else 0

    @property
    def held(self) -> int:
        """For how long the clock was held, in milliseconds; an open hold lasts until the stop."""
        return sum(hold.end - hold.begin for hold in self.holds if hold.end is not None)

    def into(self, at: int) -> int | None:
        """How far into the run a moment lies, holds taken out; None before there is a start."""
        if self.start is None:
            return None
        held = sum(
            min(at, hold.end if hold.end is not None else at) - hold.begin
            for hold in self.holds
            if hold.begin < at
        )
        return at - self.start.at - held


EMPTY: Final = Run()


def fold(entries: Iterable[Entry]) -> Run:
    """The run that a set of entries tells of."""
    known, anomalies = _one_of_each(entries)
    taken_back, odd = _withdrawn(known)
    anomalies += odd
    ordered = sorted(known.values(), key=lambda entry: entry.when)
    live = [entry for entry in ordered if entry.id not in taken_back]
    clock, odd = _clock(_of(live, Signal))
    anomalies += odd
    restarted = clock.false_starts[-1].at if clock.false_starts else 0
    watches, odd = _watches([each for each in _of(live, WatchReading) if each.at >= restarted])
    anomalies += odd
    seen: dict[RuleId, list[Entry]] = {}
    for entry in live:
        if isinstance(entry.what, OBSERVATIONS):
            seen.setdefault(entry.what.rule, []).append(entry)
    return Run(
        entries=tuple(live),
        withdrawn=tuple(entry for entry in ordered if entry.id in taken_back),
        anomalies=tuple(anomalies),
        walkthrough=clock.walkthrough,
        start=clock.start,
        stop=clock.stop,
        holds=clock.holds,
        false_starts=clock.false_starts,
        dangers=tuple(
            entry
            for entry in live
            if isinstance(entry.what, Signal) and entry.what.signal is SignalName.DANGER
        ),
        watches=watches,
        closed=frozenset(
            entry.post
            for entry in _of(live, CloseOut)
            if entry.post is not None and entry.at >= restarted
        ),
        seen={rule: tuple(those) for rule, those in seen.items()},
        givens={
            entry.what.name: entry.what.value for entry in live if isinstance(entry.what, Given)
        },
        rulings={entry.what.finding: entry for entry in live if isinstance(entry.what, Ruling)},
        additions=tuple(_of(live, Addition)),
        times_back=tuple(_of(live, TimeBack)),
        status=max(_of(live, StatusRuling), key=lambda entry: entry.when, default=None),
        signatures=tuple({entry.by: entry for entry in _of(live, Signature)}.values()),
    )


def _of(entries: Iterable[Entry], kind: type[What]) -> list[Entry]:
    return [entry for entry in entries if isinstance(entry.what, kind)]


def _one_of_each(entries: Iterable[Entry]) -> tuple[dict[EntryId, Entry], list[Anomaly]]:
    """Each id once. Where two differ under one id, the same one wins on every machine."""
    known: dict[EntryId, Entry] = {}
    clashing: set[EntryId] = set()
    for entry in entries:
        other = known.setdefault(entry.id, entry)
        if other != entry:
            clashing.add(entry.id)
            known[entry.id] = min(other, entry, key=lambda each: repr(encode(each)))
    return known, [Anomaly(Oddity.TWO_UNDER_ONE_ID, (clash,)) for clash in sorted(clashing)]


def _withdrawn(known: Mapping[EntryId, Entry]) -> tuple[set[EntryId], list[Anomaly]]:
    taken_back: set[EntryId] = set()
    anomalies: list[Anomaly] = []
    for entry in sorted(known.values(), key=lambda each: each.when):
        if not isinstance(entry.what, Withdrawal):
            continue
        target = known.get(entry.what.entry)
        if target is None:
            anomalies.append(Anomaly(Oddity.WITHDRAWS_NOTHING, (entry.id,)))
        elif isinstance(target.what, Withdrawal):
            anomalies.append(Anomaly(Oddity.WITHDRAWS_A_WITHDRAWAL, (entry.id, target.id)))
        else:
            taken_back.add(target.id)
    return taken_back, anomalies


def _watches(readings: list[Entry]) -> tuple[dict[int, Entry], list[Anomaly]]:
    by_watch: dict[int, list[Entry]] = {}
    for entry in readings:
        if isinstance(entry.what, WatchReading):
            by_watch.setdefault(entry.what.watch, []).append(entry)
    anomalies = [
        Anomaly(Oddity.WATCH_READ_TWICE, tuple(entry.id for entry in those))
        for _, those in sorted(by_watch.items())
        if any(one.what != two.what for one, two in pairwise(those))
    ]
    return {watch: those[-1] for watch, those in sorted(by_watch.items())}, anomalies


@dataclass(slots=True)
class _Clock:
    """The clock's state while its signals are read in order of time."""

    walkthrough: Span | None = None
    start: Entry | None = None
    stop: Entry | None = None
    holds: tuple[Span, ...] = ()
    false_starts: tuple[Entry, ...] = ()

    @property
    def held(self) -> bool:
        return bool(self.holds) and self.holds[-1].end is None

    def release(self, at: int) -> None:
        last = self.holds[-1]
        self.holds = (*self.holds[:-1], Span(last.begin, at, last.reason))


def _clock(signals: list[Entry]) -> tuple[_Clock, list[Anomaly]]:
    clock, anomalies = _Clock(), []
    for entry in signals:
        if isinstance(entry.what, Signal):
            oddity = _tick(clock, entry, entry.what)
            if oddity is not None:
                anomalies.append(Anomaly(oddity, (entry.id,)))
    return clock, anomalies


def _tick(clock: _Clock, entry: Entry, signal: Signal) -> Oddity | None:  # noqa: C901, PLR0911, PLR0912 - one case a signal
    """Move the clock by one signal; what is odd about it, if anything."""
    match signal.signal:
        case SignalName.WALKTHROUGH:
            if clock.walkthrough is not None or clock.start is not None:
                return Oddity.OUT_OF_PLACE
            clock.walkthrough = Span(entry.at, None)
        case SignalName.WALKTHROUGH_OVER:
            if clock.walkthrough is None or clock.walkthrough.end is not None:
                return Oddity.OUT_OF_PLACE
            clock.walkthrough = Span(clock.walkthrough.begin, entry.at)
        case SignalName.START:
            if clock.start is not None:
                return Oddity.STARTED_TWICE
            clock.start = entry
        case SignalName.FALSE_START:
            clock.false_starts = (*clock.false_starts, entry)
            clock.start, clock.stop, clock.holds = None, None, ()
        case SignalName.HOLD | SignalName.DANGER:
            if clock.held:
                return Oddity.HELD_TWICE
            if clock.start is None or clock.stop is not None:
                return Oddity.OUT_OF_PLACE if signal.signal is SignalName.HOLD else None
            reason = signal.reason or ("danger stop" if signal.signal is SignalName.DANGER else "")
            clock.holds = (*clock.holds, Span(entry.at, None, reason))
        case SignalName.RESUME:
            if not clock.held:
                return Oddity.RESUMED_UNHELD
            clock.release(entry.at)
        case SignalName.STOP:
            if clock.start is None:
                return Oddity.STOP_WITHOUT_START
            if clock.stop is not None:
                return Oddity.STOPPED_TWICE
            clock.stop = entry
            if clock.held:
                clock.release(entry.at)
    return None
