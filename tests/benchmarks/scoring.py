"""Scoring: one run of 500 entries, and what one more entry costs among many runs.

Run `python -m tests.benchmarks.scoring`. The floor of a run is decoding its 500 entries, which any
engine must do. The growth is the time from one stored entry to its run's scorecard with 10,000 runs
loaded, against 100: aim about 1, as one run's update is no other's business.
"""

import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Final

from scoring import (
    Breach,
    Entry,
    EntryId,
    Mark,
    Outcome,
    PersonId,
    PostId,
    RuleId,
    RunId,
    Signal,
    SignalName,
    decode,
    encode,
    read_rulebook,
    score,
)
from tests.benchmarks.meet import make_meet, run_id
from web.data import rulebooks_folder
from web.services.runs import Runs
from web.storage.database import open_database
from web.storage.directory import Directory
from web.storage.memory import MemoryLog
from web.values import Stored

ENTRIES: Final = 500
FEW, MANY = 100, 10_000
_CONTENT: Final = (rulebooks_folder() / "sheave-change.yaml").read_bytes()
_BOOK: Final = read_rulebook(_CONTENT)
_TIMES: Final = 15


def entries(run: RunId, count: int) -> list[Entry]:
    """A run of so many entries: a start, marks on every item in turn, some breaches, a stop."""
    marks: list[tuple[RuleId, str]] = [
        (rule.id, item)
        for rule in _BOOK.rules.values()
        if rule.kind in {"step", "callout"}
        for item in rule.items
    ]
    breach = next(rule.id for rule in _BOOK.rules.values() if rule.kind == "conduct")
    made = [_entry(run, 0, Signal(SignalName.START))]
    for n in range(1, count - 1):
        rule, item = marks[n % len(marks)]
        outcome = Outcome.MISSING if n % 17 == 0 else Outcome.GOOD
        made.append(_entry(run, n, Breach(breach) if n % 29 == 0 else Mark(rule, outcome, item)))
    return [*made, _entry(run, count - 1, Signal(SignalName.STOP))]


def _entry(run: RunId, n: int, what: Mark | Breach | Signal) -> Entry:
    by = PersonId(f"judge-{n % 4}")
    return Entry(EntryId(f"{run}-{n:05}"), run, by, PostId("lift"), 1_000 + n * 3_000, 5, what)


def main() -> None:
    """Print the two ratios."""
    run = entries(RunId("r"), ENTRIES)
    stored = [encode(entry) for entry in run]
    ours = _least(lambda: score(run, _BOOK))
    floor = _least(lambda: [decode(mapping) for mapping in stored])
    print(f"scoring a run of {ENTRIES} entries: {ours * 1e3:.1f} ms, decoding them")
    print(f"  {floor * 1e3:.1f} ms: ratio {ours / floor:.2f}")
    with TemporaryDirectory() as folder:
        few, many = _update(FEW, Path(folder)), _update(MANY, Path(folder))
    print(f"one entry to its scorecard: {few * 1e3:.2f} ms among {FEW} runs,")
    print(f"  {many * 1e3:.2f} ms among {MANY:,}: ratio {many / few:.2f} (aim about 1)")


def _update(count: int, folder: Path) -> float:
    """Seconds from a stored entry to its run's scorecard, with so many runs loaded."""
    runs = Runs(MemoryLog(), _directory(count, folder))
    for n in range(count):
        runs.took(_stored(entries(run_id(n), 40), n * 40))
    first = run_id(0)
    more = iter(
        _stored(
            [
                replace(each, id=EntryId(f"more-{n}"))
                for n, each in enumerate(entries(first, _TIMES + 2)[1:-1])
            ],
            count * 40,
        )
    )

    def one() -> None:
        runs.took([next(more)])
        runs.card(first)

    return _least(one)


def _stored(those: list[Entry], seq: int) -> list[Stored]:
    return [Stored(seq + n, entry, 0, "") for n, entry in enumerate(those, 1)]


def _least(work: Callable[[], object]) -> float:
    """The least processor time of some turns: what the work costs when nothing disturbs it."""
    times = []
    for _ in range(_TIMES):
        begun = time.process_time()
        work()
        times.append(time.process_time() - begun)
    return min(times)


def _directory(count: int, folder: Path) -> Directory:
    """A directory of one event and so many runs, each of its own team."""
    make_meet(folder / f"{count}.db", count)
    return Directory(open_database(folder / f"{count}.db"))


if __name__ == "__main__":
    main()
