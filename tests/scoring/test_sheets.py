from dataclasses import replace

import pytest

from scoring import (
    Breach,
    Cell,
    CellKind,
    Entrant,
    RuleId,
    Signal,
    SignalName,
    Standing,
    Table,
    TeamId,
    TeamSheet,
    rank,
    score,
    standings_table,
    team_sheet,
)
from tests.exports.meet import BOOK, PEOPLE, early_record, field, full_record, played, standing


def sheet(name: str = "Anvil", rows: tuple[Standing, ...] = ()) -> TeamSheet:
    among = rows or field()
    return team_sheet(standing(name, among), among, BOOK, PEOPLE, "3, provisional")


def cells(table: Table, key: str, **where: Cell) -> list[Cell]:
    """A column's cells in the rows where other columns hold what is asked for."""
    keys = [column.key for column in table.columns]
    rows = [dict(zip(keys, row, strict=True)) for row in table.rows]
    return [row[key] for row in rows if all(row[of] == cell for of, cell in where.items())]


def test_every_cell_holds_what_its_column_says() -> None:
    for name in ("Anvil", "Beam", "Crane", "Dowel"):
        for table in (*sheet(name).tables, standings_table(field(), BOOK)):
            for row in table.rows:
                assert len(row) == len(table.columns)
                for column, cell in zip(table.columns, row, strict=True):
                    kind = str if column.kind is CellKind.TEXT else int
                    assert cell is None or type(cell) is kind, (table.name, column.key)


def test_the_summary_is_the_scorecards_own() -> None:
    row, mine = standing("Anvil", field()), sheet()
    card = row.scorecard
    assert card.official is not None
    assert mine.fact("official") == card.official.time
    assert mine.fact("penalty") == card.penalty == mine.findings.total("cost")
    assert mine.fact("bonus") == card.bonus == mine.findings.total("given")
    assert mine.fact("total") == card.total == card.official.time + card.penalty - card.bonus
    assert (mine.fact("place"), mine.fact("ranked")) == (row.place, 3)
    assert mine.fact("posting") == "3, provisional"
    assert [mine.fact(f"caution {n}") for n in (1, 2)] == list(BOOK.cautions)


def test_the_summary_says_how_the_official_time_was_made() -> None:
    mine = sheet()
    assert [mine.fact(f"watch {n}") for n in (1, 2, 3)] == [1_230_000, 1_230_050, 1_230_100]
    assert mine.fact("back") == 17_500
    assert mine.fact("made") == (
        "middle of three (watches 1, 2 and 3), less the time given back, rounded up to a full 0.1 s"
    )


def test_too_few_watches_are_named() -> None:
    entries = [each for each in played(900_000) if getattr(each.what, "watch", 0) not in {1, 3}]
    rows = rank([(Entrant(TeamId("t"), "Lone"), score(entries, BOOK))], BOOK)
    assert "one watch (watch 2), too few watches for middle of three" in str(
        sheet("Lone", rows).fact("made")
    )


def test_a_run_that_did_not_finish_says_so_and_has_no_total() -> None:
    mine = sheet("Dowel")
    assert (mine.fact("total"), mine.fact("place")) == (None, None)
    assert mine.fact("status") == "did not finish: a jack failed"


def test_a_finding_can_be_followed_to_who_saw_it_and_who_ruled() -> None:
    findings = sheet().findings
    assert cells(findings, "fault", rule="A2") == ["not done: south"]
    assert cells(findings, "at", rule="A2") == [181_000]
    assert cells(findings, "seen", rule="A2") == ["Ann Teal, East pier"]
    assert cells(findings, "cost", rule="A2") == [4_000]
    assert cells(findings, "how", rule="A2") == [
        "A step left out: changed by the head judge from 10 s"
    ]
    assert cells(findings, "ruling", rule="A2") == [
        "changed by Dee Oak: the prop stood beside its mark"
    ]


def test_a_struck_out_finding_is_shown_and_costs_nothing() -> None:
    findings = sheet().findings
    assert cells(findings, "cost", rule="lifting") == [0]
    assert str(cells(findings, "state", rule="lifting")[0]).startswith("struck out")
    assert cells(findings, "ruling", rule="lifting") == ["struck out by Dee Oak: heard on the tape"]
    assert cells(sheet().callouts, "answer", item="second") == [
        "not heard; judges disagree; seen by one of several judges; struck out by the head judge"
    ]


def test_judges_who_disagree_are_named_with_what_each_said() -> None:
    seen = str(cells(sheet().findings, "seen", rule="lifting")[0]).splitlines()
    assert sorted(seen) == ["Ann Teal, East pier: heard", "Bo Sand, West pier: not heard"]


def test_an_added_finding_has_a_reason_and_no_time_into_the_run() -> None:
    findings = sheet().findings
    assert cells(findings, "at", rule="closed") == [None]
    assert cells(findings, "ruling", rule="closed") == [
        "added by Dee Oak: said before the gate was shut"
    ]


def test_a_limit_of_the_clock_reads_as_a_rule() -> None:
    findings = sheet().findings
    assert cells(findings, "text", rule="run limit") == ["The run may take 20:00."]
    assert cells(findings, "fault", rule="run limit") == ["over the limit, by 0:12.6"]
    assert cells(findings, "cost", rule="run limit") == [13_000]


def test_a_proposed_finding_is_shown_and_costs_nothing() -> None:
    findings = sheet("Beam").findings
    assert cells(findings, "state", rule="A2") == ["proposed"]
    assert cells(findings, "cost", rule="A2") == [0]
    assert cells(findings, "fault", rule="A2") == [
        "out of order: begun before A1 was finished, by 0:20.0"
    ]


def test_the_order_in_which_entries_came_changes_no_cell() -> None:
    rows = [
        rank([(Entrant(TeamId("t"), "Turned"), score(entries, BOOK))], BOOK)
        for entries in (full_record(), full_record()[::-1])
    ]
    assert sheet("Turned", rows[0]) == sheet("Turned", rows[1])


def test_callouts_are_counted_against_what_was_heard() -> None:
    callouts = sheet().callouts
    assert (callouts.total("required"), callouts.total("good")) == (4, 3)
    assert cells(callouts, "at", rule="closed") == [240_000]
    assert cells(callouts, "by", rule="lifting") == ["jack"] * 3
    unheard = sheet("Dowel").callouts
    assert (unheard.total("required"), unheard.total("good")) == (4, 0)
    assert set(unheard.column("answer")) == {"not marked"}


def test_splits_stand_against_the_median_and_the_best_of_who_has_a_place() -> None:
    splits = sheet().splits
    assert splits.column("took") == (240_000, 224_500)
    assert splits.column("median") == (240_000, 224_500)
    assert splits.column("best") == (200_000, 200_000)
    assert splits.column("over_best") == (40_000, 24_500)


def test_the_median_of_an_even_field_lies_between_and_half_a_millisecond_goes_up() -> None:
    """The usual median of an even number of values: the mean of the middle two."""
    entries = played(900_000, pace=50_000)
    later = [
        replace(each, at=each.at + 1) if getattr(each.what, "rule", "") == "closed" else each
        for each in entries
    ]
    cards = {"even": score(entries, BOOK), "odd": score(later, BOOK)}
    rows = rank([(Entrant(TeamId(name), name), card) for name, card in cards.items()], BOOK)
    assert sheet("even", rows).splits.column("took") == (200_000, 200_000)
    assert sheet("odd", rows).splits.column("took") == (200_001, 199_999)
    assert sheet("even", rows).splits.column("median") == (200_001, 200_000)


def test_a_task_nobody_reached_has_no_split() -> None:
    lone = rank([(Entrant(TeamId("t"), "Lone"), score([], BOOK))], BOOK)
    splits = sheet("Lone", lone).splits
    for key in ("ended", "took", "median", "over_median", "best", "over_best"):
        assert splits.column(key) == (None, None)


def test_holds_returns_and_what_was_not_seen_have_tables_of_their_own() -> None:
    extras = {table.name: table for table in sheet().extras}
    assert extras["clock"].column("time") == (15_500, 2_000)
    assert extras["clock"].total("time") == sheet().fact("back")
    assert cells(extras["returns"], "missing", rule="tools") == [3]
    assert "open" not in extras
    waiting = {table.name: table for table in sheet("Dowel").extras}
    assert "not answered" in waiting["open"].column("answer")


def test_who_is_not_known_by_name_stands_by_their_id() -> None:
    among = field()
    mine = team_sheet(standing("Anvil", among), among, BOOK, {})
    assert cells(mine.findings, "seen", rule="A2") == ["ann, East pier"]
    assert mine.fact("posting") == "not posted"


def test_standings_are_a_table_in_their_order() -> None:
    table = standings_table(field(), BOOK, "3, provisional")
    assert table.column("place") == (1, 2, 3, None)
    assert table.column("total") == tuple(row.scorecard.total for row in field())
    assert table.column("behind")[0] == 0
    assert table.column("remark")[-1] == "did not finish: a jack failed; 10 undecided"


def test_a_shared_place_and_a_broken_tie_are_named() -> None:
    cards = [score(played(900_000), BOOK)] * 2
    tied = rank([(Entrant(TeamId(str(n)), str(n)), card) for n, card in enumerate(cards)], BOOK)
    assert standings_table(tied, BOOK).column("remark") == ("shares the place",) * 2
    parted = tuple(replace(row, tied=False, broken_by="less time") for row in tied)
    assert standings_table(parted, BOOK).column("remark") == ("tie broken by less time",) * 2


@pytest.mark.parametrize("whom", ["", "jack"])
def test_a_breach_names_whom_the_judge_could_tell(whom: str) -> None:
    entries = played(900_000, (100_000, "ann", Breach(RuleId("hands"), whom)))
    rows = rank([(Entrant(TeamId("t"), "Lone"), score(entries, BOOK))], BOOK)
    said = cells(sheet("Lone", rows).findings, "fault", rule="hands")
    assert said == [f"breach: {whom}" if whom else "breach"]


def test_a_running_crew_has_a_sheet_too() -> None:
    entries = [each for each in early_record() if each.what != Signal(SignalName.STOP)]
    rows = rank([(Entrant(TeamId("t"), "Lone"), score(entries, BOOK))], BOOK)
    assert sheet("Lone", rows).fact("status") == "no result yet (running)"
