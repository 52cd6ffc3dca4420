"""What the chain hashes of an entry is RFC 8785, held against the reference implementation."""

import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from scoring import (
    Decision,
    Entry,
    EntryId,
    FindingId,
    Mark,
    Outcome,
    PersonId,
    PostId,
    RuleId,
    Ruling,
    RunId,
    Value,
    encode,
)
from web.storage.chain import draft

TEXT = st.text(st.characters(exclude_categories=["Cs"]))
WHOLE = st.integers(-(2**53) + 1, 2**53 - 1)
IDS = TEXT.map(EntryId)
WHATS = st.one_of(
    st.builds(Mark, TEXT.map(RuleId), st.sampled_from(Outcome), TEXT, st.booleans()),
    st.builds(Value, TEXT.map(RuleId), TEXT, TEXT, st.booleans()),
    st.builds(
        Ruling,
        TEXT.map(FindingId),
        st.sampled_from(Decision),
        TEXT,
        st.none() | WHOLE,
        st.lists(IDS).map(tuple),
    ),
)
ENTRIES = st.builds(
    Entry,
    id=IDS,
    run=TEXT.map(RunId),
    by=TEXT.map(PersonId),
    post=st.none() | TEXT.map(PostId),
    at=WHOLE,
    off_by=WHOLE,
    what=WHATS,
)


@given(ENTRIES)
def test_an_entry_is_written_down_as_canonical_json(entry: Entry) -> None:
    assert draft(entry, 0).payload.encode() == rfc8785.dumps(encode(entry))
