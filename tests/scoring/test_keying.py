"""Keying in an event kept on paper: what is read, what is refused, where two people differ."""

from pathlib import Path
from typing import Final

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scoring import (
    Entrant,
    Fault,
    Keyed,
    Rulebook,
    Scorecard,
    Status,
    TableError,
    differences,
    judge_sheet,
    key_tables,
    rank,
    read_keyed,
    read_rulebook,
    score,
)
from tests.house.tree import ROOT
from tests.scoring.keyed import Sheets, blank, keyed_from, put, put_decision, put_run
from tests.scoring.papers import RULEBOOK
from web.demo_event import load_demo_event

CAMP: Final = read_rulebook(RULEBOOK.encode())
#: Every line of the camp's sheets as a crew without a fault fills it.
CLEAN: Final = {
    "answer": "1",
    "breaches": "0",
    "count": "0",
    "seconds": "6",
    "centimetres": "0",
    "over": "0",
}
DEMOS: Final = sorted(path.parent for path in (ROOT / "demo_events").rglob("event.yaml"))
WRITTEN: Final = {
    "wrench try 1": "50",
    "wrench try 2": "",
    "mains-read": "400",
    "phases L1": "400",
    "phases L2": "400",
    "phases L3": "400",
    "gas": "propane",
    "signed": "Ro",
}
#: What each line of the camp's sheets wants.
TAKES: Final = {
    (str(line.rule), str(line.item)): str(line.takes)
    for post in CAMP.posts
    for section in judge_sheet(post, CAMP).sections
    for block in section.blocks
    for line in block.lines
}


def clean(book: Rulebook = CAMP, runs: int = 1) -> Sheets:
    """Runs without a fault, each of twenty minutes."""
    sheets = blank(book, runs)
    for run in range(1, runs + 1):
        put_run(sheets, run, team=f"Team {run}", walkthrough="4:00")
        put_run(sheets, run, **{"watch 1": "20:00.0", "watch 2": "20:00.1"})
        put_run(sheets, run, **{"given wind": "north", "given mains": "401 V"})
        for name in ("clock", "mast", "stove"):
            for row in sheets[name][2:]:
                line = f"{row[0]} {row[1]}".strip()
                text = WRITTEN[line] if line in WRITTEN else CLEAN[TAKES[row[0], row[1]]]
                put(sheets, name, line, run, text)
    return sheets


def card(sheets: Sheets, book: Rulebook = CAMP) -> Scorecard:
    """The scorecard of the only run."""
    [(_, _, scorecard)] = read_keyed(sheets, book).results
    return scorecard


def found(sheets: Sheets) -> list[tuple[str, str, Fault, int]]:
    """What was found in the only run: rule, item, fault, cost."""
    return [
        (finding.failure.rule, finding.failure.item, finding.failure.fault, finding.cost)
        for finding in card(sheets).findings
        if finding.cost or finding.ends or finding.state != "counts"
    ]


def complaints(sheets: Sheets, book: Rulebook = CAMP) -> list[str]:
    with pytest.raises(TableError) as refused:
        read_keyed(sheets, book, "first.xlsx")
    return str(refused.value).splitlines()


def one(sheet: str, line: str, text: str) -> Sheets:
    """A run without a fault but for one cell."""
    sheets = clean()
    put(sheets, sheet, line, 1, text)
    return sheets


def test_a_run_without_a_fault_costs_nothing_but_earns_what_is_given() -> None:
    scorecard = card(clean())
    assert found(clean()) == [("flag", "", Fault.EARNED, -15_000)]
    assert scorecard.official is not None
    assert (scorecard.official.time, scorecard.total) == (1_200_100, 1_185_100)
    assert read_keyed(clean(), CAMP).waiting() == ()


@pytest.mark.parametrize(
    ("sheet", "line", "text", "expected"),
    [
        ("mast", "dig 3", "3", ("dig", "3", Fault.NOT_DONE, 10_000)),
        ("mast", "dig 3", "done wrongly", ("dig", "3", Fault.DONE_WRONGLY, 10_000)),
        ("mast", "look joints", "3", ("look", "joints", Fault.NOT_DONE, 10_000)),
        ("mast", "heave", "Not  Heard", ("heave", "", Fault.NOT_HEARD, 10_000)),
        ("mast", "many", "3", ("many", "", Fault.TOO_FEW, 10_000)),
        ("mast", "rest first guy", "4.5", ("rest", "first guy", Fault.TOO_SHORT, 10_000)),
        ("mast", "rest first guy", "not done", ("rest", "first guy", Fault.NOT_DONE, 10_000)),
        ("mast", "foot-place", "4,5", ("foot-place", "", Fault.OUT_OF_PLACE, 3_000)),
        ("mast", "stays left", "2", ("stays", "left", Fault.OUT_OF_PLACE, 10_000)),
        ("mast", "gloves", "hand @ 3:34", ("gloves", "hand", Fault.BREACH, 5_000)),
        ("stove", "mains-read", "380", ("mains-read", "", Fault.OUT_OF_TOLERANCE, 10_000)),
        ("stove", "mains-read", "nothing", ("mains-read", "", Fault.NOT_WRITTEN, 10_000)),
        ("stove", "gas", "illegible: bu?", ("gas", "", Fault.ILLEGIBLE, 10_000)),
        ("stove", "lid put right by the judge", "1", ("lid", "", Fault.JUDGE_DID, 5_000)),
        ("stove", "lid not corrected", "1", ("lid", "", Fault.NOT_CORRECTED, 10_000)),
        ("stove", "stove-time", "0:12.3", ("stove-time", "", Fault.ADDED, 13_000)),
        ("stove", "pegs", "4", ("pegs", "", Fault.NOT_RETURNED, 8_000)),
    ],
)
def test_every_kind_of_line_can_say_what_failed(
    sheet: str, line: str, text: str, expected: tuple[str, str, Fault, int]
) -> None:
    assert expected in found(one(sheet, line, text))


def test_a_setting_is_keyed_try_by_try() -> None:
    sheets = one("mast", "wrench try 1", "60")
    put(sheets, "mast", "wrench try 2", 1, "51")
    assert "wrench" not in {rule for rule, *_ in found(sheets)}
    put(sheets, "mast", "wrench try 2", 1, "61")
    assert ("wrench", "", Fault.OUT_OF_TOLERANCE, 10_000) in found(sheets)


def test_a_derived_value_is_worked_out_of_what_was_keyed() -> None:
    sheets = one("stove", "phases L1", "300")
    assert ("even", "", Fault.OUT_OF_TOLERANCE, 10_000) in found(sheets)


def test_tallies_of_two_posts_without_times_are_the_same_breaches() -> None:
    sheets = one("mast", "under", "2")
    put(sheets, "stove", "under", 1, "1")
    assert [rule for rule, *_ in found(sheets)].count("under") == 2
    assert card(sheets).status is Status.DISQUALIFIED


def test_a_tally_joins_the_times_that_another_post_wrote() -> None:
    sheets = one("mast", "gloves", "lead @ 3:00; hand @ 9:00")
    put(sheets, "stove", "gloves", 1, "1")
    breaches = [item for rule, item, *_ in found(sheets) if rule == "gloves"]
    assert breaches == ["lead", "hand"]


def test_a_tally_of_persons_counts_each_of_them() -> None:
    costs = [cost for rule, _, _, cost in found(one("mast", "gloves", "3")) if rule == "gloves"]
    assert costs == [5_000, 10_000, 20_000]


def test_a_latch_is_let_go_between_strokes() -> None:
    costs = [cost for rule, _, _, cost in found(one("stove", "shout", "2")) if rule == "shout"]
    assert costs == [5_000, 10_000]


def test_what_the_head_judge_must_decide_waits_and_is_named() -> None:
    keyed = read_keyed(one("stove", "fire", "1"), CAMP)
    assert [str(each) for each in keyed.waiting()] == [
        "run 1, Team 1: the head judge has not decided on fire: ends the run."
    ]


def test_a_line_without_an_answer_is_named() -> None:
    sheets = one("mast", "heave", "")
    put(sheets, "mast", "stays left", 1, "")
    [waiting] = read_keyed(sheets, CAMP).waiting()
    assert str(waiting) == "run 1, Team 1: no answer for 'heave', 'stays'."


def test_times_beside_two_answers_tell_that_the_order_was_wrong() -> None:
    sheets = one("mast", "heave", "heard @ 5:00")
    put(sheets, "mast", "raise", 1, "done @ 4:00")
    keyed = read_keyed(sheets, CAMP)
    assert "not decided on raise, heave: out of order" in str(keyed.waiting()[0])
    put_decision(sheets, ["1", "raise", "heave", "upheld", "", "seen by all"])
    assert ("raise", "heave", Fault.OUT_OF_ORDER, 10_000) in found(sheets)


@pytest.mark.parametrize(
    ("decision", "amount", "cost"), [("struck out", "", 0), ("changed", "2.5", 2_500)]
)
def test_a_decision_is_on_what_was_found(decision: str, amount: str, cost: int) -> None:
    sheets = one("mast", "heave", "3")
    put_decision(sheets, ["1", "heave", "", decision, amount, "as discussed"])
    assert card(sheets).penalty == cost


def test_the_head_judge_adds_by_the_rules_own_cost() -> None:
    sheets = clean()
    put_decision(sheets, ["1", "pegs", "", "added", "3", "found later"])
    assert card(sheets).penalty == 6_000


def test_the_clock_is_keyed_with_all_that_belongs_to_it() -> None:
    sheets = clean()
    put_run(sheets, 1, held="1:00", time_back="-0:30", walkthrough="6:30", false_starts="2")
    scorecard = card(sheets)
    assert scorecard.official is not None
    assert scorecard.official.time == 1_200_100 - 60_000 + 30_000
    assert scorecard.penalty == 2 * 10_000 + 2 * 10_000


def test_who_did_not_start_needs_no_time() -> None:
    sheets = blank(CAMP, 1)
    put_run(sheets, 1, team="Team 1", status="did not start", reason="The van.")
    assert (card(sheets).status, card(sheets).why) == (Status.DID_NOT_START, "The van.")


@pytest.mark.parametrize("folder", DEMOS, ids=lambda f: f.name)
def test_a_demo_event_keyed_from_its_scripts_stands_as_it_was_scored(folder: Path) -> None:
    demo = load_demo_event(folder)
    book = read_rulebook(demo.event.rulebook)
    teams = {team.id: team for team in demo.teams}
    runs = {
        n: (teams[run.plan.team].name, teams[run.plan.team].division, run.script)
        for n, run in enumerate(demo.runs, start=1)
    }
    keyed = read_keyed(keyed_from(book, runs), book)
    scored = rank(
        [
            (Entrant(run.plan.team, *runs[n][:2]), score(run.script, book))
            for n, run in enumerate(demo.runs, start=1)
        ],
        book,
    )
    rows = [
        [
            (
                row.place,
                row.entrant.name,
                row.scorecard.total,
                row.scorecard.penalty,
                row.scorecard.status,
                row.tied,
                row.broken_by,
                sum(finding.state == "counts" for finding in row.scorecard.findings),
            )
            for row in standings
        ]
        for standings in (keyed.standings(book), scored)
    ]
    assert rows[0] == rows[1]


def test_two_people_who_keyed_the_same_do_not_differ() -> None:
    first, second = clean(runs=3), clean(runs=3)
    put(second, "mast", "dig 1", 2, "done")
    put_run(second, 1, **{"watch 1": "20 min"})
    assert differences(read_keyed(first, CAMP), read_keyed(second, CAMP)) == ()


def test_every_difference_is_named_and_nothing_else() -> None:
    first, second = clean(runs=2), clean(runs=2)
    put(second, "mast", "dig 1", 2, "3")
    put(second, "stove", "pegs", 1, "")
    put_run(second, 2, **{"watch 1": "20:10.0"})
    put_decision(first, ["1", "pegs", "", "added", "1", "later"])
    said = differences(read_keyed(first, CAMP), read_keyed(second, CAMP))
    assert [str(each) for each in said] == [
        "runs, row 4, watch 1, Team 2: the first says '20:00.0', the second '20:10.0'.",
        "mast, row 5, dig 1, Team 2: the first says '1', the second '3'.",
        "stove, row 16, pegs, Team 1: the first says '0', the second nothing.",
        "decisions, row 3, decision on pegs, Team 1: the first says 'added', the second nothing.",
        "decisions, row 3, amount of pegs, Team 1: the first says '1', the second nothing.",
        "decisions, row 3, reason of pegs, Team 1: the first says 'later', the second nothing.",
    ]


LINES: Final = [
    (name, f"{row[0]} {row[1]}".strip(), run)
    for name in ("mast", "stove")
    for row in blank(CAMP, 1)[name][2:]
    for run in (1, 2)
]


@settings(max_examples=20, deadline=None)
@given(changed=st.sets(st.sampled_from(LINES), max_size=6))
def test_the_cells_that_were_changed_are_the_differences(
    changed: set[tuple[str, str, int]],
) -> None:
    first, second = clean(runs=2), clean(runs=2)
    for name, line, run in changed:
        put(second, name, line, run, "" if line != "wrench try 2" else "1")
    said = differences(read_keyed(first, CAMP), read_keyed(second, CAMP))
    assert {(each.sheet, each.what, each.team) for each in said} == {
        (name, line, f"Team {run}") for name, line, run in changed
    }


@pytest.mark.parametrize(
    ("sheet", "line", "text", "says"),
    [
        (
            "mast",
            "dig 1",
            "5",
            "first.xlsx:5:5: mast: '5' is no answer here; allowed are '1 done', '2 done wrongly'",
        ),
        (
            "mast",
            "heave",
            "not herd",
            "'3 not heard', '4 could not hear'. Did you mean 'not heard'?",
        ),
        ("mast", "heave", "1 @ soon", "'soon' is no duration"),
        ("mast", "gloves", "@ 3:00", "names nobody; write '? @ 5:32' for somebody unknown."),
        ("mast", "gloves", "100", "write a whole number from 0 to 99."),
        ("mast", "rest first guy", "3", ""),
        ("mast", "rest first guy", "long", "'long' is no answer here; allowed are 'long enough'"),
        ("stove", "pegs", "-1", "write a whole number from 0 to 9999."),
        ("stove", "stove-time", "12", "'12' is no duration"),
        ("stove", "gas", "x" * 301, "301 characters; at most 300 are allowed."),
    ],
)
def test_a_cell_that_says_nothing_allowed_is_refused(
    sheet: str, line: str, text: str, says: str
) -> None:
    sheets = one(sheet, line, text)
    if says:
        assert says in complaints(sheets)[0]
    else:
        read_keyed(sheets, CAMP)


def _in_runs(head: str, text: str) -> Sheets:
    sheets = clean()
    put_run(sheets, 1, **{head: text})
    return sheets


@pytest.mark.parametrize(
    ("head", "text", "says"),
    [
        ("watch 1", "0:00", "'0:00' is no time at all."),
        ("status", "gone", "'gone' is not allowed here; allowed are 'did not finish'"),
        ("status", "did not start", "Who did not start has no time; leave one of them out."),
        ("team", "", "No team; write its name."),
        ("run", "0", "'0' is not allowed here; write a whole number from 1 to 999."),
        ("false starts", "many", "'many' is not allowed here"),
    ],
)
def test_what_is_wrong_of_a_run_is_refused(head: str, text: str, says: str) -> None:
    assert says in complaints(_in_runs(head, text))[0]


@pytest.mark.parametrize(
    ("cells", "says"),
    [
        (["1", "pegs", "", "struck out", "", ""], "Nothing was found of 'pegs' in this run."),
        (["2", "pegs", "", "upheld", "", ""], "There is no team for run '2'."),
        (["1", "peg", "", "upheld", "", ""], "There is no rule 'peg'. Did you mean 'pegs'?"),
        (["1", "pegs", "", "", "", ""], "Write 'upheld', 'struck out', 'changed', 'added'."),
        (["1", "pegs", "", "added", "", ""], "Write how many are added, or what it costs now."),
        (["1", "pegs", "", "upheld", "3", ""], "An amount stands beside 'changed' and 'added'"),
    ],
)
def test_a_decision_that_cannot_be_is_refused(cells: list[str], says: str) -> None:
    sheets = clean()
    put_decision(sheets, cells)
    assert says in complaints(sheets)[0]


def test_tables_of_another_edition_are_refused() -> None:
    other = read_rulebook(RULEBOOK.replace("edition: 7", "edition: 8").encode())
    first = complaints(clean(), other)[0]
    assert "This was laid out for another rulebook or edition" in first
    assert "here is Setting up a night camp for a rescue team, edition 8" in first


def test_a_missing_table_a_missing_line_and_a_line_twice_are_refused() -> None:
    sheets = clean()
    del sheets["mast"]
    assert complaints(sheets) == [
        "first.xlsx:1:1: There is no table of the judge sheet of 'mast'; write the tables anew."
    ]
    sheets = clean()
    sheets["mast"][3] = sheets["mast"][2]
    assert complaints(sheets) == [
        "first.xlsx:1:1: mast: There is no line for 'wrench try 2'; every line must stay.",
        "first.xlsx:4:1: mast: This line stands in row 3 already.",
    ]


def test_rows_may_be_sorted_and_other_sheets_added() -> None:
    sheets = clean()
    sheets["mast"][2:] = reversed(sheets["mast"][2:])
    sheets["my notes"] = [["anything"]]
    assert found(sheets) == found(clean())


def test_a_team_with_more_runs_than_attempts_is_refused() -> None:
    sheets = clean(runs=2)
    put_run(sheets, 2, team="team 1")
    assert "'team 1' has 2 runs; the rulebook allows 1." in complaints(sheets)[0]


def test_a_cell_for_a_run_without_a_team_is_refused() -> None:
    sheets = clean(runs=2)
    put_run(sheets, 2, team="")
    assert any("There is no team for run 2." in says for says in complaints(sheets))


ODD: Final = ["", "1", "@", ";", "? @ 1:00", "=A1", "\ud800", "9" * 400, "judge sheet", "nothing"]
SPOTS: Final = st.tuples(
    st.sampled_from(sorted(clean())), st.integers(0, 40), st.integers(0, 8), st.sampled_from(ODD)
)


@settings(max_examples=150, deadline=None)
@given(changes=st.lists(SPOTS, max_size=6), cut=st.none() | st.integers(0, 30))
def test_whatever_stands_in_the_cells_is_read_or_refused(
    changes: list[tuple[str, int, int, str]], cut: int | None
) -> None:
    sheets = clean()
    for name, row, column, text in changes:
        if row < len(sheets[name]) and column < len(sheets[name][row]):
            sheets[name][row][column] = text
    if cut is not None:
        del sheets["mast"][cut:]
    try:
        keyed: Keyed | None = read_keyed(sheets, CAMP)
    except TableError:
        keyed = None
    assert keyed is None or keyed.standings(CAMP)


def test_the_tables_hold_each_line_once_in_the_order_of_the_sheet() -> None:
    for table in key_tables(CAMP, 3)[1:-1]:
        lines = [row[:2] for row in table.rows]
        assert len(lines) == len({*lines})
        rules = list(dict.fromkeys(rule for rule, _ in lines))
        watched = [str(rule.id) for rule in CAMP.rules.values() if table.name in rule.posts]
        assert rules == [rule for rule in watched if rule != "even"]
