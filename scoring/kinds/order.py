"""Order: what was begun before what had to come first, proposed from the times of the marks.

A tap comes a moment after what it tells of, and no two clocks agree to the millisecond. So a rule
is out of order only when it was begun earlier than what had to come first by more than the
rulebook's tolerance and what the two tablets' clocks may be out together. Unless the rulebook says
`at-once`, the finding is proposed and costs nothing until a judge of authority upholds it.
"""

from collections.abc import Iterator

from scoring.entries import Entry
from scoring.fold import Run
from scoring.ids import CategoryId, RuleId
from scoring.kinds.base import Failure, Fault, Order, Rule, Terms, failure_id
from scoring.kinds.callout import Callout
from scoring.kinds.repeated import Repeated


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
    for rule in terms.rules.values():
        if isinstance(rule, Repeated) and (rule.first or rule.last):
            yield from _items(run, terms, rule)


def _items(run: Run, terms: Terms, rule: Repeated) -> Iterator[Failure]:
    """An item that had to be the first or the last of its rule and was not."""
    done = dict(zip(rule.items, rule.done(run), strict=True))
    for item, why in ((rule.first, "first"), (rule.last, "last")):
        mine = done.get(item)
        others = [marks[0] for name, marks in done.items() if name != item and marks]
        if not item or not mine or not others:
            continue
        other = min(others, key=_when) if why == "first" else max(others, key=_when)
        early, late = (other, mine[0]) if why == "first" else (mine[0], other)
        margin = late.at - early.at
        if margin > terms.tolerance + early.off_by + late.off_by:
            yield Failure(
                id=failure_id(rule.id, item, why=why),
                rule=rule.id,
                fault=Fault.OUT_OF_ORDER,
                costs=_costs(rule.after, terms, rule),
                item=item,
                at=mine[0].at,
                stands_on=(early.id, late.id),
                proposed=not rule.after.at_once,
                margin=margin,
            )


def _when(entry: Entry) -> tuple[int, str]:
    return entry.when


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
