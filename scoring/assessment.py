"""What an assessment has come to: competent or not yet, why, and what is shown again."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from scoring.entries import Competence, Entry, Signature, Status
from scoring.findings import Finding, State
from scoring.fold import Run
from scoring.ids import RuleId
from scoring.results import Again
from scoring.rulebook import Rulebook


@dataclass(frozen=True, slots=True)
class Criterion:
    """One thing that makes somebody competent, and whether it is met.

    `name` is the pass mark's or a rule's, a category's or a severity's; `rules` are those failed.
    """

    name: str
    met: bool
    rules: tuple[RuleId, ...] = ()


@dataclass(frozen=True, slots=True)
class Assessed:
    """The outcome with each criterion, and the rules or tasks to be shown again.

    `signed` are the signatures on this very outcome, `stale` those on another.
    """

    outcome: Competence
    criteria: tuple[Criterion, ...] = ()
    again: tuple[str, ...] = ()
    signed: tuple[Entry, ...] = ()
    stale: tuple[Entry, ...] = ()


#: What the criterion of the pass mark is called: no author's id has a space.
MARK: Final = "pass mark"


def assess(
    run: Run,
    book: Rulebook,
    findings: tuple[Finding, ...],
    total: int | None,
    status: Status | None,
) -> Assessed | None:
    """The outcome of a run; None while there is none, or where nobody came."""
    if (total is None and status is None) or status is Status.DID_NOT_START:
        return None
    failed = [each for each in findings if each.state is State.COUNTS and not each.failure.bonus]
    criteria = tuple(_criteria(run, book, findings, failed, total))
    met = status is None and all(criterion.met for criterion in criteria)
    outcome = Competence.COMPETENT if met else Competence.NOT_YET
    signed = [each for each in run.signatures if isinstance(each.what, Signature)]
    return Assessed(
        outcome,
        criteria,
        () if met else tuple(_again(book, criteria)),
        tuple(each for each in signed if _says(each) is outcome),
        tuple(each for each in signed if _says(each) is not outcome),
    )


def _says(entry: Entry) -> Competence | None:
    return entry.what.outcome if isinstance(entry.what, Signature) else None


def _criteria(
    run: Run,
    book: Rulebook,
    findings: tuple[Finding, ...],
    failed: list[Finding],
    total: int | None,
) -> Iterator[Criterion]:
    mark, start = book.assessment.mark, book.points.start_of(run.givens)
    if mark is not None:
        reached = (
            total is not None and start is not None and mark.reached(total, start, book.points.best)
        )
        yield Criterion(MARK, reached, () if reached else _rules(failed))
    earned = {each.failure.rule for each in findings if each.failure.bonus and _counts(each)}
    for name in book.assessment.must:
        rule = book.rules.get(RuleId(name))
        if rule is not None and rule.kind == "bonus":
            met = rule.id in earned or not rule.applies(run)
            yield Criterion(name, met, () if met else (rule.id,))
        else:
            names = [each for each in failed if name in _names(each)]
            yield Criterion(name, not names, _rules(names))


def _counts(finding: Finding) -> bool:
    return finding.state is State.COUNTS


def _names(finding: Finding) -> set[str]:
    return {finding.failure.rule, finding.category.id, finding.category.severity}


def _rules(findings: list[Finding]) -> tuple[RuleId, ...]:
    return tuple(dict.fromkeys(finding.failure.rule for finding in findings))


def _again(book: Rulebook, criteria: tuple[Criterion, ...]) -> Iterator[str]:
    """The rules that failed, or their tasks, in the order of the rulebook; all where none did."""
    failed = {rule for criterion in criteria for rule in criterion.rules}
    tasks = {task.id: task for task in book.tasks}
    named: dict[str, None] = {}
    for rule in book.rules.values():
        if rule.id in failed or not failed:
            by_task = book.assessment.again is Again.TASK and rule.task is not None
            named[tasks[rule.task].id if by_task and rule.task is not None else rule.id] = None
    yield from named
