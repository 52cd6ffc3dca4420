"""Hypothesis strategies: any entry that a tablet could send, sensible or not."""

from typing import Final

from hypothesis import strategies as st
from hypothesis.strategies import SearchStrategy

from scoring import (
    Addition,
    Breach,
    CloseOut,
    Count,
    Decision,
    Entry,
    Mark,
    Outcome,
    Rulebook,
    Ruling,
    Signal,
    SignalName,
    Status,
    StatusRuling,
    TimeBack,
    WatchReading,
    What,
    Withdrawal,
)
from scoring.entries import Given, Measured, Moment, Moved, Value
from scoring.ids import EntryId, FindingId, PersonId, PostId, RuleId, RunId
from tests.scoring.builders import ZERO

#: Few ids, so that entries clash, repeat, withdraw and rule on one another.
IDS: Final = st.sampled_from([EntryId(f"e{n:02d}") for n in range(40)])
_ODD: Final = st.sampled_from(["", "nowhere", "A1/A1", "é", "1", "run limit"])
_SOON: Final = st.integers(0, 60).map(lambda seconds: ZERO + 500 * seconds)
_ABSURD: Final = st.sampled_from([0, 1, ZERO - 1, 253_402_300_799_999])


def _findings(rules: list[RuleId], items: list[str]) -> SearchStrategy[FindingId]:
    of = st.sampled_from(rules)
    return st.one_of(
        of.map(FindingId),
        st.tuples(of, IDS).map(lambda pair: FindingId(f"{pair[0]}/{pair[1]}")),
        st.tuples(of, st.sampled_from(items)).map(lambda pair: FindingId(f"{pair[0]}/{pair[1]}")),
        st.tuples(of, of).map(lambda pair: FindingId(f"{pair[0]} after/{pair[1]}")),
        st.tuples(of, IDS).map(lambda pair: FindingId(f"{pair[0]} added/{pair[1]}")),
        st.sampled_from([FindingId("run limit"), FindingId("walkthrough limit"), FindingId("x")]),
    )


def whats(book: Rulebook) -> SearchStrategy[What]:
    """What an entry can say about a rulebook's ids, and about some that it lacks."""
    known = sorted(book.rules)
    places = [(rule.id, item) for rule in book.rules.values() for item in rule.items]
    items = sorted({item for _, item in places})
    rule = st.one_of(st.sampled_from(known), st.sampled_from(known), _ODD.map(RuleId))
    stray = st.tuples(rule, st.sampled_from(items) | _ODD)
    place = st.one_of(st.sampled_from(places), st.sampled_from(places), stray)
    mark = st.builds(
        lambda at, outcome, timed: Mark(at[0], outcome, at[1], timed=timed),
        place,
        st.sampled_from(Outcome),
        st.sampled_from([True, True, False]),
    )
    breach = st.builds(Breach, rule, st.sampled_from(["", "lead", "hand"]))
    amounts = st.integers(-50_000, 50_000)
    return st.one_of(
        mark,
        mark,
        mark,
        breach,
        breach,
        st.builds(Count, rule, st.integers(0, 10)),
        st.builds(lambda at, moment: Moved(at[0], moment, at[1]), place, st.sampled_from(Moment)),
        st.builds(lambda at, much: Measured(at[0], much, at[1]), place, st.integers(0, 60_000)),
        st.builds(
            lambda at, value, legible: Value(at[0], value, at[1], legible=legible),
            place,
            st.sampled_from(["", "12", "yes", "x"]),
            st.booleans(),
        ),
        st.builds(Given, st.sampled_from(["target", "supply"]), st.sampled_from(["uphill", "400"])),
        st.builds(Signal, st.sampled_from(SignalName)),
        st.builds(WatchReading, st.integers(1, 4), st.integers(1, 60_000)),
        st.just(CloseOut()),
        st.builds(Withdrawal, IDS, st.just("mistaken")),
        st.builds(
            Ruling,
            _findings(known, items),
            st.sampled_from(Decision),
            st.just("as seen"),
            st.none() | amounts,
            st.lists(IDS, max_size=3).map(tuple),
        ),
        st.builds(Addition, rule, st.integers(1, 4), st.just("seen by all")),
        st.builds(TimeBack, amounts, st.just("our fault")),
        st.builds(StatusRuling, st.none() | st.sampled_from(Status), st.just("as ruled")),
    )


def entries(book: Rulebook) -> SearchStrategy[Entry]:
    """Any one entry: close in time to others or absurd, under an id that others may carry."""
    return st.builds(
        Entry,
        id=IDS,
        run=st.just(RunId("run")),
        by=st.sampled_from([PersonId("ann"), PersonId("bo"), PersonId("cy")]),
        post=st.none() | st.sampled_from(sorted(book.posts)) | st.just(PostId("nowhere")),
        at=st.one_of(_SOON, _SOON, _SOON, _ABSURD),
        off_by=st.sampled_from([0, 0, 200, 86_400_000]),
        what=whats(book),
    )


def records(book: Rulebook) -> SearchStrategy[list[Entry]]:
    """Any list of entries: repeats, clashing ids and all."""
    one = entries(book)
    return st.integers(0, 30).flatmap(lambda many: st.lists(one, min_size=many, max_size=many))
