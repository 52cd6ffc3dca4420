import json
from typing import Any, Final

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring import (
    SHAPE,
    Competence,
    Decision,
    Entry,
    EntryError,
    Outcome,
    RuleId,
    Ruling,
    SignalName,
    Signature,
    Status,
    decode,
    encode,
    kind_of,
)
from scoring.codec import _KINDS
from scoring.entries import Given, Measured, Moment, Moved, Value
from tests.scoring.builders import (
    added,
    book,
    breached,
    changed,
    closed,
    counted,
    ended,
    entry,
    gave_back,
    marked,
    signalled,
    struck,
    watch,
    withdrew,
)
from tests.scoring.strategies import entries

ONE_OF_EACH: Final = (
    marked("A1", Outcome.WRONG, "one", timed=False),
    breached("gloves", "lead"),
    counted("tools", 3),
    signalled(SignalName.DANGER, "a slipped sling"),
    watch(2, 61_230),
    closed("north"),
    entry(Moved(RuleId("A1"), Moment("begin"), "one")),
    entry(Measured(RuleId("A1"), 5_200)),
    entry(Value(RuleId("A1"), "12,5", "", legible=False)),
    entry(Given("target", "uphill")),
    withdrew("e1"),
    changed("A1/one", -4_000, stands_on=(marked("A1"), marked("A2"))),
    struck("gloves"),
    added("gloves", 2),
    gave_back(-1_500),
    ended(Status.DID_NOT_START),
    ended(None),
    entry(Signature(Competence.NOT_YET, "the knot again")),
)
MARK: Final[dict[str, Any]] = {
    "shape": 1,
    "kind": "mark",
    "id": "e1",
    "run": "r1",
    "by": "jo",
    "post": "north",
    "at": 1_800_000_000_000,
    "off_by": 0,
    "what": {"rule": "A1", "outcome": "good"},
}


@pytest.mark.parametrize("made", ONE_OF_EACH, ids=lambda made: kind_of(made.what))
def test_every_kind_comes_back_from_its_mapping(made: Entry) -> None:
    assert decode(json.loads(json.dumps(encode(made)))) == made


def test_each_kind_has_its_place_above() -> None:
    assert {kind_of(made.what) for made in ONE_OF_EACH} == set(_KINDS)


def _can_be_sent(made: Entry) -> bool:
    """Whether a tablet may send it: the engine itself bears more than the door lets in."""
    what = made.what
    ids = made.id, made.run, made.by, made.post or "x", getattr(what, "rule", "x")
    changes = isinstance(what, Ruling) and what.decision is Decision.CHANGE
    return all(ids) and (not isinstance(what, Ruling) or changes is (what.cost is not None))


@given(entries(book()))
def test_whatever_may_be_sent_comes_back_from_its_mapping(made: Entry) -> None:
    said = json.loads(json.dumps(encode(made)))
    if _can_be_sent(made):
        assert decode(said) == made
    else:
        with pytest.raises(EntryError):
            decode(said)


def test_a_mapping_carries_the_number_of_its_shape() -> None:
    assert encode(marked("A1"))["shape"] == SHAPE


LONG: Final = "Length must be between 1 and 64."
WHOLE: Final = "Not a valid integer."
NEEDED: Final = "Missing data for required field."
AT: Final = "at: Must be greater than or equal to 0 and less than or equal to 253402300799999."


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"shape": 2}, "shape: Must be equal to 1."),
        ({"shape": True}, f"shape: {WHOLE}"),
        ({"kind": ["mark"]}, "kind: Not a valid string."),
        ({"id": ""}, f"id: {LONG}"),
        ({"id": "x" * 65}, f"id: {LONG}"),
        ({"id": 7}, "id: Not a valid string."),
        ({"run": None}, "run: Field may not be null."),
        ({"by": "\ud800"}, "by: The character U+D800 in it is no text; leave it out."),
        ({"by": "\0"}, "by: The character U+0000 in it is no text; leave it out."),
        ({"at": True}, f"at: {WHOLE}"),
        ({"at": 1.5}, f"at: {WHOLE}"),
        ({"at": float("nan")}, f"at: {WHOLE}"),
        ({"at": "12"}, f"at: {WHOLE}"),
        ({"at": 2**60}, AT),
        ({"at": -1}, AT),
        ({"at": 10**6_000}, AT),
        (
            {"off_by": 86_400_001},
            "off_by: Must be greater than or equal to 0 and less than or equal to 86400000.",
        ),
        ({"extra": 1}, "extra: Unknown field."),
        ({"what": []}, "what: Not a valid mapping type."),
        ({"what": {}}, f"what.rule: {NEEDED}; what.outcome: {NEEDED}"),
        ({"what": {"rule": "A1", "outcome": "fine"}},
         "what.outcome: Must be one of: good, wrong, missing, unseen."),
        ({"what": {"rule": "A1", "outcome": {}}},
         "what.outcome: Must be one of: good, wrong, missing, unseen."),
        ({"what": {"rule": "A1", "outcome": "good", "timed": "no"}},
         "what.timed: Not a valid boolean."),
        ({"what": {"rule": "A1", "outcome": "good", "item": "x" * 501}},
         "what.item: Length must be between 0 and 500."),
        ({"what": {"rule": "A1", "outcome": "good", "whom": "lead"}}, "what.whom: Unknown field."),
        ({"what": {"rule": "A1", "outcome": "good", "a\x1b[2J\ud800": 1}},
         "what.a?[2J?: Unknown field."),
        ({"kind": "count", "what": {"rule": "A1", "count": True}}, f"what.count: {WHOLE}"),
        ({"kind": "ruling", "what": {"finding": "A1", "decision": "change", "reason": "why"}},
         "what.cost: A change gives the new cost, and nothing else does."),
        ({"kind": "ruling",
          "what": {"finding": "A1", "decision": "strike", "reason": "why", "cost": 0}},
         "what.cost: A change gives the new cost, and nothing else does."),
        ({"kind": "ruling", "what": {"finding": "A1", "decision": "strike", "reason": ""}},
         "what.reason: Length must be between 1 and 500."),
    ],
)  # fmt: skip
def test_a_mapping_that_is_no_entry_is_refused_with_the_field_and_the_reason(
    change: dict[str, Any], says: str
) -> None:
    with pytest.raises(EntryError) as refused:
        decode({**MARK, **change})
    assert str(refused.value) == says


def test_an_unknown_kind_is_refused_with_the_kinds_there_are() -> None:
    with pytest.raises(EntryError, match=r"^kind: Must be one of: mark, breach, count, "):
        decode({**MARK, "kind": "wish"})


@pytest.mark.parametrize("nothing", [None, [], "mark", 7, [MARK]])
def test_what_is_no_mapping_is_refused(nothing: Any) -> None:
    with pytest.raises(EntryError, match=r"^entry: An entry is a mapping, nothing else\.$"):
        decode(nothing)


def test_very_many_complaints_are_cut_to_what_a_person_reads() -> None:
    with pytest.raises(EntryError) as refused:
        decode({**MARK, **{f"x{n}": n for n in range(100_000)}})
    assert str(refused.value).endswith("; and 99988 more")


JSON: Final = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(st.characters(), max_size=8)
    | st.sampled_from(["good", "start", "change", "mark", "ruling"]),
    lambda below: st.lists(below, max_size=4) | st.dictionaries(st.text(max_size=8), below),
    max_leaves=8,
)
_FIELDS: Final = sorted({*MARK, *(name for _, schema in _KINDS.values() for name in schema.fields)})


@given(
    st.dictionaries(st.sampled_from(_FIELDS) | st.text(st.characters()), JSON),
    st.sampled_from(sorted(_KINDS)),
    st.dictionaries(st.sampled_from(_FIELDS) | st.text(st.characters()), JSON),
)
def test_a_hostile_mapping_is_an_entry_or_refused_in_a_sentence(
    top: dict[str, Any], kind: str, what: dict[str, Any]
) -> None:
    for mapping in ({**MARK, "kind": kind, "what": what}, {**MARK, **top}, top):
        try:
            made = decode(mapping)
        except EntryError as error:
            said = str(error).encode()
        else:
            said = json.dumps(encode(made)).encode()
            assert decode(json.loads(said)) == made
        assert said


def test_a_mapping_nested_without_end_is_refused() -> None:
    deep: Any = "x"
    for _ in range(5_000):
        deep = {"rule": deep}
    with pytest.raises(EntryError):
        decode({**MARK, "what": deep})
