"""An event as somebody would key it from the judges' sheets: texts in the layout's tables."""

from collections.abc import Iterable, Mapping, Sequence

from scoring import (
    OBSERVATIONS,
    Breach,
    Count,
    Decision,
    Entry,
    Mark,
    Measured,
    Moment,
    Moved,
    Outcome,
    Rulebook,
    Ruling,
    Run,
    Signature,
    StatusRuling,
    TimeBack,
    Value,
    WatchReading,
    fold,
    format_duration,
    format_thousandths,
    key_tables,
    score,
)
from scoring.kinds.held import Held

Sheets = dict[str, list[list[str]]]
_WORDS = {Decision.UPHOLD: "upheld", Decision.STRIKE: "struck out", Decision.CHANGE: "changed"}


def blank(book: Rulebook, runs: int) -> Sheets:
    """The tables as they are handed out, every row as wide as its heads."""
    return {
        table.name: [
            [*row, *[""] * (max(len(table.heads[1]), len(row)) - len(row))]
            for row in (*table.heads, *table.rows, *[()] * (0 if table.rows else 40))
        ]
        for table in key_tables(book, runs)
    }


def put(sheets: Sheets, sheet: str, line: str, run: int, text: str) -> None:
    """Key a text into a post's line, named `rule` or `rule item`."""
    rows = sheets[sheet]
    [row] = [row for row in rows[2:] if f"{row[0]} {row[1]}".strip() == line]
    row[rows[1].index(str(run))] = text


def put_run(sheets: Sheets, run: int, /, **cells: str) -> None:
    """Key what the table of runs says of one; `time_back` is the column 'time back'."""
    rows = sheets["runs"]
    for head, text in cells.items():
        rows[1 + run][rows[1].index(head.replace("_", " "))] = text


def put_decision(sheets: Sheets, cells: Sequence[str]) -> None:
    """Key one more decision of the head judge."""
    row = next(row for row in sheets["decisions"][2:] if not any(row))
    row[:] = [*cells]


def keyed_from(book: Rulebook, runs: Mapping[int, tuple[str, str, Iterable[Entry]]]) -> Sheets:
    """The tables of an event: of each run its team, its division and its record."""
    sheets = blank(book, max(runs))
    for number, (team, division, entries) in runs.items():
        put_run(sheets, number, team=team, division=division)
        _key(sheets, book, number, fold(entries))
    return sheets


def _key(sheets: Sheets, book: Rulebook, number: int, run: Run) -> None:
    _key_clock(sheets, number, run)
    findings = score(run.entries, book).findings
    pad = _Pad(book, run)
    for entry in run.entries:
        pad.write(entry)
    for finding in findings:
        rule = book.rules.get(finding.failure.rule)
        if rule is not None and rule.kind == "limit":
            over = format_duration(finding.failure.margin or 1_000)
            pad.lines[rule.posts[0], f"{rule.id}"] = over
    for (post, line), text in pad.lines.items():
        put(sheets, post, line, number, text)
    for ruling in (entry.what for entry in run.entries if isinstance(entry.what, Ruling)):
        failure = next(each for each in findings if each.id == ruling.finding).failure
        amount = format_thousandths(ruling.cost) if ruling.cost is not None else ""
        word = _WORDS[ruling.decision]
        put_decision(sheets, [str(number), failure.rule, failure.item, word, amount, ruling.reason])


class _Pad:
    """What the judges of a run write: for each post, the text of each of its lines."""

    def __init__(self, book: Rulebook, run: Run) -> None:
        self._book, self._run = book, run
        self.lines: dict[tuple[str, str], str] = {}
        self._shut: set[str] = set()
        self._begun: dict[str, int] = {}

    def _into(self, entry: Entry) -> str:
        return format_duration(entry.at - self._run.start.at) if self._run.start else ""

    def write(self, entry: Entry) -> None:
        """One entry of the record as it would stand on paper."""
        post, what = entry.post or "", entry.what
        match what:
            case Mark(rule, outcome, item, timed):
                said = self._book.rules[rule].answers.get(outcome, "")
                at = f" @ {self._into(entry)}" if timed and outcome is not Outcome.UNSEEN else ""
                self.lines[post, f"{rule} {item}".strip()] = said + at
            case Breach(rule, whom):
                if rule not in self._shut:
                    before = self.lines.get((post, rule), "")
                    this = f"{whom or '?'} @ {self._into(entry)}"
                    self.lines[post, rule] = f"{before};{this}".strip(";")
                if self._book.rules[rule].takes(Moved(rule, Moment.RELEASED)):
                    self._shut.add(rule)
            case Count(rule, count):
                self.lines[post, rule] = str(count)
            case Measured(rule, amount, item):
                self.lines[post, f"{rule} {item}".strip()] = format_thousandths(amount)
            case Value(rule, value, item, legible):
                if self._book.rules[rule].kind == "setting":
                    tries = [line for _, line in self.lines if line.startswith(f"{rule} try ")]
                    item = f"try {len(tries) + 1}"
                said = value or "nothing" if legible else f"illegible: {value}"
                self.lines[post, f"{rule} {item}".strip()] = said
            case Moved():
                self._write_moved(entry, what)
            case _:
                assert not isinstance(what, OBSERVATIONS), what

    def _write_moved(self, entry: Entry, what: Moved) -> None:
        post, line = entry.post or "", f"{what.rule} {what.item}".strip()
        match what.moment:
            case Moment.BEGIN:
                self._begun[line] = entry.at
            case Moment.END:
                lasted = entry.at - self._begun[line]
                rule = self._book.rules[what.rule]
                assert isinstance(rule, Held)
                good = lasted >= rule.at_least - rule.tolerance
                self.lines[post, line] = (
                    f"long enough @ {self._into(entry)}" if good else format_thousandths(lasted)
                )
            case Moment.RELEASED:
                self._shut.discard(what.rule)
            case Moment.CORRECTED | Moment.JUDGE_DID:
                corrected = what.moment is Moment.CORRECTED
                how = "corrected when told" if corrected else "put right by the judge"
                key = post, f"{what.rule} {how}"
                self.lines[key] = str(int(self.lines.get(key, "0")) + 1)


def _key_clock(sheets: Sheets, number: int, run: Run) -> None:
    for watch, entry in run.watches.items():
        assert isinstance(entry.what, WatchReading)
        put_run(sheets, number, **{f"watch {watch}": format_duration(entry.what.elapsed)})
    if run.held:
        put_run(sheets, number, held=format_duration(run.held))
    back = sum(each.what.time for each in run.times_back if isinstance(each.what, TimeBack))
    if back:
        put_run(sheets, number, time_back=format_duration(back))
    if run.false_starts:
        put_run(sheets, number, false_starts=str(len(run.false_starts)))
    walk = run.walkthrough
    if walk is not None and walk.end is not None:
        put_run(sheets, number, walkthrough=format_duration(walk.end - walk.begin))
    for name, value in run.givens.items():
        put_run(sheets, number, **{f"given {name}": value})
    for entry in run.signatures:
        assert isinstance(entry.what, Signature)
        put_run(sheets, number, assessor=entry.what.outcome)
    if run.status is not None and isinstance(run.status.what, StatusRuling):
        put_run(sheets, number, status=run.status.what.status or "", reason=run.status.what.reason)
