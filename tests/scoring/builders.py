"""Small rulebooks and entries with defaults, so that a test says only what it is about.

Times are milliseconds after `ZERO`, where `started()` starts the run unless told otherwise.
"""

from itertools import count
from typing import Any, Final

from scoring import (
    Addition,
    Breach,
    CloseOut,
    Count,
    Decision,
    Entry,
    Given,
    Mark,
    Measured,
    Moment,
    Moved,
    Outcome,
    Rulebook,
    Ruling,
    Scorecard,
    Signal,
    SignalName,
    Status,
    StatusRuling,
    TimeBack,
    WatchReading,
    What,
    Withdrawal,
    read_rulebook,
    score,
)
from scoring.findings import Finding
from scoring.ids import EntryId, FindingId, PersonId, PostId, RuleId, RunId

#: A moment in 2027, on the server's clock.
ZERO: Final = 1_800_000_000_000
#: How long the runs of `card` take: ten minutes.
TOOK: Final = 600_000

_SECTIONS: Final = {
    "rulebook": "trial",
    "title": "A trial",
    "edition": "1",
    "cautions": "Invented rules for a test.",
    "crew": "{size: 4, roles: {lead: Lead, hand: Hand}}",
    "posts": "{north: {title: North}, south: {title: South}}",
    "penalties": "{slip: {seconds: 10}, grave: {seconds: 30, severity: safety}}",
    "rules": """
  - {step: A1, do: Stop the drive, post: north, costs: slip}
  - {step: A2, do: Hang the locks, post: north, costs: slip, each: [one, two, three]}
  - {callout: clear, say: Line clear, post: north, costs: slip}
  - {conduct: gloves, text: Gloves on, post: north, costs: grave}
  - {returns: tools, text: Tools back, post: south, costs: slip}""",
}

_numbers: Final = count(1)


def rulebook_text(**sections: str | None) -> str:
    """A whole rulebook as its author writes it; a section given as None is left out."""
    whole = {**_SECTIONS, **sections}
    return "".join(f"{key}: {says}\n" for key, says in whole.items() if says is not None)


def book(**sections: str | None) -> Rulebook:
    """The rulebook of `rulebook_text`."""
    return read_rulebook(rulebook_text(**sections).encode(), "trial.yaml")


def entry(  # noqa: PLR0913 - one for each field of an entry
    what: What,
    *,
    at: int = 0,
    id: str = "",  # noqa: A002 - the entry's own name for it
    by: str = "jo",
    post: str | None = "north",
    off_by: int = 0,
) -> Entry:
    """An entry of the one run that tests are about."""
    return Entry(
        id=EntryId(id or f"e{next(_numbers):06d}"),
        run=RunId("run"),
        by=PersonId(by),
        post=None if post is None else PostId(post),
        at=ZERO + at,
        off_by=off_by,
        what=what,
    )


def signalled(signal: SignalName, reason: str = "", **where: Any) -> Entry:
    """A signal of the clock."""
    return entry(Signal(signal, reason), **where)


def started(**where: Any) -> Entry:
    """The start."""
    return signalled(SignalName.START, **where)


def stopped(at: int = TOOK, **where: Any) -> Entry:
    """The stop."""
    return signalled(SignalName.STOP, at=at, **where)


def held(**where: Any) -> Entry:
    """The clock held."""
    return signalled(SignalName.HOLD, **where)


def resumed(**where: Any) -> Entry:
    """The clock let go again."""
    return signalled(SignalName.RESUME, **where)


def false_started(**where: Any) -> Entry:
    """A false start called."""
    return signalled(SignalName.FALSE_START, **where)


def marked(
    rule: str, outcome: Outcome = Outcome.GOOD, item: str = "", *, timed: bool = True, **where: Any
) -> Entry:
    """A judge's mark on a rule: good unless told otherwise."""
    return entry(Mark(RuleId(rule), outcome, item, timed), **where)


def missed(rule: str, item: str = "", **where: Any) -> Entry:
    """A judge's mark that something was not done or said."""
    return marked(rule, Outcome.MISSING, item, **where)


def breached(rule: str = "gloves", whom: str = "", **where: Any) -> Entry:
    """A breach of a conduct rule."""
    return entry(Breach(RuleId(rule), whom), **where)


def counted(rule: str, number: int, **where: Any) -> Entry:
    """A count of what is missing."""
    return entry(Count(RuleId(rule), number), **where)


def moved(rule: str, moment: Moment, item: str = "", **where: Any) -> Entry:
    """A moment of something that takes time, or that the crew may put right."""
    return entry(Moved(RuleId(rule), moment, item), **where)


def measured(rule: str, amount: int, item: str = "", **where: Any) -> Entry:
    """What a judge measured or counted, in thousandths."""
    return entry(Measured(RuleId(rule), amount, item), **where)


def drawn(name: str, value: str, **where: Any) -> Entry:
    """What was drawn for the run."""
    return entry(Given(name, value), **where)


def watch(number: int, elapsed: int, at: int = TOOK, **where: Any) -> Entry:
    """A watch read after the stop."""
    return entry(WatchReading(number, elapsed), at=at, **where)


def closed(post: str, at: int = TOOK, **where: Any) -> Entry:
    """A post's close-out."""
    return entry(CloseOut(), post=post, at=at, **where)


def withdrew(target: Entry | str, **where: Any) -> Entry:
    """An entry taken back."""
    name = target if isinstance(target, str) else target.id
    return entry(Withdrawal(EntryId(name), "mistaken"), **where)


def ruled(
    finding: str,
    decision: Decision,
    cost: int | None = None,
    stands_on: tuple[Entry, ...] = (),
    at: int = TOOK,
    **where: Any,
) -> Entry:
    """A head judge's ruling."""
    seen = tuple(each.id for each in stands_on)
    what = Ruling(FindingId(finding), decision, "as seen on the day", cost, seen)
    return entry(what, at=at, **where)


def struck(finding: str, **where: Any) -> Entry:
    """A finding struck out."""
    return ruled(finding, Decision.STRIKE, **where)


def upheld(finding: str, **where: Any) -> Entry:
    """A finding upheld."""
    return ruled(finding, Decision.UPHOLD, **where)


def changed(finding: str, cost: int, **where: Any) -> Entry:
    """A finding whose cost the head judge changed."""
    return ruled(finding, Decision.CHANGE, cost, **where)


def added(rule: str, number: int = 1, at: int = TOOK, **where: Any) -> Entry:
    """A breach that the head judge adds."""
    return entry(Addition(RuleId(rule), number, "seen by all"), at=at, **where)


def gave_back(time: int, at: int = TOOK, **where: Any) -> Entry:
    """Time given back to the crew, or taken."""
    return entry(TimeBack(time, "a fault of ours"), at=at, **where)


def ended(status: Status | None, reason: str = "as ruled", at: int = TOOK, **where: Any) -> Entry:
    """A status that the head judge gives, or lifts."""
    return entry(StatusRuling(status, reason), at=at, **where)


def card(rules: Rulebook, *entries: Entry) -> Scorecard:
    """The scorecard of a run of ten minutes with these entries on its record."""
    return score((started(), stopped(), *entries), rules)


def findings(rules: Rulebook, *entries: Entry) -> list[Finding]:
    """The findings of such a run."""
    return list(card(rules, *entries).findings)
