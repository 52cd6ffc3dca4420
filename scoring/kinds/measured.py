"""What kinds share whose judges each have one word on a thing: an answer, or what they measured."""

from collections.abc import Sequence
from dataclasses import dataclass

from scoring.entries import Entry
from scoring.ids import CategoryId, FindingId
from scoring.kinds.base import Doubt, Failure, Fault, Rule, enough
from scoring.penalties import SeenBy


@dataclass(frozen=True, slots=True)
class Word:
    """What one judge makes of a thing; `fault` None where nothing about it costs.

    Of several failing words the one with the least `rank` stands. `sure` is False where a word is
    worth no more than a proposal.
    """

    entries: tuple[Entry, ...]
    fault: Fault | None = None
    costs: CategoryId | None = None
    count: int = 1
    margin: int | None = None
    rank: int = 0
    sure: bool = True
    detail: str = ""


def judged(
    rule: Rule, name: FindingId, item: str, words: Sequence[Word], seen_by: SeenBy
) -> list[Failure]:
    """What the judges' words come to: one failure, or none where nobody's word fails.

    Where a judge finds nothing wrong that others do, it is proposed.
    """
    failing = [word for word in words if word.fault is not None]
    stands = min(failing, key=lambda word: word.rank, default=Word(()))
    if stands.fault is None or stands.costs is None:
        return []
    doubts = []
    if len({(word.fault, word.costs, word.count) for word in words}) > 1:
        doubts.append(Doubt.CONTESTED)
    if len(failing) == 1 and len(rule.posts) > 1:
        doubts.append(Doubt.UNCORROBORATED)
    counts = enough(len(failing), max(len(words), len(rule.posts)), seen_by)
    entries = [entry for word in words for entry in word.entries]
    return [
        Failure(
            id=name,
            rule=rule.id,
            fault=stands.fault,
            costs=stands.costs,
            item=item,
            count=stands.count,
            at=stands.entries[0].at,
            margin=stands.margin,
            stands_on=tuple(each.id for each in sorted(entries, key=lambda entry: entry.when)),
            proposed=not counts or not stands.sure or len(failing) < len(words),
            doubts=tuple(doubts),
            detail=stands.detail,
        )
    ]
