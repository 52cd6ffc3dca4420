"""A team's workbook against openpyxl writing the same cell values bare.

Run `python -m tests.benchmarks.workbook`: it prints one ratio, aim at most 1.5. A run of 60 steps
and 25 callouts with 40 findings; the least processor time of
many turns about, so that a busy machine hurts neither.
"""

import gc
import time
from collections.abc import Callable, Sequence
from io import BytesIO

from openpyxl import Workbook, load_workbook

from scoring import (
    CloseOut,
    Count,
    Entrant,
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
    TeamId,
    TeamSheet,
    What,
    rank,
    read_rulebook,
    score,
    team_sheet,
)
from web.data import rulebooks_folder
from web.exports.workbook import team_workbook

_TURNS = 25


def main() -> None:
    """Print the ratio, with the number of cells and both times."""
    sheet = _sheet()
    pages = [
        [[cell.value for cell in row] for row in page]
        for page in load_workbook(BytesIO(team_workbook(sheet)))
    ]
    cells = sum(value is not None for page in pages for row in page for value in row)
    ours, bare = _fastest(lambda: team_workbook(sheet), lambda: _bare(pages))
    print(
        f"workbook per team / bare openpyxl: {ours / bare:.2f} (aim <= 1.5) "
        f"[{cells} cells, {ours * 1000:.1f} ms / {bare * 1000:.1f} ms]"
    )


def _fastest(*turns: Callable[[], object]) -> list[float]:
    """The shortest processor time of each, in seconds, taken turn about."""
    best = [float("inf")] * len(turns)
    gc.disable()
    for _ in range(_TURNS):
        for n, turn in enumerate(turns):
            begin = time.process_time()
            turn()
            best[n] = min(best[n], time.process_time() - begin)
            gc.collect()
    gc.enable()
    return best


def _bare(pages: Sequence[Sequence[Sequence[object]]]) -> None:
    book = Workbook()
    book.remove(book.worksheets[0])
    for rows in pages:
        page = book.create_sheet()
        for row in rows:
            page.append(row)
    book.save(BytesIO())


def _sheet() -> TeamSheet:
    """A sheet of the shipped rulebook with every third answer "missing"."""
    book = read_rulebook((rulebooks_folder() / "sheave-change.yaml").read_bytes())
    said: list[tuple[PostId | None, What]] = [(None, Signal(SignalName.START))]
    for rule in book.rules.values():
        if rule.kind == "returns":
            said.append((rule.posts[0], Count(RuleId(rule.id), 2)))
        for item in rule.items if rule.asked and rule.kind != "returns" else ():
            outcome = Outcome.MISSING if len(said) % 3 == 0 else Outcome.GOOD
            said.append((rule.posts[0], Mark(rule.id, outcome, item)))
    said += [(None, Signal(SignalName.STOP)), *((post, CloseOut()) for post in book.posts)]
    entries = [
        Entry(EntryId(f"e{n}"), RunId("run"), PersonId("judge"), post, n * 9_876, 0, what)
        for n, (post, what) in enumerate(said)
    ]
    field = rank([(Entrant(TeamId("team"), "Long Haul"), score(entries, book))], book)
    return team_sheet(field[0], field, book, {PersonId("judge"): "Robin Vale"})


if __name__ == "__main__":
    main()
