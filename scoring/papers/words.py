"""The clock, the result and ties of a rulebook in sentences that can be read aloud."""

from collections.abc import Iterator, Sequence
from typing import Final

from scoring.clock import Limit, Way
from scoring.durations import format_duration, format_seconds, format_thousandths
from scoring.kinds.base import Rule
from scoring.kinds.held import Held
from scoring.kinds.setting import Setting
from scoring.kinds.valued import Valued
from scoring.results import Best, Result, Take
from scoring.rulebook import Rulebook
from scoring.rulebook.model import BONUSES, FINDINGS, TieBreak

_WAYS: Final = {
    Way.AUTOMATIC: "the automatic time",
    Way.ONE: "one watch",
    Way.SLOWER: "the slower of two watches",
    Way.MEAN: "the mean of two watches",
    Way.MEAN_OF_ALL: "the mean of all watches",
    Way.MIDDLE: "the middle of three watches",
}
_TAKEN: Final = {
    Take.BEST: "the best one counts",
    Take.LAST: "the last one counts",
    Take.MIDDLE: "the middle one counts",
    Take.SUM: "their sum counts",
    Take.MEAN: "their mean counts",
}
_LESS: Final = {
    "time": "the shorter time",
    "time-and-costs": "the shorter time with penalties",
    "penalties": "less in penalties",
}
_MINUTE: Final = 60_000


def said(names: Sequence[str], last: str) -> str:
    """Names as they are read aloud: a, b and c."""
    return f" {last} ".join(filter(None, (", ".join(names[:-1]), *names[-1:])))


def length(ms: int) -> str:
    """A length of time in words."""
    if ms % _MINUTE == 0 and ms:
        minutes = ms // _MINUTE
        return "1 minute" if minutes == 1 else f"{minutes} minutes"
    return format_seconds(ms) if ms < _MINUTE else format_duration(ms, 1_000)


def more_words(rule: Rule, book: Rulebook) -> Iterator[str]:
    """What a rule's kind has to say; of what is to be read and written no right value."""
    if isinstance(rule, Held):
        # Whoever works on paper counts; of taps it need not be said.
        least = [f"at least {length(rule.at_least)}"] if rule.at_least else []
        most = [f"at most {length(rule.at_most)}"] if rule.at_most is not None else []
        yield f"It lasts {said([*least, *most], 'and')}."
    elif not isinstance(rule, Valued) or isinstance(rule, Setting):
        yield from rule.says(book.terms)


def clock_words(book: Rulebook) -> Iterator[str]:
    """The clock: walkthrough, limit, what ends it, how the official time is made."""
    clock = book.clock
    if not book.timed:
        yield "No time is taken."
        return
    if clock.walkthrough is not None:
        yield from _limit("The walkthrough", clock.walkthrough, book)
    if clock.limit is not None:
        yield from _limit("The run", clock.limit, book)
    if clock.ends is not None:
        rule = book.rules[clock.ends]
        by = said([str(book.crew.roles.get(role, role)) for role in rule.by], "or")
        yield f"The clock stops on the words “{rule.text}”{f' ({by})' if by else ''}."
    if isinstance(clock.false_start, str):
        yield f"A false start costs: {book.categories[clock.false_start]}."
    ways = said([_WAYS[way] for way in clock.ways], "or else")
    yield (
        f"The official time is {ways}, rounded {clock.rounding} to {format_seconds(clock.step)}."
    )


def _limit(what: str, limit: Limit, book: Rulebook) -> Iterator[str]:
    yield f"{what} may take {length(limit.time)}."
    if limit.warn:
        before = said([length(warn) for warn in limit.warn], "and")
        yield f"The crew is told {before} before the end."
    if limit.ends_run:
        time = "time with penalties" if limit.with_penalties else "time"
        yield (
            f"Who reaches that {time} has not finished."
            if not limit.passed
            else (f"Who passes that {time} has not finished.")
        )
    elif isinstance(limit.over, str):
        yield f"Going over costs: {book.categories[limit.over]}."


def result_words(book: Rulebook) -> Iterator[str]:
    """What the result is, what several attempts come to, and what decides between equals."""
    points = book.points
    match book.result:
        case Result.TIME:
            yield "The result is the official time with the penalties; the least wins."
        case Result.POINTS:
            start = points.start
            first = format_thousandths(start) if isinstance(start, int) else f"the {start} drawn"
            way = "come off" if points.best is Best.MOST else "are added"
            yield f"The result is points. They start from {first}, and penalties {way}."
            yield "The most points win." if points.best is Best.MOST else "The least points win."
        case Result.ASSESSMENT:
            yield "Nobody is ranked: the outcome is competent or not yet competent."
            if book.assessment.mark is not None:
                mark = format_thousandths(book.assessment.mark.amount)
                unit = " % of the start value" if book.assessment.mark.share else " points"
                yield f"The pass mark is {mark}{unit}."
            if book.assessment.must:
                yield f"Met without fail: {said(list(book.assessment.must), 'and')}."
    if points.time is not None:
        time, each = points.time, format_thousandths(points.time.points)
        yield (
            f"Each whole {time.span} under {length(time.under)} gives {each} points."
            if time.under is not None
            else f"Each {time.span} begun beyond {length(time.beyond)} costs {each} points."
        )
    if book.attempts.count > 1:
        yield f"Each team has {book.attempts.count} attempts; {_TAKEN[book.attempts.take]}."
    if book.result is not Result.ASSESSMENT:
        if book.apart:
            yield "Places are given within each division."
        yield from _ties(book)


def _ties(book: Rulebook) -> Iterator[str]:
    if not book.ties:
        yield "Equal results share a place."
        return
    parted = ", then ".join(_tie(tie, book) for tie in book.ties)
    yield f"Of equal results the better has {parted}."
    yield "Who is still equal shares the place."


def _tie(tie: TieBreak, book: Rulebook) -> str:
    if tie.better:
        return "the better attempt" if tie.better == "attempt" else "the better attempts"
    if tie.less:
        return _LESS[tie.less]
    name = tie.fewer or tie.more
    titles = {str(each.id): each.title for each in book.categories.values()}
    kind = "" if name in {FINDINGS, BONUSES} else f" of “{titles.get(name) or name}”"
    return f"fewer findings{kind}" if tie.fewer else f"more bonuses{kind}"
