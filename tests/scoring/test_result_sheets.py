"""Sheets of every kind of result: what they show, and that what they show adds up."""

from typing import Any, Final

import pytest

from scoring import (
    Competence,
    Entrant,
    Entry,
    Given,
    PersonId,
    Rulebook,
    Scorecard,
    Signature,
    Standing,
    Status,
    Table,
    TeamId,
    TeamSheet,
    overall,
    overall_table,
    rank,
    score,
    standings_table,
    team_sheet,
)
from tests.scoring.builders import (
    book,
    breached,
    card,
    closed,
    counted,
    ended,
    entry,
    marked,
    missed,
    started,
    stopped,
)
from tests.scoring.meets import meet, placed, races, series, standings

_RULES: Final = """
  - {step: A1, do: Stop the drive, post: north, costs: slip}
  - {conduct: gloves, text: Gloves on, post: north, costs: grave}
  - {bonus: neat, text: Neat work, post: south, gives: slip}"""
_POINTS: Final = {
    "result": "points",
    "penalties": "{slip: {points: 10}, grave: {points: 30, severity: safety}}",
    "rules": _RULES,
}


def of(**sections: Any) -> Rulebook:
    return book(**{**_POINTS, **sections})


def ranked(rules: Rulebook, **runs: Scorecard | list[Scorecard]) -> tuple[Standing, ...]:
    return rank(
        [
            (Entrant(TeamId(name), name.upper()), each)
            for name, cards in runs.items()
            for each in (cards if isinstance(cards, list) else [cards])
        ],
        rules,
    )


def heads(table: Table) -> list[str]:
    return [column.key for column in table.columns]


def row(table: Table, number: int = 0) -> dict[str, Any]:
    return dict(zip(heads(table), table.rows[number], strict=True))


def sheet(rules: Rulebook, rows: tuple[Standing, ...], number: int = 0) -> TeamSheet:
    return team_sheet(rows[number], rows, rules, {PersonId("jo"): "Jo Fern"})


def adds_up(made: TeamSheet) -> bool:
    """Whether every fact that is made of others comes to what it says."""
    values = {fact.key: fact.value for fact in made.summary} | {
        f"{table.name}.{column.key}": table.total(column.key)
        for table in made.tables
        for column in table.columns
    }

    def worth(sign: str, key: str) -> int:
        value = values[key]
        assert isinstance(value, int)
        return -value if sign == "-" else value

    return all(
        fact.value == sum(worth(*part) for part in fact.made_of)
        for fact in made.summary
        if fact.made_of
    )


def test_standings_in_points_show_what_the_points_are_made_of() -> None:
    rules = of(points="{start: 100, time: {points: 1, beyond: 9 min}}")
    table = standings_table(ranked(rules, a=card(rules), b=card(rules, missed("A1"))), rules)
    assert heads(table) == [
        "place",
        "team",
        "division",
        "division_place",
        "time",
        "time_cost",
        "penalty",
        "bonus",
        "total",
        "behind",
        "findings",
        "remark",
    ]
    assert row(table, 1) == {
        "place": 2,
        "team": "B",
        "division": "",
        "division_place": 2,
        "time": 600_000,
        "time_cost": 60_000,
        "penalty": 10_000,
        "bonus": 0,
        "total": 30_000,
        "behind": 10_000,
        "findings": 1,
        "remark": "1 undecided",
    }
    kinds = {column.key: column.kind for column in table.columns}
    assert kinds["total"] == kinds["penalty"] == kinds["behind"] == "points"


def test_standings_without_a_time_have_no_column_for_one() -> None:
    rules = of(points="{start: 100}")
    table = standings_table(ranked(rules, a=card(rules)), rules)
    assert "time" not in heads(table)


def test_standings_by_division_tell_how_far_behind_in_it() -> None:
    rules = of(points="{start: 100}", places="division")
    results = [
        (Entrant(TeamId("a"), "A", "guides"), card(rules)),
        (Entrant(TeamId("b"), "B", "novices"), card(rules, missed("A1"))),
        (Entrant(TeamId("c"), "C", "novices"), card(rules, breached())),
    ]
    table = standings_table(rank(results, rules), rules)
    assert "division_place" not in heads(table)
    assert table.column("place") == (1, 1, 2)
    assert table.column("behind") == (0, 0, 20_000)


@pytest.mark.parametrize(
    ("points", "more"),
    [
        ("{start: 100}", {}),
        ("{start: 100, floor: 0}", {}),
        ("{best: least}", {}),
        ("{start: 100, time: {points: 0.5, beyond: 9 min}}", {}),
        ("{start: 100, time: {points: 0.5, under: 20 min}}", {}),
        ("{best: least, time: {points: 1, beyond: 9 min}}", {}),
        (
            "{start: 100, time: {points: 1, beyond: 9 min}}",
            {"penalties": "{slip: {points: 10}, grave: {seconds: 30}}"},
        ),
        ("{start: carried}", {"givens": "{carried: {number: '1'}}"}),
    ],
)
def test_a_sheet_in_points_adds_up(points: str, more: dict[str, str]) -> None:
    rules = of(points=points, **more)
    seen = [missed("A1"), breached(), breached(at=60_000), marked("neat")]
    rows = ranked(rules, a=card(rules, *seen, entry(Given("carried", "50"))))
    made = sheet(rules, rows)
    assert rows[0].scorecard.total is not None
    assert made.fact("total") == rows[0].scorecard.total
    assert adds_up(made)


def test_what_costs_seconds_stands_apart_from_what_costs_points() -> None:
    rules = of(
        points="{start: 100, time: {points: 1, beyond: 9 min}}",
        penalties="{slip: {points: 10}, grave: {seconds: 30}}",
    )
    made = sheet(rules, ranked(rules, a=card(rules, missed("A1"), breached())))
    assert made.findings.total("cost") == 10_000
    assert made.findings.total("seconds") == 30_000
    assert made.fact("seconds") == 30_000


def test_a_sheet_without_a_time_speaks_of_none() -> None:
    rules = of(points="{start: 100}")
    rows = ranked(rules, a=score([missed("A1"), closed("north"), closed("south")], rules))
    made = sheet(rules, rows)
    assert "official" not in {fact.key for fact in made.summary}
    assert made.fact("total") == 90_000


def test_standings_of_attempts_show_each_and_what_was_made_of_them() -> None:
    rules = of(points="{start: 100}", attempts="{count: 3, take: sum, drop-worst: 1}")
    runs = [
        card(rules),
        card(rules, missed("A1")),
        score([ended(Status.DID_NOT_FINISH)], rules),
    ]
    table = standings_table(ranked(rules, a=runs), rules)
    shown = row(table)
    assert [shown[f"attempt {n}"] for n in (1, 2, 3)] == [100_000, 90_000, None]
    assert (shown["total"], shown["findings"]) == (190_000, 1)


def test_the_sheet_of_several_attempts_has_every_one() -> None:
    rules = of(points="{start: 100}", attempts="{count: 2, take: best}")
    rows = ranked(rules, a=[card(rules, missed("A1")), card(rules, breached())])
    made = sheet(rules, rows)
    assert made.findings.column("attempt") == (1, 2)
    assert made.findings.column("rule") == ("A1", "gloves")
    [attempts] = [table for table in made.tables if table.name == "attempts"]
    assert attempts.column("counts") == ("yes", "no")
    assert attempts.column("total") == (90_000, 70_000)
    assert made.fact("made") == "the best of 2 attempts"
    assert made.fact("total") == 90_000


@pytest.mark.parametrize(
    ("attempts", "says"),
    [
        ("{count: 3, take: last}", "the last of 3 attempts"),
        ("{count: 3, take: middle}", "the middle one of 3 attempts"),
        (
            "{count: 5, take: mean, drop-best: 1, drop-worst: 2}",
            "the mean of 5 attempts without the best and the 2 worst",
        ),
        (
            "{count: 2, take: sum, failed: 12.5}",
            "the sum of 2 attempts, a failed one counting as 12.5 points",
        ),
    ],
)
def test_the_sheet_says_how_attempts_were_taken(attempts: str, says: str) -> None:
    rules = of(points="{start: 100}", attempts=attempts)
    assert sheet(rules, ranked(rules, a=[card(rules)] * 2)).fact("made") == says


def test_the_sheet_tells_a_run_that_was_given_again() -> None:
    rules = book()
    made = sheet(rules, ranked(rules, a=[card(rules), card(rules, missed("A1"))]))
    assert made.fact("made") == "the run that was given again stands for the earlier one"
    more = of(attempts="{count: 2}", points="{start: 9}")
    again = sheet(more, ranked(more, a=[card(more)] * 3))
    assert again.fact("made") == "the best of 2 attempts, the latest"


def test_a_failed_attempt_in_seconds_is_said_in_seconds() -> None:
    rules = book(attempts="{count: 2, failed: 600}")
    made = sheet(rules, ranked(rules, a=[card(rules)] * 2))
    assert made.fact("made") == "the best of 2 attempts, a failed one counting as 600 s"


_ASSESSED: Final = of(
    result="assessment", points="{start: 100}", assessment="{pass: 90, must: [gloves, grave]}"
)


def assessed(*seen: Entry) -> tuple[Standing, ...]:
    return ranked(_ASSESSED, a=score([*seen, closed("north"), closed("south")], _ASSESSED))


def test_the_outcomes_of_an_assessment_are_a_table_without_places() -> None:
    table = standings_table(assessed(breached()), _ASSESSED)
    assert table.title == "Outcomes: A trial, edition 1"
    assert not {"place", "division_place", "behind", "time"} & {*heads(table)}
    shown = row(table)
    assert (shown["outcome"], shown["missed"], shown["again"], shown["signed"]) == (
        "not yet",
        "pass mark, gloves, grave",
        "gloves",
        "no",
    )
    assert shown["total"] == 70_000


def test_who_was_not_assessed_has_no_outcome() -> None:
    rows = ranked(_ASSESSED, a=score([ended(Status.DID_NOT_START)], _ASSESSED))
    shown = row(standings_table(rows, _ASSESSED))
    assert (shown["outcome"], shown["remark"]) == (None, "did not start: as ruled")


def test_the_record_of_an_assessment_says_what_is_met_and_what_is_shown_again() -> None:
    made = sheet(_ASSESSED, assessed(breached(), entry(Signature(Competence.NOT_YET, "gloves"))))
    record, again, signatures = made.tables[4:7]
    assert record.rows == (
        ("pass mark", "at least 90 points", "not yet", "gloves"),
        ("gloves", "Gloves on", "not yet", "gloves"),
        ("grave", "nothing of this kind", "not yet", "gloves"),
    )
    assert again.rows == (("gloves", "Gloves on"),)
    assert signatures.rows == (("Jo Fern", "not yet", "gloves", "yes"),)
    assert made.fact("outcome") == "not yet"
    assert {"place", "ranked"}.isdisjoint(fact.key for fact in made.summary)


def test_a_signature_on_another_outcome_is_shown_as_one() -> None:
    made = sheet(_ASSESSED, assessed(breached(), entry(Signature(Competence.COMPETENT))))
    [signatures] = [table for table in made.tables if table.name == "signatures"]
    assert signatures.rows == (("Jo Fern", "competent", "", "no, the outcome has changed"),)


@pytest.mark.parametrize(
    ("points", "mark", "says"),
    [
        ("{start: 80}", "75.5 %", "at least 75.5 % of the points to start with"),
        ("{best: least}", "12", "at most 12 points"),
    ],
)
def test_the_record_says_the_mark_as_it_was_written(points: str, mark: str, says: str) -> None:
    rules = of(result="assessment", points=points, assessment=f"{{pass: {mark}}}")
    made = sheet(rules, ranked(rules, a=card(rules)))
    assert made.tables[4].column("text") == (says,)


def test_overall_standings_show_every_event_and_what_was_dropped() -> None:
    of_series = series(3, "{by: places, missing: entries + 1, drop: 1, ties: latest-scores}")
    held = races({"a": (1, 3, 2), "b": (2, 1, 2)})
    table = overall_table(overall(of_series, held), of_series, "2, provisional")
    assert (table.title, table.note) == (
        "Overall standings: Two days, edition 1",
        "2, provisional",
    )
    assert heads(table)[4:] == ["r1", "r2", "r3", "dropped", "total", "remark"]
    assert row(table) == {
        "place": 1,
        "team": "B",
        "division": "",
        "division_place": 1,
        "r1": 2_000,
        "r2": 1_000,
        "r3": 2_000,
        "dropped": 2_000,
        "total": 3_000,
        "remark": "The lift: dropped; tie broken by latest scores",
    }


def test_overall_totals_are_the_sum_of_what_is_shown() -> None:
    of_series = series(3, "{by: places, missing: entries + 1, drop: 1}")
    table = overall_table(overall(of_series, races({"a": (1, 3, 2), "b": (2, 1, 3)})), of_series)
    [total] = [column for column in table.columns if column.key == "total"]
    for each in range(2):
        shown = row(table, each)
        parts = [(-1 if sign == "-" else 1) * shown[key] for sign, key in total.made_of]
        assert shown["total"] == sum(parts)


def test_overall_standings_say_why_a_result_is_missing_and_who_shares() -> None:
    of_meet = meet(overall="{by: places, missing: unranked}")
    held = {
        "lift": placed({"a": 1, "b": 1, "c": None}),
        "rescue": standings({"a": 9_000, "b": 9_000}, {"a": 1, "b": 1}),
    }
    table = overall_table(overall(of_meet, held), of_meet)
    assert table.column("remark") == (
        "shares the place",
        "shares the place",
        "The lift: did not finish; A trial: not entered",
    )
    assert table.column("total") == (2_000, 2_000, None)


def test_overall_standings_of_nothing_are_empty() -> None:
    assert overall_table((), meet()).rows == ()


def test_a_count_in_points_is_shown_in_points() -> None:
    rules = book(result="points", penalties="{slip: {points: 2.5, per: item}, grave: {points: 1}}")
    run = score([started(), stopped(), counted("tools", 3)], rules)
    made = sheet(rules, ranked(rules, a=run))
    [cost] = [column for column in made.findings.columns if column.key == "cost"]
    assert (cost.kind, made.findings.total("cost")) == ("points", 7_500)
