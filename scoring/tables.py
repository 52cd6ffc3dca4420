"""A table of runs, one row a run, scored: how an event kept on paper is scored.

A table says how often each rule was failed, not when and not which of its items; what it leaves
out was done. What it says is settled: a finding that a rule would only propose counts.

| column | what it holds |
|---|---|
| `team` | the team's name, once |
| `division` | the class it is ranked in |
| `status` | `did not start`, `did not finish` or `disqualified`; empty where it has a time |
| `reason` | why, beside a status |
| `time` | the time before penalties, or instead of it `watch 1` to `watch 9` |
| `time back` | what the head judge gave back; with a minus, took |
| a rule's id | how many failures; of a bonus, whether it was earned (1) |
| `published total`, `published rank` | a result to compare with; it changes nothing |
"""

import hashlib
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final, TypeAlias

from scoring.durations import format_duration, parse_duration
from scoring.entries import (
    Addition,
    Breach,
    CloseOut,
    Count,
    Decision,
    Entry,
    Mark,
    Moment,
    Moved,
    Outcome,
    Ruling,
    Signal,
    SignalName,
    Status,
    StatusRuling,
    TimeBack,
    WatchReading,
    What,
)
from scoring.errors import DurationError, Problem, TableError
from scoring.fields import listed, nearest
from scoring.findings import State
from scoring.ids import EntryId, PersonId, PostId, RuleId, RunId, TeamId
from scoring.kinds.base import Rule
from scoring.kinds.bonus import Bonus
from scoring.kinds.conduct import Charged, Conduct
from scoring.rulebook import Rulebook
from scoring.scorecard import score
from scoring.standings import Entrant, Standing, rank

Rows: TypeAlias = Sequence[Sequence[str]]

#: As many rows and marks as a table may stand for; beyond them it is no event.
_MOST_ROWS: Final = 20_000
_MOST_MARKS: Final = 1_000_000
_MOST: Final = 999
_MOST_COUNTED: Final = 9_999
_LONGEST_NAME: Final = 300
_WHOLE: Final = re.compile(r"\d{1,6}", re.ASCII)
_TABLE: Final = PersonId("run table")
_SAYS: Final = "as the run table says"

_PLAIN: Final = ("team", "division", "status", "reason", "time", "time back")
_WATCHES: Final = tuple(f"watch {n}" for n in range(1, 10))
_PUBLISHED: Final = ("published total", "published rank")
_HEADS: Final = (*_PLAIN, *_WATCHES, *_PUBLISHED)


@dataclass(frozen=True, slots=True)
class TableRun:
    """A row: who ran, the record it stands for, and what was published of it elsewhere."""

    row: int
    entrant: Entrant
    entries: tuple[Entry, ...]
    published_total: int | None = None
    published_rank: int | None = None


@dataclass(frozen=True, slots=True)
class Flag:
    """A published value that is not what the rules give; it is reported, never repaired."""

    row: int
    team: str
    column: str
    published: str
    ours: str

    def __str__(self) -> str:
        return (
            f"row {self.row}: {self.team}: the {self.column} is {self.published}; "
            f"the rules give {self.ours}."
        )


@dataclass(frozen=True, slots=True)
class ScoredTable:
    """The standings of a run table, and where its published values differ from them."""

    standings: tuple[Standing, ...]
    flags: tuple[Flag, ...]


def score_run_table(rows: Rows, book: Rulebook, file: str = "runs") -> ScoredTable:
    """The standings of a run table; raises `TableError` with every problem in it."""
    runs = read_run_table(rows, book, file)
    standings = rank([(run.entrant, score(run.entries, book)) for run in runs], book)
    places = {standing.entrant.team: standing for standing in standings}
    flags = [flag for run in runs for flag in _flags(run, places[run.entrant.team])]
    return ScoredTable(standings, tuple(flags))


def read_run_table(rows: Rows, book: Rulebook, file: str = "runs") -> tuple[TableRun, ...]:
    """The runs of a table of text cells, whose first row that is not empty names the columns.

    Problems name the 1-based row and column. Raises `TableError` with all of them.
    """
    reading = _Reading(book)
    runs = tuple(reading.runs(rows))
    if reading.problems:
        raise TableError(file, tuple(reading.problems))
    return runs


def _flags(run: TableRun, standing: Standing) -> Iterator[Flag]:
    total, place = standing.scorecard.total, standing.place
    ours = str(standing.scorecard.status or "no result")
    if run.published_total not in {None, total}:
        yield Flag(
            run.row,
            run.entrant.name,
            "published total",
            format_duration(run.published_total or 0),
            format_duration(total) if total is not None else ours,
        )
    if run.published_rank not in {None, place}:
        yield Flag(
            run.row,
            run.entrant.name,
            "published rank",
            str(run.published_rank),
            str(place) if place is not None else ours,
        )


@dataclass(slots=True)
class _Row:
    """The cells of a row under their heads, and where they stand."""

    number: int
    cells: Mapping[str, str]
    columns: Mapping[str, int]
    problems: list[Problem]

    def wrong(self, head: str, says: str) -> None:
        """Complain about a cell."""
        self.problems.append(Problem(self.number, self.columns.get(head, 1), head, says))

    def text(self, head: str) -> str:
        """A cell's text; empty where there is no such column."""
        return self.cells.get(head, "")

    def read(self, head: str, how: Callable[[str], int]) -> int | None:
        """A cell's value; None where it is empty or no such value, which is a problem."""
        text = self.text(head)
        if not text:
            return None
        try:
            return how(text)
        except (DurationError, ValueError) as error:
            self.wrong(head, str(error))
            return None


@dataclass(slots=True)
class _Reading:
    """A table being read: what is wrong so far, and the rows that name each team."""

    book: Rulebook
    problems: list[Problem] = field(default_factory=list)
    teams: dict[str, int] = field(default_factory=dict)

    def runs(self, rows: Rows) -> Iterator[TableRun]:
        filled = [(n, row) for n, row in enumerate(rows, start=1) if any(map(str.strip, row))]
        if len(filled) < 2:  # noqa: PLR2004 - the heads and one run
            self._wrong(1, 1, "There is no run in this table: one row of heads, then a row a run.")
            return
        heads = self._heads(*filled[0])
        marks = sum(len(rule.items) * len(rule.posts) for rule in self.book.rules.values())
        most = min(_MOST_ROWS, _MOST_MARKS // max(marks, 1))
        if len(filled) - 1 > most:
            self._wrong(filled[0][0], 1, f"{len(filled) - 1:,} runs; at most {most:,} are allowed.")
            return
        for number, cells in filled[1:]:
            if len(cells) > len(heads) and any(map(str.strip, cells[len(heads) :])):
                self._wrong(number, len(heads) + 1, "A cell stands beyond the last head.")
            named = {head: cell.strip() for head, cell in zip(heads, cells, strict=False) if head}
            columns = {head: n for n, head in enumerate(heads, start=1) if head}
            yield self._run(_Row(number, named, columns, self.problems))
            if len(self.problems) > _MOST:
                self._wrong(number, 1, "So much is wrong that the rest was not read.")
                return

    def _heads(self, number: int, cells: Sequence[str]) -> list[str]:
        """The columns by their names; what is unknown or doubled is a problem and stays unread."""
        rules = [str(rule) for rule in self.book.rules]
        heads: list[str] = []
        for n, cell in enumerate(cells, start=1):
            written = cell.strip()
            plain = " ".join(written.casefold().split())
            head = written if written in self.book.rules else plain if plain in _HEADS else ""
            if written and not head:
                allowed = f"allowed are {listed([*_HEADS[:6], 'watch 1'])} and the rules' ids"
                near = nearest(written[:60], [*rules, *_HEADS])
                self._wrong(number, n, f"Unknown column '{written[:60]}'; {allowed}.{near}")
            elif head and head in heads:
                self._wrong(number, n, f"The column '{head}' stands here twice.")
                head = ""
            heads.append(head)
        if "team" not in heads:
            self._wrong(number, 1, "The column 'team' is missing.")
        for clash in sorted({*rules} & {*_HEADS}):
            self._wrong(number, 1, f"The rule '{clash}' has the name of a column; give it another.")
        return heads

    def _wrong(self, row: int, column: int, says: str) -> None:
        self.problems.append(Problem(row, column, "", says))

    def _run(self, row: _Row) -> TableRun:
        entrant = self._entrant(row)
        status = _status(row)
        watches = _watches(row)
        back = row.read("time back", _signed)
        if status is Status.DID_NOT_START and watches:
            row.wrong("status", "Who did not start has no time; leave one of them out.")
        if not watches and not any(row.text(head) for head in ("status", "time", *_WATCHES)):
            row.wrong("time", "No time and no status; write one of them.")
        if back is not None and watches and back >= min(watches.values()):
            row.wrong("time back", "More time back than the run took.")
        counts = {
            rule.id: row.read(rule.id, _whole(0, _most(rule))) or 0
            for rule in self.book.rules.values()
        }
        record = _Record(self.book, entrant.team)
        record.add_run(status, row.text("reason"), watches, back, counts)
        return TableRun(
            row.number,
            entrant,
            record.settled() if not self.problems else (),
            row.read("published total", parse_duration),
            row.read("published rank", _whole(1, _MOST_ROWS)),
        )

    def _entrant(self, row: _Row) -> Entrant:
        name = row.text("team")
        if not name and "team" in row.columns:
            row.wrong("team", "No team; write its name.")
        if len(name) > _LONGEST_NAME:
            row.wrong("team", f"{len(name)} characters; at most {_LONGEST_NAME} are allowed.")
        first = self.teams.setdefault(name.casefold(), row.number)
        if name and first != row.number:
            row.wrong("team", f"'{name[:60]}' has a run already, in row {first}.")
        # A lone surrogate, which no file should hold, must not stop the reading.
        digest = hashlib.sha256(name.encode(errors="surrogatepass")).hexdigest()
        return Entrant(TeamId(digest[:16]), name, row.text("division"))


def _status(row: _Row) -> Status | None:
    written = " ".join(row.text("status").casefold().split())
    allowed = [str(status) for status in Status]
    if not written:
        if row.text("reason"):
            row.wrong("reason", "A reason stands beside a status only.")
        return None
    if written not in allowed:
        says = f"'{written[:60]}' is no status; allowed are {listed(allowed)}, or nothing."
        row.wrong("status", says + nearest(written, allowed))
        return None
    return Status(written)


def _watches(row: _Row) -> dict[int, int]:
    """What each watch showed; a plain time is the first watch's."""
    read = {n: row.read(head, _time) for n, head in enumerate(_WATCHES, start=1)}
    time = row.read("time", _time)
    if time is not None and any(each is not None for each in read.values()):
        row.wrong("time", "Give a time or what the watches showed, not both.")
    if time is not None:
        return {1: time}
    return {n: each for n, each in read.items() if each is not None}


def _time(text: str) -> int:
    ms = parse_duration(text)
    if ms == 0:
        raise DurationError(f"'{text}' is no time at all.")
    return ms


def _signed(text: str) -> int:
    return -parse_duration(text[1:]) if text.startswith("-") else parse_duration(text)


def _whole(least: int, most: int) -> Callable[[str], int]:
    """A reader of whole numbers between two bounds."""

    def read(text: str) -> int:
        number = int(text) if _WHOLE.fullmatch(text) else None
        if number is None or not least <= number <= most:
            raise ValueError(
                f"'{text[:60]}' is not allowed here; write a whole number from {least} to {most}."
            )
        return number

    return read


def _most(rule: Rule) -> int:
    """How often a rule can be failed at most."""
    if rule.takes(Count(rule.id, 0)) or not (rule.asked or rule.takes(Breach(rule.id))):
        return _MOST_COUNTED
    return len(rule.items) if _takes(rule, Outcome.GOOD) else _MOST


def _takes(rule: Rule, outcome: Outcome) -> bool:
    return rule.takes(Mark(rule.id, outcome, rule.items[0]))


def _said(rule: Rule, count: int) -> Iterator[Any]:
    """What a post would have said of a rule that failed `count` times: observations or additions.

    Nobody knows which items failed; the first ones stand for them.
    """
    if rule.takes(Breach(rule.id)):
        by_person = isinstance(rule, Conduct) and rule.charged is Charged.PERSON
        for n in range(count):
            yield Breach(rule.id, f"member {n + 1}" if by_person else "")
            if rule.takes(released := Moved(rule.id, Moment.RELEASED)):
                yield released
    elif rule.takes(Count(rule.id, 0)):
        yield Count(rule.id, count)
    elif not rule.asked:
        yield from [Addition(rule.id, count, _SAYS)] if count else []
    elif not _takes(rule, Outcome.MISSING):
        yield from [Addition(rule.id, 1, _SAYS)] * count
    elif not _takes(rule, Outcome.GOOD):
        told = Moved(rule.id, Moment.TOLD), Mark(rule.id, Outcome.MISSING, timed=False)
        yield from told * count
    else:
        counted, rest = Outcome.MISSING, Outcome.GOOD
        if isinstance(rule, Bonus):
            counted, rest = rest, counted
        for n, item in enumerate(rule.items):
            yield Mark(rule.id, counted if n < count else rest, item, timed=False)


def _signers(rule: Rule, what: What) -> tuple[PostId | None, ...]:
    """Who says so: every post that watches, one of them, or the head judge."""
    if isinstance(what, Addition):
        return (None,)
    shared = _takes(rule, Outcome.GOOD) or not isinstance(what, Mark | Moved)
    return rule.posts if shared else rule.posts[:1]


class _Record:
    """The entries a row stands for, as every post's judge would have made them on paper."""

    def __init__(self, book: Rulebook, team: TeamId) -> None:
        self._book, self._team = book, team
        self._run = RunId(f"run {team}")
        self._entries: list[Entry] = []

    def add_run(
        self,
        status: Status | None,
        reason: str,
        watches: Mapping[int, int],
        back: int | None,
        counts: Mapping[RuleId, int],
    ) -> None:
        """The clock, the posts' observations and what the head judge decided."""
        end = max(watches.values(), default=0)
        if status is not Status.DID_NOT_START:
            self._add(0, None, Signal(SignalName.START))
            self._observations(end, counts, every=bool(watches))
        if watches:
            self._add(end, None, Signal(SignalName.STOP))
            for watch, elapsed in watches.items():
                self._add(end, None, WatchReading(watch, elapsed))
        if back:
            self._add(end, None, TimeBack(back, reason or _SAYS))
        if status is not None:
            self._add(end, None, StatusRuling(status, reason or _SAYS))

    def settled(self) -> tuple[Entry, ...]:
        """The entries, with a ruling that upholds what the rules would only propose."""
        for finding in score(self._entries, self._book).findings:
            if finding.state is State.PROPOSED:
                self._add(0, None, Ruling(finding.id, Decision.UPHOLD, _SAYS))
        return tuple(self._entries)

    def _observations(self, at: int, counts: Mapping[RuleId, int], *, every: bool) -> None:
        """What the posts saw; of a run without a time only what failed is known."""
        for rule in self._book.rules.values():
            count = counts[rule.id]
            for n, what in enumerate(_said(rule, count) if count or every else ()):
                for post in _signers(rule, what):
                    self._add(at + n, post, what)
        for post in self._book.posts if every else ():
            self._add(at, post, CloseOut())

    def _add(self, at: int, post: PostId | None, what: What) -> None:
        by = PersonId(f"{_TABLE}, {post}") if post is not None else _TABLE
        number = EntryId(f"{self._team}-{len(self._entries):05d}")
        self._entries.append(Entry(number, self._run, by, post, at, 0, what))
