"""Sense across fields: references that lead somewhere, ids used once, an order that can be kept.

Takes the values the schema made and gives the `Rulebook`, with every problem as the path of keys
it stands under and a sentence.
"""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from typing import Any, Final

from scoring.clock import Clock, Limit
from scoring.fields import listed, nearest
from scoring.ids import CategoryId, PostId, RoleId, RuleId, TaskId
from scoring.kinds.base import Rule, RuleSchema, Terms
from scoring.kinds.callout import Callout
from scoring.kinds.conduct import PHASES
from scoring.kinds.crew import MinimumCrew
from scoring.kinds.limit import Limit as TaskLimit
from scoring.penalties import CHARGED_BY_TIME, Category, Rung, Unit
from scoring.results import Assessment, Attempts, Points, Result
from scoring.rulebook.model import BONUSES, FINDINGS, Crew, Post, Rulebook, Task, TieBreak
from scoring.rulebook.modes import complaints, is_timed, misfit
from scoring.rulebook.schema import Places, Unseen

#: Keys from the top of the file down to what is meant.
Path = tuple[str | int | None, ...]

_TOLERANCE: Final = 2_000
_MOST_GUESSES: Final = 20_000
#: What a rule costs whose kind costs nothing.
NO_COST: Final = Category(CategoryId("no cost"), Unit.SECONDS, (Rung(),))


@dataclass(frozen=True, slots=True)
class Complaint:
    """What is wrong at a path; `first` is where the other of two clashing things stands."""

    path: Path
    says: str
    first: Path | None = None


@dataclass(slots=True)
class _Builder:
    """A rulebook in the making, and what is wrong with it so far."""

    data: Mapping[str, Any]
    complaints: list[Complaint] = field(default_factory=list)
    categories: dict[CategoryId, Category] = field(default_factory=dict)
    rules: dict[RuleId, Rule] = field(default_factory=dict)
    at: dict[RuleId, Path] = field(default_factory=dict)
    tasks: list[Task] = field(default_factory=list)
    #: How many more names may be held beside wrong ones, so that no file takes long to refuse.
    guesses: int = _MOST_GUESSES

    def complain(self, path: Path, says: str, first: Path | None = None) -> None:
        self.complaints.append(Complaint(path, says, first))

    def known(self, path: Path, what: str, name: str, allowed: Collection[str]) -> bool:
        """Whether a name leads somewhere; a complaint with the nearest one where it does not."""
        if name in allowed:
            return True
        names = list(allowed)
        self.guesses -= len(names)
        near = nearest(name, names) if self.guesses > 0 else ""
        self.complain(path, f"There is no {what} '{name}'; there are {listed(names)}.{near}")
        return False

    def category(self, path: Path, costs: Any, own: str) -> CategoryId | None:
        """The id of a category named, or written in place and then named after its `own`er."""
        if isinstance(costs, Category):
            name = CategoryId(f"{own} alone")
            self.categories[name] = replace(costs, id=name)
            self.fits_result(path, costs)
            return name
        if costs is not None and self.known(
            path, "penalty category", costs, self.data["penalties"]
        ):
            return CategoryId(costs)
        return None

    def fits_result(self, path: Path, category: Category) -> None:
        if says := misfit(category, self.data):
            self.complain(path, says)


def build(data: Mapping[str, Any], digest: str) -> tuple[Rulebook | None, list[Complaint]]:
    """The rulebook that the schema's values make, or None and every problem."""
    making = _Builder(data)
    _penalties(making)
    _all_rules(making)
    _references(making)
    _cycles(making)
    if not making.complaints:
        _senses(making)
    clock = _clock(making, data.get("clock", Clock()))
    order = data.get("order", {})
    order_costs = making.category(("order", "costs"), order.get("costs"), "the order")
    ties = _ties(making)
    for path, says in complaints(data, making.categories, making.rules):
        making.complain(path, says)
    if making.complaints:
        return None, making.complaints
    crew = data.get("crew", {})
    return (
        Rulebook(
            id=data["id"],
            title=data["title"],
            edition=data["edition"],
            language=data["language"],
            unit=Unit.SECONDS if data["result"] is Result.TIME else Unit.POINTS,
            cautions=data["cautions"],
            crew=Crew(
                crew.get("size", 1),
                {RoleId(role): says for role, says in crew.get("roles", {}).items()},
            ),
            posts={
                PostId(name): Post(PostId(name), **post) for name, post in data["posts"].items()
            },
            categories=making.categories,
            clock=clock,
            tasks=tuple(making.tasks),
            rules=making.rules,
            result=data["result"],
            points=data.get("points", Points()),
            assessment=data.get("assessment", Assessment()),
            attempts=data.get("attempts", Attempts()),
            timed=is_timed(data),
            ties=ties,
            apart=data.get("places") is Places.DIVISION,
            tolerance=order.get("tolerance", _TOLERANCE),
            order_costs=order_costs,
            givens=data["givens"],
            unseen_fails=data["unseen"] is Unseen.MISSING,
            hash=digest,
        ),
        [],
    )


def _penalties(making: _Builder) -> None:
    for name, category in making.data["penalties"].items():
        making.categories[CategoryId(name)] = replace(category, id=CategoryId(name))
        making.fits_result(("penalties", name), category)


def _all_rules(making: _Builder) -> None:
    seen: dict[str, Path] = {}
    for index, task in enumerate(making.data["tasks"]):
        path: Path = ("tasks", index)
        if task["id"] in seen:
            making.complain(
                (*path, "task"), f"The id '{task['id']}' is used twice.", seen[task["id"]]
            )
        if task["id"] in PHASES:
            making.complain(
                (*path, "task"),
                f"'{task['id']}' is a phase of every run; give the task another id.",
            )
        seen.setdefault(task["id"], (*path, "task"))
        before: RuleId | None = None
        ids = []
        for number, rule in enumerate(task["rules"]):
            made = _rule(making, (*path, "rules", number), rule, task)
            if task["in_order"] and rule.kind == "step":
                if before is not None and not made.after.rules:
                    made = replace(made, after=replace(made.after, rules=(before,)))
                before = made.id
            _keep(making, (*path, "rules", number), made)
            ids.append(made.id)
        making.tasks.append(Task(TaskId(task["id"]), task["title"], tuple(ids)))
    for number, rule in enumerate(making.data["rules"]):
        _keep(making, ("rules", number), _rule(making, ("rules", number), rule, {}))
    if not making.rules:
        making.complain((), "There is no rule in this rulebook; write tasks or rules.")


def _keep(making: _Builder, path: Path, rule: Rule) -> None:
    if rule.id in making.rules:
        making.complain(
            (*path, rule.kind), f"The id '{rule.id}' is used twice.", making.at[rule.id]
        )
        return
    making.rules[rule.id] = rule
    making.at[rule.id] = (*path, rule.kind)


def _rule(making: _Builder, path: Path, rule: Rule, task: Mapping[str, Any]) -> Rule:
    """A rule with its task's defaults filled in and its posts, roles and categories looked up."""
    posts, where = (rule.posts, path) if rule.posts else (task.get("posts", ()), path[:2])
    if not posts:
        making.complain(path, f"No post watches '{rule.id}'; name one with 'post'.")
    for post in posts:
        making.known((*where, "post"), "post", post, making.data["posts"])
    for role in rule.by:
        making.known((*path, "by"), "role", role, making.data.get("crew", {}).get("roles", {}))
    order = making.category((*path, "after", "costs"), rule.after.costs, f"{rule.id} order")
    more = [
        making.category((*path, *key), priced, f"{rule.id} {' '.join(map(str, key))}") or NO_COST.id
        for key, priced in rule.more_costs()
    ]
    return replace(
        rule.priced(more),
        posts=tuple(PostId(post) for post in posts),
        costs=_costs(making, path, rule, task),
        task=TaskId(task["id"]) if task else None,
        after=replace(rule.after, costs=order),
    )


def _costs(making: _Builder, path: Path, rule: Rule, task: Mapping[str, Any]) -> CategoryId:
    """The category of a rule: its own, its task's, or none where the kind costs nothing."""
    if not rule.costed:
        making.categories[NO_COST.id] = NO_COST
        return NO_COST.id
    key = _cost_key(rule.schema)
    if rule.costs:
        return making.category((*path, key), rule.costs, rule.id) or NO_COST.id
    if "costs" in task and key == "costs":
        return making.category((*path[:2], key), task["costs"], rule.id) or NO_COST.id
    making.complain(path, f"Nothing says what '{rule.id}' costs; name a category with '{key}'.")
    return NO_COST.id


@cache
def _cost_key(schema: type[RuleSchema]) -> str:
    """What a kind calls its cost in a rulebook."""
    return schema().fields["costs"].data_key or "costs"


def _references(making: _Builder) -> None:
    for rule in making.rules.values():
        path = making.at[rule.id][:-1]
        for key, other in rule.references():
            if other == rule.id:
                making.complain((*path, key), f"'{rule.id}' names itself.")
            else:
                making.known((*path, key), "rule", other, making.rules)
        tasks = [each.id for each in making.tasks]
        for task in rule.during:
            making.known((*path, "during"), "task", task, [*tasks, *PHASES])
        if isinstance(rule, TaskLimit):
            making.known((*path, "task"), "task", rule.on, tasks)
        size = making.data.get("crew", {}).get("size", 1)
        if isinstance(rule, MinimumCrew) and rule.at_least > size:
            making.complain(
                (*path, "at-least"), f"There are {size} in the crew; see 'size' under 'crew'."
            )
        _whens(making, path, rule)
        for key, given in rule.named_givens():
            making.known((*path, key), "given", given, making.data["givens"])


def _senses(making: _Builder) -> None:
    """What each kind knows to be wrong beside the rest, once all that is named is there."""
    terms = Terms(
        rules=making.rules,
        categories=making.categories,
        tolerance=0,
        order_costs=None,
        givens=making.data["givens"],
    )
    for rule in making.rules.values():
        for path, says in rule.problems(terms):
            making.complain((*making.at[rule.id][:-1], *path), says)


def _whens(making: _Builder, path: Path, rule: Rule) -> None:
    givens = making.data["givens"]
    for name, value in rule.when:
        here = (*path, "when", name)
        if not making.known(here, "given", name, givens):
            continue
        if givens[name].choices:
            making.known(here, f"choice of '{name}'", value, givens[name].choices)
        else:
            making.complain(here, f"'{name}' has no choices; a rule can depend only on a choice.")


def _before(making: _Builder) -> Mapping[RuleId, list[RuleId]]:
    """For each rule, what must come before it, as far as there are such rules."""
    edges: dict[RuleId, list[RuleId]] = {rule: [] for rule in making.rules}
    for rule in making.rules.values():
        first_then = [(first, rule.id) for first in rule.after.rules]
        if isinstance(rule, Callout):
            first_then += [(rule.id, later) for later in rule.before]
        for first, then in first_then:
            if first in edges and then in edges and first != then:
                edges[then].append(first)
    return edges


def _cycles(making: _Builder) -> None:
    edges, done = _before(making), set[RuleId]()
    for begin in making.rules:
        trail: dict[RuleId, None] = {}
        stack: list[Iterator[RuleId]] = [iter((begin,))]
        while stack:
            rule = next(stack[-1], None)
            if rule is None:
                stack.pop()
                if trail:
                    done.add(trail.popitem()[0])
            elif rule in trail:
                around = list(trail)
                circle = " after ".join(
                    f"'{each}'" for each in [*around[around.index(rule) :], rule]
                )
                making.complain(making.at[rule], f"An order nobody can keep: {circle}.")
                return
            elif rule not in done:
                trail[rule] = None
                stack.append(iter(edges.get(rule, ())))


def _clock(making: _Builder, clock: Clock) -> Clock:
    def limit(name: str, of: Limit | None) -> Limit | None:
        if of is None or of.over is None:
            return of
        path = ("clock", name, "over")
        over = making.category(path, of.over, f"over the {name} limit")
        if over is not None and not making.categories[over].fits_time:
            making.complain(path, CHARGED_BY_TIME)
        return replace(of, over=over)

    ends = ("clock", "run", "ends")
    if (
        clock.ends is not None
        and making.known(ends, "rule", clock.ends, making.rules)
        and making.rules[clock.ends].kind != "callout"
    ):
        making.complain(ends, f"'{clock.ends}' is no callout; a run ends on a callout.")
    watches = sum(post.get("watches", 0) for post in making.data["posts"].values())
    if clock.watches > max(watches, 1):
        making.complain(
            ("clock", "official", "from"),
            f"'{clock.ways[0]}' needs {clock.watches} watches; the posts read {watches}.",
        )
    false_start = making.category(("clock", "run", "false-start"), clock.false_start, "false start")
    return replace(
        clock,
        false_start=false_start,
        limit=limit("run", clock.limit),
        walkthrough=limit("walkthrough", clock.walkthrough),
    )


def _ties(making: _Builder) -> tuple[TieBreak, ...]:
    ties: tuple[TieBreak, ...] = making.data.get("ties", ())
    kinds = {category.severity for category in making.categories.values() if category.severity}
    names = [*making.data["penalties"], *sorted(kinds)]
    for number, tie in enumerate(ties):
        for key, word, all_of_them in (
            ("fewer", tie.fewer, FINDINGS),
            ("more", tie.more, BONUSES),
        ):
            if word:
                allowed = [all_of_them, *names]
                making.known(("ties", number, key), "category or severity", word, allowed)
    return ties
