"""The record of an assessment: what had to be met, what is shown again, who signed."""

from collections.abc import Mapping
from typing import Final

from scoring.assessment import MARK, Assessed, Criterion
from scoring.durations import format_thousandths
from scoring.entries import Signature
from scoring.ids import PersonId, RuleId
from scoring.rulebook import Rulebook
from scoring.sheets.cells import Column, Table

_RECORD: Final = (
    Column("name", "What"),
    Column("text", "What it asks"),
    Column("met", "Met"),
    Column("rules", "Failed"),
)
_AGAIN: Final = (Column("what", "What"), Column("text", "To be shown again"))
_SIGNED: Final = (
    Column("by", "By"),
    Column("outcome", "Signed as"),
    Column("reason", "Remark"),
    Column("holds", "Holds"),
)


def record_table(assessed: Assessed, book: Rulebook) -> Table:
    """Each criterion, and whether it is met."""
    rows = tuple(
        (
            each.name,
            _asks(each, book),
            "yes" if each.met else "not yet",
            ", ".join(each.rules),
        )
        for each in assessed.criteria
    )
    return Table("record", "Record", _RECORD, rows, f"The outcome is: {assessed.outcome}.")


def again_table(assessed: Assessed, book: Rulebook) -> Table:
    """What is shown again."""
    tasks = {str(task.id): task.title for task in book.tasks}
    rows = tuple(
        (name, book.rules[RuleId(name)].text if name in book.rules else tasks.get(name, ""))
        for name in assessed.again
    )
    return Table("again", "Again", _AGAIN, rows, "What is still to be shown.")


def signatures_table(assessed: Assessed, people: Mapping[PersonId, str]) -> Table:
    """Who signed, and whether it holds for the outcome as it is now."""
    rows = tuple(
        (
            people.get(entry.by, entry.by),
            entry.what.outcome,
            entry.what.remark,
            "yes" if entry in assessed.signed else "no, the outcome has changed",
        )
        for entry in (*assessed.signed, *assessed.stale)
        if isinstance(entry.what, Signature)
    )
    note = "Who assessed, and signed for it." if rows else "Nobody has signed yet."
    return Table("signatures", "Signatures", _SIGNED, rows, note)


def _asks(criterion: Criterion, book: Rulebook) -> str:
    mark = book.assessment.mark
    if criterion.name == MARK and mark is not None:
        if mark.share:
            return f"at least {format_thousandths(mark.amount)} % of the points to start with"
        bound = "at most" if book.least_wins else "at least"
        return f"{bound} {format_thousandths(mark.amount)} points"
    rule = book.rules.get(RuleId(criterion.name))
    if rule is not None:
        return rule.text
    category = next((each for each in book.categories.values() if each.id == criterion.name), None)
    title = category.title if category is not None else ""
    return f"nothing of this kind: {title}" if title else "nothing of this kind"
