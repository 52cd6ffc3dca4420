import csv
from pathlib import Path

import pytest

from scoring import Rulebook, State, Status, TableError, read_rulebook, score, score_run_table
from scoring.tables import read_run_table

PUBLISHED_HEADS = ("published total", "published rank")
PUBLISHED = Path(__file__).parents[1] / "published"
BOOK = read_rulebook(b"""
rulebook: mast
title: Raising a mast
edition: 1
cautions: Invented rules for a test.
crew: {size: 3, roles: {lead: Lead}}
posts:
  clock: {title: Clock, watches: 3}
  north: {title: North}
  south: {title: South}
penalties:
  slip: {seconds: 10}
  words: {seconds: 5}
  lost: {seconds: 2.5, per: item, cap: 10}
  safety: {seconds: 30, then: [60, disqualify], seen-by: all}
  lucky: {seconds: 20}
clock:
  run: {limit: 10 min, over: {seconds: 1, per: second}}
  official: {from: [middle of three, slower of two], to: 0.1 s, round: up}
order: {tolerance: 1 s, costs: slip}
rules:
  - {step: A1, do: Lay the base, post: north, costs: slip}
  - step: A2
    do: Guy the mast
    each: [one, two, three]
    post: [north, south]
    costs: slip
    after: A1
  - {step: A3, do: Pin the feet, times: 4, charge: once, post: south, costs: slip}
  - {callout: up, say: Mast up, times: 2, post: south, costs: words}
  - {conduct: hats, text: Helmets on, post: [north, south], costs: safety}
  - {returns: tools, text: Tools back, post: [north, south], costs: lost}
  - {bonus: tidy, text: All rope coiled, post: north, gives: lucky}
  - {correctable: lean, text: The mast leans, post: [north, south], costs: slip}
""")


def one(**cells: str) -> tuple[int | None, int, Status | None]:
    """Total, penalty and status of a table of one row."""
    head = [name.replace("_", " ") for name in cells]
    standing = score_run_table([["team", *head], ["Alder", *cells.values()]], BOOK).standings[0]
    card = standing.scorecard
    return card.total, card.penalty, card.status


def problems(*rows: list[str], book: Rulebook = BOOK) -> list[str]:
    """Every problem of a table, one line each."""
    with pytest.raises(TableError) as error:
        read_run_table(rows, book, "runs.csv")
    return str(error.value).splitlines()


def test_what_a_table_leaves_out_was_done() -> None:
    rows = [["team", "time"], ["Alder", "9:00"]]
    (run,) = read_run_table(rows, BOOK)
    card = score(run.entries, BOOK)
    assert (card.total, card.findings, card.undecided, card.stage) == (540_000, (), 0, "closed out")


@pytest.mark.parametrize(
    ("rule", "count", "costs"),
    [
        ("A1", "1", 10_000),
        ("A2", "2", 20_000),
        ("A3", "4", 10_000),
        ("up", "2", 10_000),
        ("hats", "2", 90_000),
        ("tools", "3", 7_500),
        ("tools", "9", 10_000),
        ("tidy", "1", -20_000),
        ("tidy", "0", 0),
        ("lean", "3", 30_000),
        ("A1", "", 0),
    ],
)
def test_a_count_costs_what_the_rulebook_says(rule: str, count: str, costs: int) -> None:
    assert one(time="9:00", **{rule: count})[0] == 540_000 + costs


def test_three_breaches_climb_to_the_end_of_the_ladder() -> None:
    assert one(time="9:00", hats="3") == (None, 90_000, Status.DISQUALIFIED)


def test_what_a_table_says_is_settled() -> None:
    (run,) = read_run_table([["team", "time", "hats"], ["Alder", "9:00", "1"]], BOOK)
    assert [finding.state for finding in score(run.entries, BOOK).findings] == [State.COUNTS]


def test_the_official_time_is_made_of_the_watches() -> None:
    assert one(watch_1="9:00.01", watch_2="9:00.14", watch_3="9:05") == (540_200, 0, None)
    assert one(watch_1="9:00.01", watch_3="9:00.14") == (540_200, 0, None)
    assert one(time="9:00.01", time_back="0:30") == (510_100, 0, None)
    assert one(time="9:00", time_back="-0:30") == (570_000, 0, None)


def test_the_limit_of_the_rulebook_holds() -> None:
    assert one(time="10:02.5") == (605_500, 3_000, None)


def test_a_status_stands_in_place_of_a_total() -> None:
    assert one(status="Did not start") == (None, 0, Status.DID_NOT_START)
    assert one(status="did not finish", A1="1") == (None, 10_000, Status.DID_NOT_FINISH)
    assert one(status="disqualified", time="9:00") == (None, 0, Status.DISQUALIFIED)


def test_the_reason_is_on_the_standings() -> None:
    rows = [["team", "status", "reason"], ["Alder", "did not finish", "a broken guy"]]
    assert score_run_table(rows, BOOK).standings[0].scorecard.why == "a broken guy"


def test_the_order_of_rows_and_columns_changes_nothing() -> None:
    rows = [["team", "time", "A1"], ["Alder", "9:00", "1"], ["Birch", "9:00", ""]]
    turned = [["A1", "time", "team"], ["", "9:00", "Birch"], ["1", "9:00", "Alder"]]
    assert score_run_table(rows, BOOK) == score_run_table(turned, BOOK)


def test_a_published_value_that_does_not_add_up_is_flagged_and_not_followed() -> None:
    rows = [
        ["Team", "Time", "A1", "Published total", "Published rank"],
        ["Alder", "9:00", "1", "9:10", "1"],
        ["Birch", "9:20", "1", "9:20", "2"],
        ["Cedar", "", "", "9:40", "3"],
    ]
    rows[0].append("status")
    rows[3].append("did not finish")
    scored = score_run_table(rows, BOOK)
    assert [row.scorecard.total for row in scored.standings] == [550_000, 570_000, None]
    assert [str(flag) for flag in scored.flags] == [
        "row 3: Birch: the published total is 9:20.000; the rules give 9:30.000.",
        "row 4: Cedar: the published total is 9:40.000; the rules give did not finish.",
        "row 4: Cedar: the published rank is 3; the rules give did not finish.",
    ]


def test_published_biathlon_comes_out_as_published() -> None:
    """Biathlon at the 1999 Asian Winter Games, individual: WikiTableQuestions csv/203-csv/441."""
    file = PUBLISHED / "rulebooks" / "biathlon.yaml"
    with (PUBLISHED / "biathlon_individual_1999.csv").open(encoding="utf-8", newline="") as text:
        table = list(csv.DictReader(text))
    rows = [["team", "time", *(f"stage-{n}" for n in range(1, 5)), *PUBLISHED_HEADS]]
    rows += [
        [row["entry"], row["ski_time"], *row["misses"].split("+"), row["total"], row["rank"]]
        for row in table
    ]
    scored = score_run_table(rows, read_rulebook(file.read_bytes()))
    assert len(scored.standings) == 16
    assert scored.flags == ()


def test_every_problem_is_named_at_once_with_its_row_and_column() -> None:
    assert problems(
        ["team", "time", "A2", "stats", "time", "hats"],
        ["Alder", "-1:00", "4", "", "", "-1"],
        [],
        ["alder", "9:00", "0.5", "", "", ""],
        ["", "0:00", "", "", "", "1000"],
        ["Cedar", "", "", "", "", "", "9"],
    ) == [
        (
            "runs.csv:1:4: Unknown column 'stats'; allowed are 'team', 'division', 'status', "
            "'reason', 'time', 'time back', 'watch 1' and the rules' ids. Did you mean 'status'?"
        ),
        "runs.csv:1:5: The column 'time' stands here twice.",
        (
            "runs.csv:2:2: time: '-1:00' is no duration: write it as '90 s', '6 min', '1 h 5 min', "
            "'1:30' or '1:02:53.2'."
        ),
        "runs.csv:2:3: A2: '4' is not allowed here; write a whole number from 0 to 3.",
        "runs.csv:2:6: hats: '-1' is not allowed here; write a whole number from 0 to 999.",
        "runs.csv:4:1: team: 'alder' has a run already, in row 2.",
        "runs.csv:4:3: A2: '0.5' is not allowed here; write a whole number from 0 to 3.",
        "runs.csv:5:1: team: No team; write its name.",
        "runs.csv:5:2: time: '0:00' is no time at all.",
        "runs.csv:5:6: hats: '1000' is not allowed here; write a whole number from 0 to 999.",
        "runs.csv:6:2: time: No time and no status; write one of them.",
        "runs.csv:6:7: A cell stands beyond the last head.",
    ]


@pytest.mark.parametrize(
    ("head", "cells", "says"),
    [
        (["status"], ["DNF"], "2:2: status: 'dnf' is no status; allowed are 'did not finish', "),
        (["status"], ["did not finsh"], "or nothing. Did you mean 'did not finish'?"),
        (["status", "time"], ["did not start", "9:00"], "Who did not start has no time"),
        (["time", "watch 1"], ["9:00", "9:00"], "Give a time or what the watches showed"),
        (["time", "time back"], ["9:00", "9:00"], "More time back than the run took."),
        (["time"], ["101:00:00"], "is too long: at most 100 h."),
        (["time"], ["9:00.0001"], "is finer than a millisecond."),
        (["time", "reason"], ["9:00", "rain"], "A reason stands beside a status only."),
        (["time", "published rank"], ["9:00", "first"], "write a whole number from 1 to 20000."),
        (["time", "up"], ["9:00", "3"], "up: '3' is not allowed here; write a whole number from"),
        (["time", "lost"], ["9:00", "1"], "Unknown column 'lost'"),
    ],
)
def test_a_wrong_cell_is_refused_with_what_is_allowed(
    head: list[str], cells: list[str], says: str
) -> None:
    said = problems(["team", *head], ["Alder", *cells])
    assert len(said) == 1
    assert says in said[0]


def test_a_table_without_teams_or_runs_is_refused() -> None:
    assert problems(["time"], ["9:00"]) == ["runs.csv:1:1: The column 'team' is missing."]
    assert "There is no run in this table" in problems(["team", "time"])[0]
    assert "There is no run in this table" in problems()[0]


def test_a_name_of_more_than_300_characters_is_refused() -> None:
    says = "runs.csv:2:1: team: 301 characters; at most 300 are allowed."
    assert problems(["team", "time"], ["x" * 301, "9:00"]) == [says]


def test_more_runs_than_an_event_can_have_are_refused() -> None:
    rows = [["team", "time"], *([f"t{n}", "9:00"] for n in range(20_001))]
    assert problems(*rows) == ["runs.csv:1:1: 20,001 runs; at most 20,000 are allowed."]


def test_reading_stops_where_everything_is_wrong() -> None:
    said = problems(["team", "time"], *([f"t{n}", "soon"] for n in range(5_000)))
    assert len(said) == 1_001
    assert "So much is wrong that the rest was not read." in said[-2] + said[-1]


def test_a_rule_with_the_name_of_a_column_is_refused() -> None:
    book = read_rulebook(
        b"{rulebook: b, title: B, edition: 1, cautions: c, posts: {p: {title: P}}, "
        b"penalties: {x: {seconds: 1}}, rules: [{step: time, do: d, post: p, costs: x}]}"
    )
    says = "The rule 'time' has the name of a column; give it another."
    assert says in problems(["team", "time"], ["Alder", "9:00"], book=book)[0]
