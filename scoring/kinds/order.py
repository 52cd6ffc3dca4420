"""Order: what was begun before what had to come first, proposed from the times of the marks.

A tap comes a moment after what it tells of, and no two clocks agree to the millisecond. So a rule
is out of order only when it was begun earlier than what had to come first by more than the
rulebook's tolerance and what the two tablets' clocks may be out together. Unless the rulebook says
`at-once`, the finding is proposed and costs nothing until a judge of authority upholds it.
"""

from collections.abc import Iterator, Mapping

from scoring.entries import Entry
from scoring.fold import Run
from scoring.ids import CategoryId, RuleId
from scoring.kinds.base import Failure, Fault, Order, Rule, Terms, failure_id
from scoring.kinds.callout import Callout
from scoring.kinds.repeated import Repeated


def out_of_order(run: Run, terms: Terms) -> Iterator[Failure]:
    """Every pair of rules that came the wrong way round, once, however often it is written.

    A rule that does not apply to the run is left out of the order: what comes after it then comes
    after what was to come before it.
    """
    before: dict[RuleId, dict[RuleId, Order]] = {rule: {} for rule in terms.rules}
    for rule in terms.rules.values():
        for first in rule.after.rules:
            before[rule.id].setdefault(first, rule.after)
    for rule in terms.rules.values():
        for later in rule.before if isinstance(rule, Callout) else ():
            before[later].setdefault(rule.id, rule.after)
    applying = [rule for rule in terms.rules.values() if rule.applies(run)]
    there = {rule.id for rule in applying}
    for then in applying:
        for name, order in _first(before, then.id, there).items():
            yield from _compare(run, terms, terms.rules[name], then, order)
        if isinstance(then, Repeated) and (then.first or then.last):
            yield from _items(run, terms, then)


def _first(
    before: Mapping[RuleId, Mapping[RuleId, Order]], then: RuleId, there: set[RuleId]
) -> Mapping[RuleId, Order]:
    """What must come before a rule, of what is there, each with the order that says so."""
    found: dict[RuleId, Order] = {}
    asked: set[RuleId] = set()
    ask = list(before[then].items())
    while ask:
        name, order = ask.pop()
        if name in there:
            found.setdefault(name, order)
        elif name not in asked:
            asked.add(name)
            ask += [(each, order) for each in before[name]]
    return found


def _items(run: Run, terms: Terms, rule: Repeated) -> Iterator[Failure]:
    """An item that had to be the first or the last of its rule and was not."""
    done = dict(zip(rule.items, rule.done(run), strict=True))
    for item, why in ((rule.first, "first"), (rule.last, "last")):
        mine = done.get(item)
        others = [marks[0] for name, marks in done.items() if name != item and marks]
        if not item or not mine or not others:
            continue
        pairs = [(each, mine[0]) if why == "first" else (mine[0], each) for each in others]
        early, late = max(pairs, key=_surely)
        if _surely((early, late)) > terms.tolerance:
            yield Failure(
                id=failure_id(rule.id, item, why=why),
                rule=rule.id,
                fault=Fault.OUT_OF_ORDER,
                costs=_costs(rule.after, terms, rule),
                item=item,
                at=mine[0].at,
                stands_on=(early.id, late.id),
                proposed=not rule.after.at_once,
                margin=late.at - early.at,
                detail=f"had to be the {why}",
            )


def _surely(pair: tuple[Entry, Entry]) -> int:
    """How long one entry came before another, as far as their clocks can tell."""
    early, late = pair
    return late.at - early.at - early.off_by - late.off_by


def _compare(run: Run, terms: Terms, first: Rule, then: Rule, order: Order) -> Iterator[Failure]:
    ended, begun = first.ended(run), then.begun(run)
    if ended is None or begun is None:
        return
    if _surely((begun, ended)) <= terms.tolerance:
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
        margin=ended.at - begun.at,
    )


def _costs(order: Order, terms: Terms, rule: Rule) -> CategoryId:
    """The category of disorder: the rule's own word on it, the rulebook's, or the rule's."""
    if isinstance(order.costs, str):
        return order.costs
    return terms.order_costs or rule.costs
