"""Each demo event's script gives the standings that were laid down for it by hand."""

import csv
from collections import Counter
from pathlib import Path
from typing import Final

import pytest

from scoring import (
    OBSERVATIONS,
    Decision,
    Entrant,
    Fault,
    OverallStanding,
    PersonId,
    Result,
    Rulebook,
    Ruling,
    Scorecard,
    Standing,
    State,
    Withdrawal,
    format_duration,
    format_thousandths,
    overall,
    rank,
    read_rulebook,
    score,
)
from tests.demo_events import SCRIPTS
from tests.house.tree import ROOT
from web.demo_event import DemoEvent, load_demo, load_demo_event
from web.errors import RefusedError
from web.values import Role

DEMOS: Final = ROOT / "demo_events"
FOLDERS: Final = sorted(path.parent for path in DEMOS.glob("**/event.yaml"))
MEETS: Final = sorted(path.parent for path in DEMOS.glob("*/meet.yaml"))
SHEAVE: Final = DEMOS / "sheave-change"

every_folder = pytest.mark.parametrize("folder", FOLDERS, ids=lambda folder: folder.name)
every_meet = pytest.mark.parametrize("folder", MEETS, ids=lambda folder: folder.name)


def _cards(demo: DemoEvent) -> dict[str, Scorecard]:
    book = read_rulebook(demo.event.rulebook)
    entries = demo.entries(base=1_700_000_000_000)
    return {
        run.plan.team: score([entry for entry in entries if entry.run == run.plan.id], book)
        for run in demo.runs
    }


def _standings(demo: DemoEvent) -> tuple[Standing, ...]:
    cards = _cards(demo)
    entrants = [Entrant(team.id, team.name, team.division) for team in demo.teams]
    return rank([(each, cards[each.team]) for each in entrants], read_rulebook(demo.event.rulebook))


def _row(row: Standing, book: Rulebook) -> dict[str, str]:
    """All that a file of expected standings may say of a row."""
    card = row.scorecard
    step = book.clock.step
    total = "" if card.total is None else format_thousandths(card.total)
    if card.total is not None and book.result is Result.TIME:
        total = format_duration(card.total, step)
    assessed = card.assessed
    return {
        "place": "" if row.place is None else str(row.place),
        "team": row.entrant.name,
        "division": row.entrant.division,
        "time": "" if card.official is None else format_duration(card.official.time, step),
        "time_cost": format_thousandths(card.time_cost),
        "penalty": format_thousandths(card.penalty),
        "bonus": format_thousandths(card.bonus),
        "total": total,
        "outcome": "" if assessed is None else assessed.outcome,
        "missed": ""
        if assessed is None
        else " ".join(each.name for each in assessed.criteria if not each.met),
        "again": "" if assessed is None else " ".join(assessed.again),
        "signed": "yes" if assessed is not None and assessed.signed else "no",
        "status": card.status or "",
        "why": card.why,
    }


def _overall_row(row: OverallStanding) -> dict[str, str]:
    return {
        "place": str(row.place or ""),
        "team": row.entrant.name,
        "division": row.entrant.division,
        "division_place": str(row.division_place or ""),
        **{each.event: format_thousandths(each.score or 0) for each in row.scores},
        "total": format_thousandths(row.total or 0),
        "broken_by": row.broken_by,
    }


def _expected(folder: Path) -> list[dict[str, str]]:
    """What was laid down by hand: standings, the record of an assessment, or overall standings."""
    (file,) = (folder / "expected").iterdir()
    with file.open(encoding="utf-8", newline="") as text:
        return list(csv.DictReader(text))


def test_there_is_a_demo_of_every_kind_of_result_and_a_meet() -> None:
    assert SHEAVE in FOLDERS
    results = {read_rulebook(load_demo_event(each).event.rulebook).result for each in FOLDERS}
    assert results == set(Result)
    assert MEETS


def test_every_shipped_rulebook_is_played() -> None:
    played = {load_demo_event(folder).event.hash for folder in FOLDERS}
    books = {path: path.read_bytes() for path in (ROOT / "rulebooks").glob("*.yaml")}
    assert {
        path.name for path, book in books.items() if read_rulebook(book).hash not in played
    } == set()


@every_folder
def test_the_script_gives_the_standings_laid_down(folder: Path) -> None:
    demo, expected = load_demo_event(folder), _expected(folder)
    rows = [_row(row, read_rulebook(demo.event.rulebook)) for row in _standings(demo)]
    assert [{key: row[key] for key in expected[0]} for row in rows] == expected


@every_meet
def test_the_events_give_the_overall_standings_laid_down(folder: Path) -> None:
    demo = load_demo(folder)
    assert demo.meet is not None
    rows = overall(demo.meet, {day.event.id: _standings(day) for day in demo.days})
    assert [_overall_row(row) for row in rows] == _expected(folder)


@every_meet
def test_a_meet_has_divisions_a_tie_and_somebody_who_misses_an_event(folder: Path) -> None:
    demo = load_demo(folder)
    assert demo.meet is not None
    rows = overall(demo.meet, {day.event.id: _standings(day) for day in demo.days})
    assert len({row.entrant.division for row in rows}) == 2
    assert {score.why for row in rows for score in row.scores} >= {"not entered", "did not finish"}
    assert any(row.broken_by for row in rows)


@every_folder
def test_nothing_is_left_open_or_odd(folder: Path) -> None:
    for team, card in _cards(load_demo_event(folder)).items():
        assert (team, card.undecided, card.anomalies, card.orphans) == (team, 0, (), ())


@every_folder
def test_everybody_marks_what_their_post_watches(folder: Path) -> None:
    demo = load_demo_event(folder)
    book = read_rulebook(demo.event.rulebook)
    posts = {each.person: each.post for each in demo.placements}
    for entry in demo.entries(base=0):
        assert entry.post == posts[entry.by]
        if isinstance(entry.what, OBSERVATIONS):
            assert entry.post in book.rules[entry.what.rule].posts
            assert book.rules[entry.what.rule].takes(entry.what)


@every_folder
def test_everybody_who_is_needed_is_there(folder: Path) -> None:
    demo = load_demo_event(folder)
    roles = Counter(each.role for each in demo.placements)
    assert roles[Role.HEAD] == 1
    assert {each.team for each in demo.placements if each.role is Role.CAPTAIN} == {
        team.id for team in demo.teams
    }
    assert {each.post for each in demo.placements} >= set(read_rulebook(demo.event.rulebook).posts)


@every_folder
def test_no_judge_is_at_two_runs_at_once(folder: Path) -> None:
    runs_of: dict[PersonId, list[tuple[int, int]]] = {}
    for run in load_demo_event(folder).runs:
        for person in {entry.by for entry in run.script if entry.post is not None}:
            times = [entry.at for entry in run.script if entry.by == person]
            runs_of.setdefault(person, []).append((min(times), max(times)))
    for person, spans in runs_of.items():
        for (_, end), (begin, _) in zip(sorted(spans), sorted(spans)[1:], strict=False):
            assert end < begin, person


@every_folder
def test_a_later_day_gives_the_same_entries_later(folder: Path) -> None:
    demo = load_demo_event(folder)
    early, late = demo.entries(base=0), demo.entries(base=86_400_000)
    assert [(each.id, each.at + 86_400_000) for each in early] == [
        (each.id, each.at) for each in late
    ]
    assert len({each.id for each in early}) == len(early)


def test_the_scripts_are_what_their_writer_writes() -> None:
    written = {file: text for scripts in SCRIPTS for file, text in scripts()}
    assert set(written) == set(DEMOS.glob("**/runs/*.yaml"))
    for file, text in written.items():
        assert file.read_text(encoding="utf-8") == text, file


def test_the_day_has_what_a_day_has() -> None:
    cards = _cards(load_demo_event(SHEAVE))
    assert cards["owl"].run.false_starts
    assert cards["anvil"].run.holds
    assert cards["anvil"].official is not None
    assert len(cards["anvil"].official.readings) == 2
    assert any(isinstance(entry.what, Withdrawal) for entry in cards["heron"].run.entries)
    assert {card.status for card in cards.values()} >= {"disqualified", "did not start"}
    decisions = {
        entry.what.decision
        for card in cards.values()
        for entry in card.run.rulings.values()
        if isinstance(entry.what, Ruling)
    }
    assert decisions == set(Decision)
    assert "fewer safety" in {row.broken_by for row in _standings(load_demo_event(SHEAVE))}


def test_the_cliff_shows_what_a_rescue_has() -> None:
    cards = _cards(load_demo_event(DEMOS / "cliff-rescue"))
    assert [card.run.dangers != () for card in cards.values()].count(True) == 1
    assert cards["cairn"].run.false_starts
    assert {card.run.givens.get("side") for card in cards.values()} >= {"sea side", "land side"}
    found = [finding for card in cards.values() for finding in card.findings]
    faults = {finding.failure.fault for finding in found}
    assert faults >= {
        Fault.RUN_ENDER,
        Fault.CORRECTED,
        Fault.JUDGE_DID,
        Fault.FALSE_START,
        Fault.OVER_LIMIT,
        Fault.TOO_SHORT,
    }
    enders = {each.state for each in found if each.failure.fault is Fault.RUN_ENDER}
    assert enders == {State.COUNTS, State.STRUCK_OUT}
    # Two breaches while the latch was closed are one.
    (off,) = (each for each in found if each.failure.rule == "hands-off")
    assert len(off.failure.stands_on) == 2


def test_who_assesses_alone_has_a_link_for_the_watch_and_one_for_the_rules() -> None:
    demo = load_demo_event(DEMOS / "anchor-assessment")
    roles = {each.role for each in demo.placements if each.person == "assessor"}
    assert roles == {Role.TIMEKEEPER, Role.JUDGE}
    assert [person.id for person in demo.people].count(PersonId("assessor")) == 1


def test_a_meet_of_another_rulebook_is_refused(tmp_path: Path) -> None:
    meet = MEETS[0]
    text = (meet / "meet.yaml").read_text(encoding="utf-8")
    (tmp_path / "meet.yaml").write_text(text.replace("knot-rail.yaml", "stretcher-carry.yaml"))
    for event in ("knots", "carry"):
        (tmp_path / event).symlink_to(meet / event)
    with pytest.raises(RefusedError, match=r"knots: this is not the event of .*meet\.yaml"):
        load_demo(tmp_path)


def _folder(tmp_path: Path, event: str, script: str = "[]") -> Path:
    (tmp_path / "runs").mkdir()
    (tmp_path / "event.yaml").write_text(event, encoding="utf-8")
    (tmp_path / "runs" / "a.yaml").write_text(script, encoding="utf-8")
    return tmp_path


_EVENT: Final = """
event: small
title: Small
rulebook: sheave-change.yaml
teams: [{team: a, name: A}]
people: [{person: head, name: H, role: head judge}]
runs: [{team: a, bay: Bay 1, begins: 2 min}]
"""


def test_a_script_is_timed_from_the_beginning_of_its_run(tmp_path: Path) -> None:
    script = "- {at: 500, by: clock, post: clock, signal: {signal: start}}"
    (entry,) = load_demo_event(_folder(tmp_path, _EVENT, script)).entries(base=1_000_000)
    assert (entry.at, entry.id) == (1_000_000 + 120_000 + 500, "small.a.001")


@pytest.mark.parametrize(
    ("event", "script", "says"),
    [
        ("event: small", "[]", "title"),
        (_EVENT.replace("2 min", "soon"), "[]", "'soon' is no duration"),
        (_EVENT.replace("role: head judge", "role: king"), "[]", "role"),
        (_EVENT.replace("{team: a, bay", "{team: b, bay"), "[]", "there is no team 'b'"),
        (_EVENT.replace("sheave-change.yaml", "../x.yaml"), "[]", "No name of a rulebook"),
        (_EVENT.replace("sheave-change.yaml", "none.yaml"), "[]", "cannot be read"),
        ("event: [", "[]", "is not YAML"),
        (_EVENT, "at: 5", "a list of entries is wanted"),
        (_EVENT, "- {at: 5, by: head}", "entry 1: at, by, post and exactly one kind"),
        (_EVENT, "- {at: -5, by: head, close-out: {}}", "entry 1: at:"),
        (_EVENT, "- {at: 5, by: head, signal: {signal: jump}}", "entry 1: what.signal:"),
    ],
)
def test_a_broken_demo_event_says_what_and_where(
    tmp_path: Path, event: str, script: str, says: str
) -> None:
    with pytest.raises(RefusedError, match=says):
        load_demo_event(_folder(tmp_path, event, script))


def test_a_folder_that_is_none_says_so(tmp_path: Path) -> None:
    with pytest.raises(RefusedError, match=r"event\.yaml cannot be read"):
        load_demo_event(tmp_path / "nowhere")
