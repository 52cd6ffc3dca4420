"""An event as somebody would key it from the judges' sheets: texts in the layout's tables."""

from collections.abc import Iterable, Mapping, Sequence

from scoring import (
    OBSERVATIONS,
    Breach,
    Count,
    Decision,
    Entry,
    Mark,
    Outcome,
    PostId,
    Rulebook,
    Ruling,
    Run,
    StatusRuling,
    TimeBack,
    WatchReading,
    fold,
    format_duration,
    format_thousandths,
    key_tables,
    score,
)

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
    answers: dict[tuple[PostId, str], str] = {}
    for entry in run.entries:
        post, what = entry.post, entry.what
        into = format_duration(entry.at - run.start.at) if run.start is not None else ""
        if isinstance(what, Mark) and post is not None:
            said = book.rules[what.rule].answers[what.outcome]
            answers[post, f"{what.rule} {what.item}".strip()] = (
                f"{said} @ {into}" if what.timed and what.outcome is not Outcome.UNSEEN else said
            )
        elif isinstance(what, Breach) and post is not None:
            before = answers.get((post, what.rule), "")
            answers[post, what.rule] = f"{before};{what.whom or '?'} @ {into}".strip(";")
        elif isinstance(what, Count) and post is not None:
            answers[post, what.rule] = str(what.count)
        else:
            assert not isinstance(what, OBSERVATIONS), what
    for (post, line), text in answers.items():
        put(sheets, post, line, number, text)
    findings = {finding.id: finding for finding in score(run.entries, book).findings}
    for ruling in (entry.what for entry in run.entries if isinstance(entry.what, Ruling)):
        failure = findings[ruling.finding].failure
        amount = format_thousandths(ruling.cost) if ruling.cost is not None else ""
        word = _WORDS[ruling.decision]
        put_decision(sheets, [str(number), failure.rule, failure.item, word, amount, ruling.reason])


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
    if run.status is not None and isinstance(run.status.what, StatusRuling):
        put_run(sheets, number, status=run.status.what.status or "", reason=run.status.what.reason)
