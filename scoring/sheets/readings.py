"""The check sheet: what was written, set and computed, beside its reference."""

from typing import Final

from scoring.findings import State
from scoring.kinds.valued import Valued
from scoring.rulebook import Rulebook
from scoring.scorecard import Scorecard
from scoring.sheets.cells import Column, Table

_READINGS: Final = (
    Column("rule", "Rule"),
    Column("text", "What is read"),
    Column("item", "Item"),
    Column("written", "Written"),
    Column("wanted", "Reference and limits"),
    Column("judged", "Judged"),
)


def readings_table(card: Scorecard, book: Rulebook) -> Table:
    """Every reading, setting and derived value that applies to a run."""
    struck = {
        (finding.failure.rule, finding.failure.item)
        for finding in card.findings
        if finding.state is State.STRUCK_OUT
    }
    rows = tuple(
        (
            rule.id,
            rule.text,
            line.item,
            line.written,
            line.wanted,
            f"{line.judged}; struck out by the head judge"
            if (rule.id, line.item) in struck
            else line.judged,
        )
        for rule in book.rules.values()
        if isinstance(rule, Valued) and rule.applies(card.run)
        for line in rule.lines(card.run, book.terms)
    )
    return Table(
        "readings", "Check sheet", _READINGS, rows, "What the crew wrote, beside its reference."
    )
