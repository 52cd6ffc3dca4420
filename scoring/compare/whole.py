"""What has changed about a rulebook beside its rules: what things cost, the clock, the result."""

from collections.abc import Iterator, Mapping
from typing import Any

from scoring.clock import Clock, Limit
from scoring.compare.change import Change, Matter
from scoring.compare.rules import priced
from scoring.durations import format_seconds, speak_duration
from scoring.ids import CategoryId, PostId
from scoring.penalties import Category
from scoring.results import Result
from scoring.rulebook import Rulebook
from scoring.rulebook.model import Post


def compare_whole(old: Rulebook, new: Rulebook) -> Iterator[Change]:
    """What has changed about categories, the clock, the result and the people."""
    yield from _categories(old, new)
    yield from _clocks(old, new)
    yield from _rest(old, new)


def _categories(old: Rulebook, new: Rulebook) -> Iterator[Change]:
    for name, category in new.categories.items():
        before = old.categories.get(name)
        # A category written in place is told with its rule.
        if " " in name:
            continue
        if before is None:
            yield Change(Matter.ADDED, name, f"New penalty category '{name}': {category}.")
        elif str(before) != str(category):
            rules = sum(name in priced(rule).values() for rule in new.rules.values())
            many = f" for {rules} rules" if rules > 1 else ""
            says = f"'{name}' now costs {category}{many} (was {before})."
            yield Change(Matter.COST, name, says)
        if before is not None:
            yield from _category(before, category)
    for name in old.categories:
        if " " not in name and name not in new.categories:
            yield Change(Matter.DROPPED, name, f"Penalty category '{name}' is gone.")


def _category(before: Category, after: Category) -> Iterator[Change]:
    """What has changed about a category beside what it costs."""
    if before.seen_by is not after.seen_by:
        says = f"'{after.id}' now counts when seen by {after.seen_by} (was {before.seen_by})."
        yield Change(Matter.JUDGING, after.id, says)
    if before.severity != after.severity:
        was, now = (f"'{each.severity}'" if each.severity else "none" for each in (before, after))
        yield Change(
            Matter.COST, after.id, f"The severity of '{after.id}' is now {now} (was {was})."
        )
    if before.ladder is not after.ladder and len(after.rungs) > 1:
        says = f"The ladder of '{after.id}' is now climbed by {after.ladder} (was {before.ladder})."
        yield Change(Matter.COST, after.id, says)


def _clocks(old: Rulebook, new: Rulebook) -> Iterator[Change]:
    before, after = _clock(old.clock, old), _clock(new.clock, new)
    for key, now in after.items():
        if before[key] != now:
            yield Change(Matter.CLOCK, key, f"{key} is now {now} (was {before[key]}).")


def _clock(clock: Clock, book: Rulebook) -> Mapping[str, str]:
    """The clock section in words."""
    return {
        "The limit of the run": _limit(clock.limit, book),
        "The limit of the walkthrough": _limit(clock.walkthrough, book),
        "What ends the run": clock.ends or "the signal",
        "The official time": ", else ".join(clock.ways),
        "Its rounding": _rounding(clock),
        "A false start": _cost(clock.false_start, book),
    }


def _rounding(clock: Clock) -> str:
    said = f"{clock.rounding} to {format_seconds(clock.step)}"
    long = clock.long
    if long is None:
        return said
    since = speak_duration(long.since)
    return f"{said}, from {since} on {long.rounding} to {format_seconds(long.step)}"


def _cost(costs: object, book: Rulebook) -> str:
    """What a category of the clock costs, in words."""
    return str(book.categories[CategoryId(costs)]) if isinstance(costs, str) else "nothing"


def _limit(limit: Limit | None, book: Rulebook) -> str:
    if limit is None:
        return "none"
    said = f"{speak_duration(limit.time)}, over it {_cost(limit.over, book)}"
    if limit.ends_run:
        what = "the time with penalties" if limit.with_penalties else "the time"
        passed = "passes" if limit.passed else "reaches"
        said = f"{speak_duration(limit.time)}, and who {passed} it with {what} did not finish"
    if limit.warn:
        said += f", told {' and '.join(map(speak_duration, limit.warn))} before"
    return said


def _rest(old: Rulebook, new: Rulebook) -> Iterator[Change]:
    for what, was, now in (
        ("The title", old.title, new.title),
        ("The crew", old.crew.size, new.crew.size),
        ("What nobody saw", _unseen(old), _unseen(new)),
        ("The tolerance of order", format_seconds(old.tolerance), format_seconds(new.tolerance)),
        ("The cost of disorder", _disorder(old), _disorder(new)),
        ("The result", _result(old), _result(new)),
        ("What counts of several runs", _attempts(old), _attempts(new)),
        ("The tie-breaks", _ties(old), _ties(new)),
        ("Who is ranked together", _together(old), _together(new)),
    ):
        if was != now:
            yield Change(Matter.OTHER, what, f"{what} is now {now} (was {was}).")
    yield from _named("post", _titles(old.posts), _titles(new.posts))
    yield from _named("role", old.crew.roles, new.crew.roles)
    yield from _named("task", *({t.id: t.title for t in book.tasks} for book in (old, new)))
    yield from _named("given", *(_givens(book) for book in (old, new)))
    if old.cautions != new.cautions:
        yield Change(Matter.OTHER, "cautions", "The cautions have changed: read them aloud again.")
    if new.edition <= old.edition and new.hash != old.hash:
        says = f"The edition is {new.edition}, which is no higher than {old.edition}; count it up."
        yield Change(Matter.NEW_MEANING, "edition", says)


def _named(what: str, old: Mapping[Any, str], new: Mapping[Any, str]) -> Iterator[Change]:
    """What is new, gone or called otherwise of posts, roles, tasks and givens."""
    for name, says in new.items():
        if name not in old:
            yield Change(Matter.OTHER, name, f"New {what} '{name}': {says}.")
        elif old[name] != says:
            yield Change(
                Matter.OTHER, name, f"The {what} '{name}' is now {says} (was {old[name]})."
            )
    for name in old:
        if name not in new:
            yield Change(Matter.OTHER, name, f"The {what} '{name}' is gone.")


def _titles(posts: Mapping[PostId, Post]) -> Mapping[Any, str]:
    return {name: post.title for name, post in posts.items()}


def _givens(book: Rulebook) -> Mapping[str, str]:
    return {
        name: ", ".join(given.choices)
        or (f"a date ({given.date})" if given.date else f"a number in {given.unit}")
        for name, given in book.givens.items()
    }


def _disorder(book: Rulebook) -> str:
    return _cost(book.order_costs, book) if book.order_costs else "what the later rule costs"


def _unseen(book: Rulebook) -> str:
    return "counted against the crew" if book.unseen_fails else "in the crew's favour"


def _result(book: Rulebook) -> str:
    if book.result is Result.TIME:
        return "a time"
    if book.result is Result.POINTS:
        return f"points {book.points}"
    return f"an assessment ({book.assessment}), points {book.points}"


def _attempts(book: Rulebook) -> str:
    return book.attempts.say(book.unit) if book.attempts.count > 1 else "the only one"


def _together(book: Rulebook) -> str:
    return "each division by itself" if book.apart else "everybody"


def _ties(book: Rulebook) -> str:
    said = [str(tie) for tie in book.ties]
    return ", then ".join(said) or "none"
