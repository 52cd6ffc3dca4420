"""Keyed tables → every run scored; and where two people who keyed the same sheets differ."""

import hashlib
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final, TypeAlias

from marshmallow import ValidationError

from scoring.entries import Addition, Competence, Decision, Ruling, Status
from scoring.errors import Problem, TableError
from scoring.fields import UNREADABLE, amount, listed, nearest
from scoring.findings import FALSE_START, RUN_LIMIT, WALKTHROUGH_LIMIT, Finding, State
from scoring.ids import PostId, RuleId, RunId, TeamId
from scoring.keying.cells import Broken, Number, Said, length, one_of, read_cell, signed, whole
from scoring.keying.layout import (
    ASSESSOR,
    DECISION_HEADS,
    DECISIONS,
    GIVEN,
    LINE_HEADS,
    RUNS,
    SHEET,
    WATCH,
    PostTable,
    Row,
    layout,
)
from scoring.keying.record import SAYS, Record, RunCells
from scoring.kinds.base import Fault
from scoring.papers.lines import Takes, answers
from scoring.rulebook import Rulebook
from scoring.scorecard import Scorecard, score
from scoring.standings import Entrant, Standing, rank

Rows: TypeAlias = Sequence[Sequence[str]]

_MOST_RUNS: Final = 999
_MOST_CELLS: Final = 500_000
_MOST_PROBLEMS: Final = 999
_LONGEST: Final = 300
_FIRST_ROW: Final = 3
_HASH: Final = 3
_ADDED: Final = "added"
_DECIDED: Final = {
    "upheld": Decision.UPHOLD,
    "struck out": Decision.STRIKE,
    "changed": Decision.CHANGE,
}


@dataclass(frozen=True, slots=True)
class Waiting:
    """Something of a run that the sheets leave open."""

    run: int
    team: str
    says: str

    def __str__(self) -> str:
        return f"run {self.run}, {self.team}: {self.says}"


@dataclass(frozen=True, slots=True)
class Difference:
    """A cell that two people keyed differently; the row is the first one's, where it has it."""

    sheet: str
    row: int
    what: str
    team: str
    first: str
    second: str

    def __str__(self) -> str:
        one, two = (f"'{each}'" if each else "nothing" for each in (self.first, self.second))
        return (
            f"{self.sheet}, row {self.row}, {self.what}, {self.team}: "
            f"the first says {one}, the second {two}."
        )


@dataclass(frozen=True, slots=True)
class _Cell:
    """A keyed cell: where it stands, what stands there, and what that means."""

    row: int
    text: str
    value: Any


#: A sheet, what the row or column is about, and the run.
_Place: TypeAlias = tuple[str, str, int]


@dataclass(frozen=True, slots=True)
class Keyed:
    """The runs of a set of tables, each scored, and what was read from which cell."""

    results: tuple[tuple[int, Entrant, Scorecard], ...]
    cells: Mapping[_Place, _Cell]

    def standings(self, book: Rulebook) -> tuple[Standing, ...]:
        """The standings of the runs."""
        return rank([(entrant, card) for _, entrant, card in self.results], book)

    def waiting(self) -> tuple[Waiting, ...]:
        """What a person must still decide or answer."""
        return tuple(
            Waiting(run, entrant.name, says)
            for run, entrant, card in self.results
            for says in _open(card)
        )


def _open(card: Scorecard) -> Iterator[str]:
    for finding in card.findings:
        if finding.state is State.PROPOSED:
            failure = finding.failure
            of = f", {failure.item}" if failure.item else ""
            yield f"the head judge has not decided on {failure.rule}{of}: {failure.fault}."
    rules = list(dict.fromkeys(str(question.rule) for question in card.questions))
    if rules and card.status is None:
        yield f"no answer for {listed(rules)}."


def read_keyed(sheets: Mapping[str, Rows], book: Rulebook, file: str = "keyed") -> Keyed:
    """The runs of keyed tables, by the names of their sheets; raises `TableError`.

    Problems name the sheet, and the 1-based row and column.
    """
    reading = _Reading(book)
    keyed = reading.read(sheets)
    if reading.problems:
        raise TableError(file, tuple(reading.problems))
    return keyed


def differences(first: Keyed, second: Keyed) -> tuple[Difference, ...]:
    """Every cell in which two people keyed different things, in the order of the sheets."""
    teams = {run: entrant.name for keyed in (second, first) for run, entrant, _ in keyed.results}
    found = []
    for place in dict.fromkeys((*first.cells, *second.cells)):
        one, two = first.cells.get(place), second.cells.get(place)
        there = one or two
        if there is not None and (one and one.value) != (two and two.value):
            sheet, what, run = place
            team = teams.get(run, f"run {run}")
            texts = (one.text if one else "", two.text if two else "")
            found.append(Difference(sheet, there.row, what, team, *texts))
    return tuple(found)


@dataclass(slots=True)
class _Table:
    """A sheet: its name, and its rows without the spaces round the texts."""

    name: str
    rows: list[list[str]]

    def cell(self, row: int, column: int) -> str:
        """A cell by 0-based row and column; empty beyond the edge."""
        cells = self.rows[row] if row < len(self.rows) else []
        return cells[column] if column < len(cells) else ""


@dataclass(slots=True)
class _KeyedRun:
    """A run as the tables tell it, before it is scored."""

    entrant: Entrant
    cells: RunCells
    #: For each post, its keyed lines in the order of the sheet.
    posts: dict[PostId, list[tuple[Row, Said]]] = field(default_factory=dict)
    decisions: list["_Decision"] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class _Decision:
    """What the head judge decided: on a finding, or (`decision` None) of a rule added."""

    row: int
    rule: str
    item: str
    decision: Decision | None
    amount: int | None
    reason: str


class _Reading:
    """Tables being read: what is wrong so far, and every cell."""

    def __init__(self, book: Rulebook) -> None:
        self._book, self._layout = book, layout(book)
        self.problems: list[Problem] = []
        self._cells: dict[_Place, _Cell] = {}
        self._runs: dict[int, _KeyedRun] = {}
        self._sheet = ""

    def read(self, sheets: Mapping[str, Rows]) -> Keyed:
        """All of it."""
        tables = self._tables(sheets)
        if not self.problems:
            self._read_runs(tables[RUNS, ""])
        if self._runs:
            for post in self._layout.posts:
                self._read_post(tables[SHEET, post.post], post)
            if (DECISIONS, "") in tables:
                self._read_decisions(tables[DECISIONS, ""])
        results: list[tuple[int, Entrant, Scorecard]] = []
        if not self.problems:
            results = [(n, run.entrant, self._scored(n, run)) for n, run in self._runs.items()]
        return Keyed(tuple(results), self._cells)

    def _wrong(self, row: int, column: int, says: str) -> None:
        if len(self.problems) < _MOST_PROBLEMS:
            self.problems.append(Problem(row, column, self._sheet, says))

    def _tables(self, sheets: Mapping[str, Rows]) -> dict[tuple[str, str], _Table]:
        """The sheets by what their first row says they are; others are somebody's own."""
        wanted = [(RUNS, ""), *((SHEET, str(post.post)) for post in self._layout.posts)]
        found: dict[tuple[str, str], _Table] = {}
        for name, rows in sheets.items():
            table = _Table(name, [[cell.strip() for cell in row] for row in rows])
            kind = table.cell(0, 0)
            key = (kind, table.cell(0, 1) if kind == SHEET else "")
            if key not in {*wanted, (DECISIONS, "")}:
                continue
            self._sheet = name
            if key in found:
                self._wrong(1, 1, f"This is there twice; '{found[key].name}' is the same.")
            if table.cell(0, _HASH) != self._layout.hash:
                self._wrong(
                    1,
                    _HASH + 1,
                    "This was laid out for another rulebook or edition, "
                    f"{table.cell(0, _HASH)[:12] or 'without a hash'}; "
                    f"here is {self._layout.title}, {self._layout.hash[:12]}.",
                )
            found[key] = table
        self._sheet = ""
        for kind, post in wanted:
            if (kind, post) not in found:
                named = f"the judge sheet of '{post}'" if post else f"the sheet '{kind}'"
                self._wrong(1, 1, f"There is no table of {named}; write the tables anew.")
        return found

    def _heads(self, table: _Table, heads: Sequence[str]) -> dict[str, int] | None:
        """Where each head stands in the second row; None where one is missing."""
        row = [" ".join(cell.split()) for cell in table.rows[1]] if len(table.rows) > 1 else []
        missing = [head for head in heads if head not in row]
        if missing:
            self._wrong(2, 1, f"There is no column {listed(missing)}.")
            return None
        return {head: row.index(head) for head in heads}

    def _value(
        self, place: _Place, at: tuple[int, int], text: str, how: Callable[[str], Any]
    ) -> Any:
        """What a cell means, kept for comparing; None where it is empty or wrong."""
        if not text:
            return None
        try:
            if len(text) > _LONGEST:
                raise ValueError(f"{len(text)} characters; at most {_LONGEST} are allowed.")  # noqa: TRY301 - as every other complaint of a cell
            if UNREADABLE.search(text):
                raise ValueError("There is a character in it that cannot be shown.")  # noqa: TRY301 - likewise
            value = how(text)
        except ValueError as error:
            self._wrong(at[0] + 1, at[1] + 1, str(error))
            return None
        self._cells[place] = _Cell(at[0] + 1, text, value)
        return value

    def _read_runs(self, table: _Table) -> None:
        self._sheet = table.name
        columns = self._heads(table, self._layout.run_heads)
        if columns is None:
            return
        teams: dict[str, int] = {}
        for n in range(_FIRST_ROW - 1, len(table.rows)):
            if table.cell(n, columns["team"]):
                self._read_run(table, n, columns, teams)
            elif any(table.cell(n, at) for head, at in columns.items() if head != "run"):
                self._wrong(n + 1, columns["team"] + 1, "No team; write its name.")
        lines = sum(len(post.rows) for post in self._layout.posts)
        most = min(_MOST_RUNS, _MOST_CELLS // max(lines, 1))
        if len(self._runs) > most:
            self._wrong(1, 1, f"{len(self._runs):,} runs; at most {most:,} are allowed.")
        if not self._runs and not self.problems:
            self._wrong(_FIRST_ROW, 1, "There is no run; write each team beside its number.")

    def _read_run(
        self, table: _Table, n: int, columns: Mapping[str, int], teams: dict[str, int]
    ) -> None:
        try:
            run = whole(table.cell(n, columns["run"]), _MOST_RUNS, 1)
        except ValueError as error:
            self._wrong(n + 1, columns["run"] + 1, str(error))
            return
        if run in self._runs:
            self._wrong(n + 1, columns["run"] + 1, f"There is a run {run} already.")
            return

        def read(head: str, how: Callable[[str], Any] = str) -> Any:
            if head not in columns:
                return None
            at = (n, columns[head])
            return self._value((table.name, head, run), at, table.cell(*at), how)

        name = read("team") or ""
        attempts = teams[name.casefold()] = teams.get(name.casefold(), 0) + 1
        if attempts > self._book.attempts.count:
            most = self._book.attempts.count
            says = f"'{name[:60]}' has {attempts} runs; the rulebook allows {most}."
            self._wrong(n + 1, columns["team"] + 1, says)
        status = read("status", one_of(*Status))
        watches = {
            int(head.removeprefix(WATCH)): time
            for head in columns
            if head.startswith(WATCH) and (time := read(head, _time)) is not None
        }
        cells = RunCells(
            status=Status(status) if status else None,
            reason=read("reason") or "",
            watches=watches,
            held=read("held", length) or 0,
            back=read("time back", signed) or 0,
            walkthrough=read("walkthrough", length),
            false_starts=read("false starts", lambda text: whole(text, 99)) or 0,
            givens={
                head.removeprefix(GIVEN): value
                for head in columns
                if head.startswith(GIVEN) and (value := read(head)) is not None
            },
            signed=_competence(read(ASSESSOR, one_of(*Competence))),
        )
        if self._book.timed and not watches and cells.status is None:
            self._wrong(n + 1, 1, "No time and no status; write one of them.")
        if cells.status is Status.DID_NOT_START and watches:
            self._wrong(n + 1, 1, "Who did not start has no time; leave one of them out.")
        # A lone surrogate, which no file should hold, must not stop the reading.
        digest = hashlib.sha256(name.casefold().encode(errors="surrogatepass")).hexdigest()
        entrant = Entrant(TeamId(digest[:16]), name, read("division") or "")
        self._runs[run] = _KeyedRun(entrant, cells)

    def _read_post(self, table: _Table, post: PostTable) -> None:
        self._sheet = table.name
        columns = self._run_columns(table)
        rows = {(str(row.line.rule), str(row.line.item)): row for row in post.rows}
        seen: dict[tuple[str, str], int] = {}
        for n in range(_FIRST_ROW - 1, len(table.rows)):
            if not any(table.rows[n]):
                continue
            key = (table.cell(n, 0), table.cell(n, 1))
            row = rows.get(key)
            if row is None:
                near = nearest(key[0][:60], [rule for rule, _ in rows])
                says = f"'{' '.join(key)[:60].strip()}' is no line of this sheet.{near}"
                self._wrong(n + 1, 1, says)
            elif key in seen:
                self._wrong(n + 1, 1, f"This line stands in row {seen[key]} already.")
            else:
                seen[key] = n + 1
                self._read_line(table, n, row, columns, post.post)
        missing = [" ".join(key).strip() for key in rows if key not in seen]
        if missing:
            self._wrong(1, 1, f"There is no line for {listed(missing)}; every line must stay.")

    def _run_columns(self, table: _Table) -> dict[int, int]:
        """The column of each run."""
        found: dict[int, int] = {}
        heads = table.rows[1] if len(table.rows) > 1 else []
        for column, head in enumerate(heads[len(LINE_HEADS) :], start=len(LINE_HEADS)):
            if not head:
                continue
            try:
                run = whole(head, _MOST_RUNS, 1)
            except ValueError as error:
                self._wrong(2, column + 1, str(error))
                continue
            if run in found:
                self._wrong(2, column + 1, f"There is a column for run {run} already.")
            found[run] = column
        missing = [str(run) for run in self._runs if run not in found]
        if missing:
            self._wrong(2, 1, f"There is no column for run {', '.join(missing[:9])}.")
        return found

    def _read_line(
        self, table: _Table, n: int, row: Row, columns: Mapping[int, int], post: PostId
    ) -> None:
        line, boxes = row.line, answers(self._book.rules[row.line.rule])
        what = f"{line.rule} {line.item}".strip()
        for run, column in columns.items():
            text = table.cell(n, column)
            if text and run not in self._runs:
                self._wrong(n + 1, column + 1, f"There is no team for run {run}.")
                continue
            place = (table.name, what, run)
            said = self._value(
                place, (n, column), text, lambda text: read_cell(text, line.takes, boxes)
            )
            if said is not None:
                self._runs[run].posts.setdefault(post, []).append((row, said))

    def _read_decisions(self, table: _Table) -> None:
        self._sheet = table.name
        columns = self._heads(table, DECISION_HEADS)
        if columns is None:
            return
        for n in range(_FIRST_ROW - 1, len(table.rows)):
            said = {head: table.cell(n, column) for head, column in columns.items()}
            if any(said.values()):
                self._read_decision(table.name, n, said, columns)

    def _read_decision(
        self, sheet: str, n: int, said: Mapping[str, str], columns: Mapping[str, int]
    ) -> None:
        def wrong(head: str, says: str) -> None:
            self._wrong(n + 1, columns[head] + 1, says)

        run = int(said["run"]) if said["run"].isdecimal() and len(said["run"]) < 4 else 0  # noqa: PLR2004 - no run has more digits
        if run not in self._runs:
            wrong("run", f"There is no team for run '{said['run'][:60]}'.")
            return
        known = [*self._book.rules, *_of_the_clock(self._book)]
        if said["rule"] not in known:
            near = nearest(said["rule"][:60], [str(rule) for rule in known])
            wrong("rule", f"There is no rule '{said['rule'][:60]}'.{near}")
            return
        number = sum(each.rule == said["rule"] for each in self._runs[run].decisions) + 1
        what = f"{said['rule']} {said['item']}".strip() + (f" ({number})" if number > 1 else "")
        read = one_of(*_DECIDED, _ADDED)
        at = (n, columns["decision"])
        word = self._value((sheet, f"decision on {what}", run), at, said["decision"], read)
        if word is None:
            if not said["decision"]:
                wrong("decision", f"Write {listed([*_DECIDED, _ADDED])}.")
            return
        much: int | None = None
        if word in {_ADDED, "changed"}:
            reader = _count if word == _ADDED else _cost
            place = (sheet, f"amount of {what}", run)
            much = self._value(place, (n, columns["amount"]), said["amount"], reader)
            if much is None and not said["amount"]:
                wrong("amount", "Write how many are added, or what it costs now.")
        elif said["amount"]:
            wrong("amount", "An amount stands beside 'changed' and 'added' only.")
        self._runs[run].decisions.append(
            _Decision(
                n + 1, said["rule"], said["item"], _DECIDED.get(word), much, said["reason"] or SAYS
            )
        )
        self._value((sheet, f"reason of {what}", run), (n, columns["reason"]), said["reason"], str)

    def _scored(self, number: int, run: _KeyedRun) -> Scorecard:
        record = Record(self._book, RunId(f"run {number}"))
        record.clock(run.cells)
        breaches: dict[RuleId, dict[PostId, tuple[Broken, ...]]] = {}
        limits: set[RuleId] = set()
        for post, said in run.posts.items():
            record.post(post, [(row.line, value) for row, value in said])
            for row, value in said:
                if row.line.takes is Takes.BREACHES and isinstance(value, tuple):
                    breaches.setdefault(row.line.rule, {})[post] = value
                elif row.line.takes is Takes.OVER and isinstance(value, Number):
                    limits.add(row.line.rule)
        for rule, by_post in breaches.items():
            record.breaches(self._book.rules[rule], by_post)
        record.close(self._closed(run))
        self._limits(record, limits, run)
        self._decide(record, run)
        return score(record.entries, self._book)

    def _closed(self, run: _KeyedRun) -> list[PostId]:
        """The posts whose sheet has come in: those with a cell, and those asked for nothing."""
        if run.cells.status is Status.DID_NOT_START:
            return []
        asked = {post for rule in self._book.rules.values() if rule.asked for post in rule.posts}
        return [post for post in self._book.posts if post in run.posts or post not in asked]

    def _limits(self, record: Record, limits: set[RuleId], run: _KeyedRun) -> None:
        """What the sheets say of limits stands before what a few times on them would tell."""
        for finding in score(record.entries, self._book).findings if limits else ():
            if finding.failure.rule in limits and finding.failure.fault is Fault.OVER_LIMIT:
                record.add(0, None, Ruling(finding.id, Decision.STRIKE, SAYS))
        for post, said in run.posts.items():
            for row, value in said:
                if row.line.rule in limits and isinstance(value, Number):
                    record.over(self._book.rules[row.line.rule], value.amount, post)
                    limits.discard(row.line.rule)

    def _decide(self, record: Record, run: _KeyedRun) -> None:
        """The head judge's decisions, in the order of their rows."""
        self._sheet = DECISIONS
        findings = score(record.entries, self._book).findings if run.decisions else ()
        for each in run.decisions:
            if each.decision is None:
                record.add(0, None, Addition(RuleId(each.rule), each.amount or 1, each.reason))
                continue
            met = [finding for finding in findings if _is_meant(finding, each)]
            if not met:
                of = f" with the item '{each.item[:60]}'" if each.item else ""
                says = f"Nothing was found of '{each.rule}'{of} in this run."
                self._wrong(each.row, 2, says)
            for finding in met:
                stands_on = finding.failure.stands_on
                ruling = Ruling(finding.id, each.decision, each.reason, each.amount, stands_on)
                record.add(0, None, ruling)


def _is_meant(finding: Finding, decision: _Decision) -> bool:
    failure = finding.failure
    return failure.rule == decision.rule and decision.item in {"", failure.item}


def _of_the_clock(book: Rulebook) -> tuple[RuleId, ...]:
    return (FALSE_START, RUN_LIMIT, WALKTHROUGH_LIMIT) if book.timed else ()


def _time(text: str) -> int:
    ms = length(text)
    if ms == 0:
        raise ValueError(f"'{text}' is no time at all.")
    return ms


def _count(text: str) -> int:
    return whole(text, 9_999, 1)


def _cost(text: str) -> int:
    try:
        return amount(text)
    except ValidationError as error:
        raise ValueError(str(error.messages[0])) from error


def _competence(word: str | None) -> Competence | None:
    return Competence(word) if word else None
