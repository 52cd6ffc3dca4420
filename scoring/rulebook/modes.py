"""What the ways to make a result ask of the rest of a rulebook."""

from collections.abc import Collection, Iterator, Mapping
from typing import Any, Final

from scoring.fields import listed, nearest
from scoring.ids import CategoryId, RuleId
from scoring.kinds.base import Path, Rule
from scoring.penalties import Category, Unit
from scoring.results import Assessment, Attempts, Best, Points, Result, Take
from scoring.rulebook.schema import TIME_AND_COSTS

_ONE_ONLY: Final = (Take.BEST, Take.LAST)


def is_timed(data: Mapping[str, Any]) -> bool:
    """Whether a result needs an official time."""
    if data["result"] is Result.TIME or "clock" in data:
        return True
    points: Points = data.get("points", Points())
    return points.time is not None or any(
        tie.less in {"time", TIME_AND_COSTS} for tie in data.get("ties", ())
    )


def misfit(category: Category, data: Mapping[str, Any]) -> str:
    """Why a category costs what means nothing for the result; nothing where it fits."""
    if not any(rung.amount for rung in category.rungs):
        return ""
    if data["result"] is Result.TIME:
        if category.unit is Unit.POINTS:
            return "Points mean nothing where the result is a time; cost it in seconds."
        return ""
    points: Points = data.get("points", Points())
    counted = points.time is not None or any(
        tie.less == TIME_AND_COSTS for tie in data.get("ties", ())
    )
    if category.unit is Unit.SECONDS and not counted:
        return (
            "Seconds mean nothing where no time becomes points; cost it in points, "
            "or say under 'points' what 'time' costs."
        )
    return ""


def complaints(
    data: Mapping[str, Any],
    categories: Mapping[CategoryId, Category],
    rules: Mapping[RuleId, Rule],
) -> Iterator[tuple[Path, str]]:
    """What does not fit the result, each with the path it stands under."""
    result: Result = data["result"]
    if result is Result.TIME and "points" in data:
        yield ("points",), "Where the result is a time there are no points; leave them out."
    if result is not Result.ASSESSMENT and "assessment" in data:
        yield ("assessment",), "This has a meaning only beside 'result: assessment'."
    if result is Result.ASSESSMENT:
        if "assessment" not in data:
            yield (), "An assessment says what to reach; write 'assessment' with 'pass' or 'must'."
        else:
            yield from _assessment(data, categories, rules)
        for key in ("ties", "places"):
            if key in data:
                yield (key,), "Nobody is ranked in an assessment; leave it out."
    yield from _start(data)
    yield from _attempts(data)


def _start(data: Mapping[str, Any]) -> Iterator[tuple[Path, str]]:
    start, path = data.get("points", Points()).start, ("points", "start")
    if not isinstance(start, str):
        return
    if start not in data["givens"]:
        yield path, _unknown("given", start, list(data["givens"]))
    elif not data["givens"][start].unit:
        yield path, f"'{start}' is no number; points start from one."


def _attempts(data: Mapping[str, Any]) -> Iterator[tuple[Path, str]]:
    attempts: Attempts = data.get("attempts", Attempts())
    if data["result"] is Result.ASSESSMENT:
        if attempts.take not in _ONE_ONLY:
            yield ("attempts", "take"), "Of an assessment the best or the last attempt holds."
        if attempts.failed is not None:
            yield ("attempts", "failed"), "An assessment that failed counts as no amount."
    for number, tie in enumerate(data.get("ties", ())):
        if tie.better and "attempts" not in data:
            yield ("ties", number, "better"), "There is one attempt only; write 'attempts' first."


def _assessment(
    data: Mapping[str, Any],
    categories: Mapping[CategoryId, Category],
    rules: Mapping[RuleId, Rule],
) -> Iterator[tuple[Path, str]]:
    assessment: Assessment = data["assessment"]
    points: Points = data.get("points", Points())
    kinds = {category.severity for category in categories.values() if category.severity}
    classes = {*data["penalties"], *kinds}
    for number, name in enumerate(assessment.must):
        path: Path = ("assessment", "must", number)
        if name in rules and name in classes:
            yield path, f"'{name}' is a rule and a category; give one of them another id."
        elif name not in rules and name not in classes:
            allowed = [*rules, *sorted(classes)]
            yield path, _unknown("rule, category or severity", name, allowed)
    mark, start, path = assessment.mark, points.start, ("assessment", "pass")
    if mark is None:
        return
    if mark.share and points.best is Best.LEAST:
        yield path, "Where the least points are best there is no share of them; write points."
    elif mark.share and start == 0:
        yield path, "A share is one of the start value; write 'start' under 'points'."
    gives = any(rule.kind == "bonus" for rule in rules.values())
    high = isinstance(start, int) and not mark.share and mark.amount > start
    if high and points.best is Best.MOST and not gives:
        yield path, "Nobody can reach it: it lies above the start value, and nothing is given."


def _unknown(what: str, name: str, allowed: Collection[str]) -> str:
    names = list(allowed)
    return f"There is no {what} '{name}'; there are {listed(names)}.{nearest(name, names)}"
