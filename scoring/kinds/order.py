"""Order: what was begun before what had to come first, proposed from the times of the marks.

A tap comes a moment after what it tells of, and no two clocks agree to the millisecond. So a rule
is out of order only when it was begun earlier than what had to come first by more than the
rulebook's tolerance and what the two tablets' clocks may be out together. Unless the rulebook says
`at-once`, the finding is proposed and costs nothing until a judge of authority upholds it.
"""

from collections.abc import Iterator

from scoring.fold import Run
from scoring.ids import CategoryId, RuleId
from scoring.kinds.base import Failure, Fault, Order, Rule, Terms, failure_id
from scoring.kinds.callout import Callout


def out_of_order(run: Run, terms: Terms) -> Iterator[Failure]:
    """Every pair of rules that came the wrong way round, once, however often it is written."""
    pairs: dict[tuple[RuleId, RuleId], Order] = {}
    for rule in terms.rules.values():
        for first in rule.after.rules:
            pairs.setdefault((first, rule.id), rule.after)
    for rule in terms.rules.values():
        for later in rule.before if isinstance(rule, Callout) else ():
            pairs.setdefault((rule.id, later), rule.after)
    for (first, then), order in pairs.items():
        yield from _compare(run, terms, terms.rules[first], terms.rules[then], order)


def _compare(run: Run, terms: Terms, first: Rule, then: Rule, order: Order) -> Iterator[Failure]:
    ended, begun = first.ended(run), then.begun(run)
    if ended is None or begun is None:
        return
    early = ended.at - begun.at
    if early <= terms.tolerance + ended.off_by + begun.off_by:
        return
    yield Failure(
        id=failure_id(then.id, first.id, why="after"),
        rule=then.id,
        fault=Fault.OUT_OF_ORDER,
        costs=_costs(order, terms, then),
        item=first.id,
        at=begun.at,
        stands_on=(ended.id, begun.id),
        proposed=not order.at_once,
        margin=early,
    )


def _costs(order: Order, terms: Terms, rule: Rule) -> CategoryId:
    """The category of disorder: the rule's own word on it, the rulebook's, or the rule's."""
    if isinstance(order.costs, str):
        return order.costs
    return terms.order_costs or rule.costs
