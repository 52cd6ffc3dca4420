"""Two editions of a rulebook, compared in words that a crew understands."""

from scoring.compare.change import Change, Matter
from scoring.compare.rules import compare_rules
from scoring.compare.whole import compare_whole
from scoring.rulebook import Rulebook

__all__ = ["Change", "Matter", "compare"]


def compare(old: Rulebook, new: Rulebook) -> tuple[Change, ...]:
    """What has changed from one edition to the other, the gravest first.

    An id that has come to mean something else is named: marks and statistics of the old edition
    would be taken for the new rule's.
    """
    changes = [*compare_rules(old, new), *compare_whole(old, new)]
    order = list(Matter)
    return tuple(sorted(changes, key=lambda change: order.index(change.matter)))
