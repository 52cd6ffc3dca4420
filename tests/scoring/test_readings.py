from fractions import Fraction
from typing import Final

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoring import Doubt, Entry, Fault, Question, Rulebook, RuleId, State, rank, read_rulebook
from scoring.findings import Finding
from scoring.ids import TeamId
from scoring.sheets import team_sheet
from scoring.standings import Entrant
from scoring.units import say
from tests.scoring.builders import (
    book,
    card,
    closed,
    counted,
    findings,
    missed,
    rulebook_text,
    struck,
    withdrew,
)
from tests.scoring.readings import drawn, values, wrote

VOLTS: Final = "reading: r, text: L1–L2, number: V"
NEAR: Final = values(f"{VOLTS}, reference: 400 V, within: 5 V")
SUPPLY: Final = values(f"{VOLTS}, reference: supply, within: 2 %")
BAND: Final = values(f"{VOLTS}, band: [390 V, 0.41 kV]")


def faults(rules: Rulebook, *entries: Entry) -> list[tuple[str, str]]:
    return [(each.failure.fault, each.failure.detail) for each in findings(rules, *entries)]


def fault(rules: Rulebook, *entries: Entry) -> str | None:
    """What is found, or None; there is one item."""
    found = findings(rules, *entries)
    return found[0].failure.fault if found else None


# Numbers.


@pytest.mark.parametrize(
    ("rules", "written", "good"),
    [
        (NEAR, "395", True),
        (NEAR, "394.999", False),
        (NEAR, "405 V", True),
        (NEAR, "405,001", False),
        (NEAR, "0.4 kV", True),
        (BAND, "390", True),
        (BAND, "389.9", False),
        (BAND, "410", True),
        (BAND, "410.1", False),
        (values(f"{VOLTS}, at-least: 100"), "100", True),
        (values(f"{VOLTS}, at-least: 100"), "99.9", False),
        (values(f"{VOLTS}, at-most: 0.5 V"), "0,5", True),
        (values(f"{VOLTS}, at-most: 0.5 V"), "0,51", False),
        (values(f"{VOLTS}"), "17", True),
        (values("reading: r, text: R, number: '%', reference: 2 %, within: 0.1 %"), "2.1", True),
        (values("reading: r, text: R, number: '%', reference: 2 %, within: 0.1 %"), "2.2", False),
        (values("reading: r, text: T, number: °C, reference: 20, within: 9 °F"), "25 °C", True),
        (values("reading: r, text: T, number: °C, reference: 20, within: 9 °F"), "78 °F", False),
        (values("reading: r, text: K, number: in, reference: 3/8 in, within: 0"), "9.525 mm", True),
        (values("reading: r, text: K, number: mm, band: [1/4 in, 3/8 in]"), "9.526", False),
    ],
)
def test_a_number_is_held_against_its_limits_exactly(
    rules: Rulebook, written: str, *, good: bool
) -> None:
    assert fault(rules, wrote(written)) == (None if good else Fault.OUT_OF_TOLERANCE)


def test_a_number_outside_says_by_how_much() -> None:
    assert faults(NEAR, wrote("412 V")) == [
        (Fault.OUT_OF_TOLERANCE, "'412 V', 7 V outside 400 V ± 5 V")
    ]
    assert faults(BAND, wrote("380")) == [
        (Fault.OUT_OF_TOLERANCE, "'380', 10 V outside 390 V to 0.41 kV")
    ]


@pytest.mark.parametrize(("written", "close"), [("405.1", False), ("406", False), ("405.5", False)])
def test_a_number_is_not_close_where_its_last_place_decides_nothing(
    written: str, *, close: bool
) -> None:
    [finding] = findings(NEAR, wrote(written))
    assert (Doubt.CLOSE in finding.doubts) is close


def test_a_number_is_close_where_half_of_its_last_place_reaches_the_limit() -> None:
    rules = values(f"{VOLTS}, at-most: 405.5 V")
    [finding] = findings(rules, wrote("406"))
    assert (finding.state, finding.doubts) == (State.COUNTS, (Doubt.CLOSE,))
    assert finding.failure.detail == "'406', 0.5 V outside at most 405.5 V"
    [finding] = findings(rules, wrote("406.0"))
    assert finding.doubts == ()


def test_a_comma_that_may_part_thousands_is_read_in_the_crews_favour() -> None:
    rules = values(f"{VOLTS}, band: [1100, 1300]")
    assert fault(rules, wrote("1,200")) is None
    assert fault(values(f"{VOLTS}, band: [1, 1.3]"), wrote("1,200")) is None
    assert fault(NEAR, wrote("1,200")) == Fault.OUT_OF_TOLERANCE


@pytest.mark.parametrize("written", ["four hundred", "400 A", "400 VAC", "40O"])
def test_what_is_no_number_in_the_unit_waits_for_the_head_judge(written: str) -> None:
    [finding] = findings(NEAR, wrote(written))
    assert (finding.failure.fault, finding.state) == (Fault.WRONG_VALUE, State.PROPOSED)
    assert finding.failure.detail == f"'{written}' is no number in V"


# Open circuits.

OHMS: Final = "reading: r, text: Winding, number: Ω"


@pytest.mark.parametrize(
    ("rule", "written", "found"),
    [
        (f"{OHMS}, at-most: 5", "OL", Fault.WRONG_VALUE),
        (f"{OHMS}, at-most: 5", "> 40 MΩ", Fault.WRONG_VALUE),
        (f"{OHMS}, at-least: 1 MΩ, open: good", "OL", None),
        (f"{OHMS}, at-least: 1 MΩ, open: good", "> 500 MΩ", None),
        (f"{OHMS}, at-least: 1 MΩ, open: good", "0.5 MΩ", Fault.OUT_OF_TOLERANCE),
        (f"{OHMS}, open: expected", "O.L", None),
        (f"{OHMS}, open: expected", "0", Fault.WRONG_VALUE),
        (f"{OHMS}, open: fail", "ol", Fault.WRONG_VALUE),
    ],
)
def test_an_open_circuit_is_no_number_and_means_what_the_rule_says(
    rule: str, written: str, found: Fault | None
) -> None:
    assert fault(values(rule), wrote(written)) == found


def test_an_open_circuit_is_nowhere_near_nought() -> None:
    rules = values(f"{OHMS}, at-most: 5")
    assert faults(rules, wrote("OL")) == [
        (Fault.WRONG_VALUE, "an open circuit, which is no number")
    ]


# Everything else that is written.


@pytest.mark.parametrize(
    ("form", "written", "found"),
    [
        ("choices: [left, right]", "Left ", None),
        ("choices: [left, right]", "up", Fault.WRONG_VALUE),
        ("choices: [left, right], reference: right", "right", None),
        ("choices: [left, right], reference: right", "left", Fault.WRONG_VALUE),
        ("written: yes-no", "YES", None),
        ("written: yes-no", "maybe", Fault.WRONG_VALUE),
        ("written: yes-no, reference: no", "no", None),
        ("written: yes-no, reference: no", "yes", Fault.WRONG_VALUE),
        ("date: month/day/year", "11/25/2027", None),
        ("date: month/day/year", "25/11/2027", Fault.WRONG_VALUE),
        ("date: month/day/year", "2/29/2027", Fault.WRONG_VALUE),
        ("date: month/day/year, reference: 11/25/2027", "11/25/27", None),
        ("date: month/day/year, reference: 11/25/2027", "11/24/2027", Fault.WRONG_VALUE),
        ("written: initials", "J. R.", None),
        ("written: initials", "7", Fault.WRONG_VALUE),
        ("written: signature", "signed", None),
        ("written: text", "north tower", None),
    ],
)
def test_what_is_no_number_is_held_against_its_form_and_its_reference(
    form: str, written: str, found: Fault | None
) -> None:
    assert fault(values(f"reading: r, text: R, {form}"), wrote(written)) == found


def test_what_is_wrong_says_what_is_right() -> None:
    rules = values("reading: r, text: R, choices: [left, right], reference: right")
    assert faults(rules, wrote("left")) == [(Fault.WRONG_VALUE, "'left', where 'right' is right")]
    assert faults(rules, wrote("up")) == [(Fault.WRONG_VALUE, "'up' is none of left, right")]
    dated = values("reading: r, text: R, date: day.month.year")
    assert faults(dated, wrote("11/25/2027")) == [
        (Fault.WRONG_VALUE, "'11/25/2027' is no date as day.month.year")
    ]


# Missing and illegible.

PRICED: Final = values(
    f"{VOLTS}, reference: 400 V, within: 5 V, missing: grave, illegible: {{seconds: 2}}"
)


@pytest.mark.parametrize(
    ("entry", "found", "cost"),
    [
        (wrote("412"), Fault.OUT_OF_TOLERANCE, 10_000),
        (wrote(""), Fault.NOT_WRITTEN, 30_000),
        (wrote("  "), Fault.NOT_WRITTEN, 30_000),
        (wrote("4?0", legible=False), Fault.ILLEGIBLE, 2_000),
        (wrote("", legible=False), Fault.ILLEGIBLE, 2_000),
    ],
)
def test_wrong_missing_and_illegible_each_have_their_cost(
    entry: Entry, found: Fault, cost: int
) -> None:
    [finding] = findings(PRICED, entry)
    assert (finding.failure.fault, finding.cost) == (found, cost)


def test_without_costs_of_their_own_missing_and_illegible_cost_what_wrong_does() -> None:
    assert [findings(NEAR, wrote("", legible=each))[0].cost for each in (True, False)] == [
        10_000,
        10_000,
    ]


# References of the run.


def test_a_reading_is_held_against_what_is_given_for_the_run() -> None:
    assert fault(SUPPLY, drawn("supply", "480"), wrote("480")) is None
    assert fault(SUPPLY, drawn("supply", "480 V"), wrote("470.4")) is None
    assert faults(SUPPLY, drawn("supply", "0.48 kV"), wrote("470")) == [
        (Fault.OUT_OF_TOLERANCE, "'470', 0.4 V outside 480 V ± 2 %")
    ]


def test_a_given_has_the_unit_of_its_section() -> None:
    rules = values(f"{VOLTS}, reference: high, within: 2 %", givens="{high: {number: kV}}")
    assert fault(rules, drawn("high", "0.4"), wrote("400 V")) is None


@pytest.mark.parametrize("known", [[], [drawn("supply", "some")], [drawn("supply", "400 A")]])
def test_without_its_reference_a_reading_is_a_question_and_no_failure(known: list[Entry]) -> None:
    result = card(SUPPLY, wrote("17"), *known)
    assert result.findings == ()
    assert Question(RuleId("r"), unseen=True) in result.questions


@pytest.mark.parametrize(
    ("name", "value", "asked"),
    [
        ("supply", "480", False),
        ("supply", "", True),
        ("supply", "480 A", True),
        ("supply", "1,200", True),
        ("target", "left", False),
        ("target", "up", True),
        ("today", "11/25/2027", False),
        ("today", "25/11/2027", True),
    ],
)
def test_what_is_drawn_must_be_a_value_that_was_announced(
    name: str, value: str, *, asked: bool
) -> None:
    questions = card(SUPPLY, drawn(name, value)).questions
    assert (Question(RuleId(f"given {name}")) in questions) is asked


def test_without_its_reference_a_reading_can_still_be_missing() -> None:
    assert fault(SUPPLY, wrote("")) == Fault.NOT_WRITTEN


def test_a_choice_and_a_date_are_held_against_what_is_drawn() -> None:
    rules = values(
        "reading: r, text: R, choices: [Left, Right], reference: target",
        "reading: d, text: D, date: day.month.year, reference: today",
    )
    known = drawn("target", "right"), drawn("today", "11/25/2027")
    assert faults(rules, *known, wrote("right"), wrote("25.11.27", rule="d")) == []
    assert [
        each[1] for each in faults(rules, *known, wrote("left"), wrote("24.11.27", rule="d", at=1))
    ] == [
        "'left', where 'Right' is right",
        "'24.11.27', where '2027-11-25' is right",
    ]


# Items, judges, questions.

EACH: Final = values(f"{VOLTS}, band: [390, 410], each: [one, two, three]")


def test_each_item_is_read_on_its_own() -> None:
    found = findings(EACH, wrote("400", "one"), wrote("411", "two"), wrote("", "three", at=1))
    assert [(each.id, each.failure.fault) for each in found] == [
        ("r/two", Fault.OUT_OF_TOLERANCE),
        ("r/three", Fault.NOT_WRITTEN),
    ]


def test_what_nobody_keyed_in_is_a_question() -> None:
    assert card(EACH, wrote("400", "two")).questions == (
        *(Question(RuleId(f"given {name}")) for name in ("supply", "target", "today", "cold")),
        Question(RuleId("r"), "one"),
        Question(RuleId("r"), "three"),
    )
    assert card(EACH, wrote("400", "two"), closed("north")).questions[-1] == Question(
        RuleId("r"), "three", unseen=True
    )


def test_what_nobody_keyed_in_was_not_written_where_the_rulebook_says_so() -> None:
    rule = f"{VOLTS}, post: north, costs: slip, missing: grave"
    rules = book(rules=f"[{{{rule}}}]", unseen="missing")
    [finding] = findings(rules, closed("north"))
    assert (finding.failure.fault, finding.cost) == (Fault.NOT_WRITTEN, 30_000)
    assert finding.doubts == (Doubt.UNSEEN,)


def test_a_judges_latest_word_holds_and_a_withdrawn_one_does_not() -> None:
    assert fault(NEAR, wrote("4000", at=1), wrote("400", at=2)) is None
    later = wrote("400", at=2)
    assert fault(NEAR, wrote("4000", at=1), later, withdrew(later)) == Fault.OUT_OF_TOLERANCE


def test_judges_who_keyed_differently_are_contested() -> None:
    words = wrote("412", by="jo", at=1), wrote("413", by="al", at=2)
    [finding] = findings(NEAR, *words)
    assert (finding.state, finding.doubts) == (State.COUNTS, (Doubt.CONTESTED,))
    assert finding.failure.stands_on == (words[0].id, words[1].id)
    assert finding.failure.detail.startswith("'412'")


def test_judges_who_keyed_the_same_in_other_words_agree() -> None:
    [finding] = findings(NEAR, wrote("412", by="jo"), wrote("0.412 kV", by="al", at=1))
    assert finding.doubts == ()


def test_what_one_judge_read_as_good_and_another_as_wrong_is_proposed() -> None:
    [finding] = findings(NEAR, wrote("412", by="jo"), wrote("402", by="al"))
    assert (finding.state, finding.doubts) == (State.PROPOSED, (Doubt.CONTESTED,))


@pytest.mark.parametrize(("seen_by", "state"), [("any", State.COUNTS), ("all", State.PROPOSED)])
def test_what_one_of_two_posts_keyed_in_counts_as_its_category_says(
    seen_by: str, state: State
) -> None:
    rules = book(
        rules=f"[{{{VOLTS}, band: [390, 410], post: [north, south], "
        f"costs: {{seconds: 10, seen-by: {seen_by}}}}}]"
    )
    [finding] = findings(rules, wrote("412"))
    assert (finding.state, finding.doubts) == (state, (Doubt.UNCORROBORATED,))


def test_an_observation_of_another_kind_or_item_changes_nothing() -> None:
    strays = wrote("1", "four"), wrote("1"), missed("r", "one"), counted("r", 3)
    assert findings(EACH, *strays) == []


# Derived values.

PHASES: Final = "reading: v, text: Phases, number: V, each: [a, b, c]"


def phases(rule: str) -> Rulebook:
    return values(PHASES, rule)


def keyed(*written: str) -> list[Entry]:
    return [wrote(each, item, rule="v") for each, item in zip(written, "abc", strict=True)]


@pytest.mark.parametrize(
    ("rule", "written", "detail"),
    [
        ("value: unbalance, of: v, at-most: 2 %", ("400", "400", "400"), None),
        # 100 × 9 / 459, by hand.
        ("value: unbalance, of: v, at-most: 1.9 %", ("460", "467", "450"), "1.960784 %"),
        ("value: unbalance, of: v, at-most: 1.97 %", ("460", "467", "450"), None),
        ("value: mean, of: v, band: [455, 460]", ("460", "467", "450"), None),
        ("value: mean, of: v, at-least: 460 V", ("460", "467", "450"), "459 V"),
        ("value: spread, of: v, at-most: 17 V", ("460", "467", "450"), None),
        ("value: spread, of: v, at-most: 16.9", ("460", "467", "0.45 kV"), "17 V"),
    ],
)
def test_a_value_is_computed_exactly_of_what_was_written(
    rule: str, written: tuple[str, ...], detail: str | None
) -> None:
    found = findings(phases(f"derived: d, text: D, {rule}"), *keyed(*written))
    assert [each.failure.detail.partition(",")[0] for each in found] == (
        [] if detail is None else [detail]
    )
    assert all(len(each.failure.stands_on) == 3 for each in found)


def test_a_ratio_is_the_first_to_the_second() -> None:
    rules = values(
        "reading: ten, text: After ten minutes, number: MΩ",
        "reading: one, text: After one minute, number: kΩ",
        "derived: d, text: D, value: ratio, of: [ten, one], at-least: 2",
    )
    assert faults(rules, wrote("3", rule="ten"), wrote("1500", rule="one")) == []
    assert faults(rules, wrote("3", rule="ten"), wrote("2000", rule="one")) == [
        (Fault.OUT_OF_TOLERANCE, "1.5, 0.5 outside at least 2")
    ]
    assert faults(rules, wrote("3", rule="ten"), wrote("0", rule="one")) == []


@pytest.mark.parametrize("third", ["", "OL", "?"])
def test_of_what_is_no_number_nothing_is_computed(third: str) -> None:
    rules = phases("derived: d, text: D, value: unbalance, of: v, at-most: 1 %")
    found = findings(rules, *keyed("300", "400", third))
    assert [each.failure.rule for each in found if each.failure.rule == "d"] == []


def test_what_the_crew_computed_is_held_against_what_we_compute() -> None:
    rules = values(
        PHASES,
        "derived: d, text: D, value: unbalance, of: v",
        "reading: r, text: Unbalance, number: '%', computed: d, within: 0.01 %",
    )
    # Published for these three: 1.96 %.
    assert faults(rules, *keyed("460", "467", "450"), wrote("1.96")) == []
    assert faults(rules, *keyed("460", "467", "450"), wrote("1.9")) == [
        (Fault.OUT_OF_TOLERANCE, "'1.9', 0.05078431 % outside 1.960784 % ± 0.01 %")
    ]
    assert faults(rules, wrote("1.9")) == []


def test_a_derived_value_without_limits_needs_no_costs() -> None:
    rules = rulebook_text(
        rules="\n  - {reading: v, text: V, number: V, each: [a, b], post: north, costs: slip}"
        "\n  - {derived: d, text: D, value: mean, of: v, post: north}"
    )
    assert list(read_rulebook(rules.encode()).rules) == ["v", "d"]


def test_a_reading_computed_of_itself_says_nothing_and_ends() -> None:
    rules = values(
        "reading: r, text: R, number: V, computed: d, within: 1 V",
        "reading: s, text: S, number: V",
        "derived: d, text: D, value: mean, of: [r, s]",
    )
    assert faults(rules, wrote("10"), wrote("20", rule="s")) == [
        (Fault.OUT_OF_TOLERANCE, "'10', 4 V outside 15 V ± 1 V")
    ]


# In words.


@pytest.mark.parametrize(
    ("rule", "said"),
    [
        (
            f"{VOLTS}, reference: supply, within: 2 %, at-most: 500",
            [
                "What is right is within 2 % of 'supply', as it is given for the run.",
                "It must be at most 500 V.",
            ],
        ),
        (f"{VOLTS}, reference: 400 V, within: 5 V", ["It must be 400 V ± 5 V."]),
        (f"{VOLTS}", []),
        (f"{OHMS}, open: expected", ["It must be an open circuit."]),
        ("reading: r, text: R, choices: [a, b], reference: a", ["It must be a."]),
        ("reading: r, text: R, written: initials", ["It must be initials."]),
        (
            "setting: r, text: W, value: 50 N·m, within: 4 %, tries: 2",
            ["It must be set to 50 N·m ± 4 % within 2 tries."],
        ),
    ],
)
def test_a_rule_says_what_must_stand_there(rule: str, said: list[str]) -> None:
    rules = values(rule)
    assert [*rules.rules[RuleId("r")].says(rules.terms)] == said


# Sheets.


def table(rules: Rulebook, *entries: Entry) -> list[tuple[object, ...]]:
    [standing] = rank([(Entrant(TeamId("t"), "T"), card(rules, *entries))], rules)
    sheet = team_sheet(standing, [standing], rules, {})
    return [row for each in sheet.extras if each.name == "readings" for row in each.rows]


def test_the_sheet_shows_what_was_written_beside_its_reference() -> None:
    rules = values(
        f"{VOLTS}, reference: supply, within: 2 %, each: [one, two]",
        "derived: d, text: Spread, value: spread, of: r, at-most: 3 V",
        "reading: c, text: Turns, choices: [left, right], reference: target",
        "setting: t, text: Wrench, value: 50 lbf·ft, within: 4 %, tries: 2",
    )
    entries = (
        drawn("supply", "400"),
        wrote("401 V", "one"),
        wrote("420", "two"),
        wrote("up", rule="c"),
        wrote("60", rule="t"),
    )
    assert table(rules, *entries, struck("c")) == [
        ("r", "L1–L2", "one", "401 V", "400 V ± 2 %", "good"),
        (
            "r",
            "L1–L2",
            "two",
            "420",
            "400 V ± 2 %",
            "out of tolerance: '420', 12 V outside 400 V ± 2 %",
        ),
        ("d", "Spread", "", "computed: 19 V", "at most 3 V", "out of tolerance: by 16 V"),
        (
            "c",
            "Turns",
            "",
            "up",
            "reference not known",
            "wrong value: 'up' is none of left, right; struck out by the head judge",
        ),
        ("t", "Wrench", "", "60", "50 lbf·ft ± 4 %", "1 of 2 tries"),
    ]


def test_a_sheet_without_readings_has_no_table_of_them() -> None:
    assert table(book()) == []


# Properties.

AMOUNTS: Final = st.decimals(-10_000, 10_000, places=2)
TENTHS: Final = st.integers(1, 1_000).map(lambda tenths: Fraction(tenths, 10))


@given(AMOUNTS, TENTHS, st.fractions(-1, 1, max_denominator=1_000))
def test_a_value_within_its_tolerance_never_fails(
    reference: object, within: Fraction, share: Fraction
) -> None:
    rules = values(f"{VOLTS}, reference: {reference}, within: {say(within)}")
    value = Fraction(str(reference)) + share * within
    text = f"{value.numerator}/{value.denominator}"
    numerator_fits = len(str(abs(value.numerator))) <= 6 and value >= 0
    if numerator_fits and len(str(value.denominator)) <= 4:
        assert fault(rules, wrote(text)) is None


@given(
    st.integers(100, 9_999),
    st.integers(1, 99),
    st.integers(1, 20_000),
    st.sampled_from([("V", "kV", 3), ("mm", "m", 3), ("V", "mV", -3), ("kΩ", "MΩ", 3)]),
)
def test_another_unit_never_changes_the_verdict(
    reference: int, percent: int, value: int, units: tuple[str, str, int]
) -> None:
    one, other, places = units
    rules = [
        values(
            f"reading: r, text: R, number: {unit}, "
            f"reference: {reference} {one}, within: {percent} %"
        )
        for unit in (one, other)
    ]
    scaled = say(Fraction(value, 1) / Fraction(10) ** places)
    found = {
        fault(each, wrote(text))
        for each in rules
        for text in (f"{value} {one}", f"{scaled} {other}")
    }
    assert len(found) == 1


@given(st.data())
def test_the_order_of_entries_changes_nothing(data: st.DataObject) -> None:
    texts = st.sampled_from(["400", "411", "OL", "", "x", "1,200", "0.4 kV"])
    entries = [
        wrote(data.draw(texts), item, by=by, at=at, id=f"w{at}")
        for at, (by, item) in enumerate(
            data.draw(
                st.lists(
                    st.tuples(st.sampled_from(["jo", "al"]), st.sampled_from(["one", "two"])),
                    max_size=8,
                )
            )
        )
    ]
    assert _found(findings(EACH, *data.draw(st.permutations(entries)))) == _found(
        findings(EACH, *entries)
    )


def _found(found: list[Finding]) -> list[tuple[object, ...]]:
    return [(each.failure, each.cost, each.state) for each in found]
