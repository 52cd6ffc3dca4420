"""An entry in plain words, as the head judge and the crew read it."""

from scoring.durations import format_duration, format_thousandths
from scoring.entries import (
    Addition,
    Breach,
    CloseOut,
    Count,
    Given,
    Mark,
    Measured,
    Moved,
    Outcome,
    Ruling,
    Signal,
    Signature,
    StatusRuling,
    TimeBack,
    Value,
    WatchReading,
    What,
    Withdrawal,
)

_OUTCOMES = {
    Outcome.GOOD: "good",
    Outcome.WRONG: "wrong",
    Outcome.MISSING: "missing",
    Outcome.UNSEEN: "not seen",
}


def describe(what: What) -> str:  # noqa: C901, PLR0911, PLR0912 - one case a kind of entry
    """What an entry says, in a few words; who and when stand beside it."""
    match what:
        case Mark():
            later = "" if what.timed else ", answered at close-out"
            return f"{what.rule}{_of(what.item)}: {_OUTCOMES[what.outcome]}{later}"
        case Breach():
            return f"{what.rule}: breach" + (f" by {what.whom}" if what.whom else "")
        case Count():
            return f"{what.rule}: {what.count} counted"
        case Moved():
            return f"{what.rule}{_of(what.item)}: {what.moment}"
        case Measured():
            return f"{what.rule}{_of(what.item)}: {format_thousandths(what.amount)} measured"
        case Value():
            said = f"'{what.value}'" if what.legible else "illegible"
            return f"{what.rule}{_of(what.item)}: {said}"
        case Given():
            return f"{what.name} is {what.value}"
        case Signal():
            return what.signal + (f": {what.reason}" if what.reason else "")
        case WatchReading():
            return f"watch {what.watch}: {format_duration(what.elapsed)}"
        case CloseOut():
            return "closed out"
        case Withdrawal():
            return "withdrawn" + (f": {what.reason}" if what.reason else "")
        case Ruling():
            return f"{what.finding}: {what.decision}, {what.reason}"
        case Addition():
            return f"{what.rule}: {what.count} added, {what.reason}"
        case TimeBack():
            return f"{format_duration(what.time)} given back, {what.reason}"
        case StatusRuling():
            return f"{what.status or 'ranked again'}, {what.reason}"
        case Signature():
            return f"signed as {what.outcome}" + (f": {what.remark}" if what.remark else "")


def _of(item: str) -> str:
    return f" ({item})" if item else ""
