"""Each demo event's script gives the standings that were laid down for it by hand."""

import csv
from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

import pytest
import yaml

from scoring import (
    Breach,
    Count,
    Entrant,
    Mark,
    PersonId,
    Ruling,
    Scorecard,
    Standing,
    Withdrawal,
    format_duration,
    format_thousandths,
    rank,
    read_rulebook,
    score,
)
from tests.demo_events import sheave_change
from tests.house.tree import ROOT
from web.demo_event import DemoEvent, load_demo_event
from web.errors import RefusedError
from web.values import Role

FOLDERS: Final = sorted(path.parent for path in (ROOT / "demo_events").glob("*/event.yaml"))
SHEAVE: Final = ROOT / "demo_events" / "sheave-change"

every_folder = pytest.mark.parametrize("folder", FOLDERS, ids=lambda folder: folder.name)


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


def _row(row: Standing) -> dict[str, str]:
    card = row.scorecard
    return {
        "place": "" if row.place is None else str(row.place),
        "team": row.entrant.name,
        "division": row.entrant.division,
        "time": "" if card.official is None else format_duration(card.official.time, 100),
        "penalty": format_thousandths(card.penalty),
        "total": "" if card.total is None else format_duration(card.total, 100),
        "status": card.status or "",
        "why": card.why,
    }


def _expected(folder: Path) -> list[dict[str, str]]:
    with (folder / "expected" / "standings.csv").open(encoding="utf-8", newline="") as text:
        return list(csv.DictReader(text))


def test_there_is_a_demo_event() -> None:
    assert SHEAVE in FOLDERS


@every_folder
def test_the_script_gives_the_standings_laid_down(folder: Path) -> None:
    assert [_row(row) for row in _standings(load_demo_event(folder))] == _expected(folder)


@every_folder
def test_nothing_is_left_open_or_odd(folder: Path) -> None:
    for team, card in _cards(load_demo_event(folder)).items():
        assert (team, card.undecided, card.anomalies, card.orphans) == (team, 0, (), ())


@every_folder
def test_everybody_marks_what_their_post_watches(folder: Path) -> None:
    demo = load_demo_event(folder)
    book = read_rulebook(demo.event.rulebook)
    placed = {each.person: each for each in demo.placements}
    for entry in demo.entries(base=0):
        placement = placed[entry.by]
        assert entry.post == placement.post
        if isinstance(entry.what, Mark | Breach | Count):
            assert placement.post in book.rules[entry.what.rule].posts
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
    for file, text in sheave_change.scripts():
        assert file.read_text(encoding="utf-8") == text, file.name


# The sums below are made from the script's lines alone, without the engine.


def _lines(team: str) -> list[dict[str, Any]]:
    lines: list[dict[str, Any]] = yaml.safe_load((SHEAVE / "runs" / f"{team}.yaml").read_text())
    taken_back = {line["withdrawal"]["entry"] for line in lines if "withdrawal" in line}
    return [
        line
        for number, line in enumerate(lines, 1)
        if f"sheave-change.{team}.{number:03d}" not in taken_back
    ]


def _failed(lines: Sequence[dict[str, Any]]) -> list[str]:
    marks = [line["mark"] for line in lines if "mark" in line]
    return sorted(mark["rule"] for mark in marks if mark["outcome"] in {"missing", "wrong"})


def _middle_up_to_a_tenth(lines: Sequence[dict[str, Any]]) -> int:
    middle: int
    _, middle, _ = sorted(line["watch"]["elapsed"] for line in lines if "watch" in line)
    return (middle + 99) // 100 * 100


def _of(team: str) -> dict[str, str]:
    name = {"heron": "Grey Heron", "fox": "Copper Fox", "lantern": "Blue Lantern"}[team]
    return next(row for row in _expected(SHEAVE) if row["team"] == name)


def test_grey_heron_added_up_by_hand() -> None:
    lines = _lines("heron")
    assert _middle_up_to_a_tenth(lines) == (29 * 60 + 12) * 1_000 + 400
    # Two callouts at 5 s. The one breach of site manners is a warning.
    assert _failed(lines) == ["first-round", "gear-good"]
    assert [line["breach"]["rule"] for line in lines if "breach" in line] == ["helmet"]
    assert all(line["count"]["count"] == 0 for line in lines if "count" in line)
    expected = _of("heron")
    assert (expected["time"], expected["penalty"], expected["total"]) == (
        "29:12.4",
        str(5 + 5),
        "29:22.4",
    )


def test_copper_fox_added_up_by_hand() -> None:
    lines = _lines("fox")
    assert _middle_up_to_a_tenth(lines) == (26 * 60 + 58) * 1_000 + 700
    callouts = ["hook-seated", "rope-clear", "weight-on"]
    assert _failed(lines) == ["B8", "C3", "D14", "D14", "D16", "D9", *callouts]
    steps = 10 + 10 + 20 + 20 + 5 + 20
    # Two judges marked the same reach under the load within 4 s: one breach, the first of safety.
    breaches = [(line["at"], line["breach"]["rule"]) for line in lines if "breach" in line]
    under = [at for at, rule in breaches if rule == "under-load"]
    assert len(under) == 2
    assert under[1] - under[0] <= 10_000
    # Two people without gloves: site manners, first a warning and then 10 s.
    assert [rule for _, rule in breaches].count("gloves") == 2
    # Three tools are not on the shadow board.
    assert sum(line["count"]["count"] for line in lines if "count" in line) == 3
    # D8 was done before D7, and the head judge upheld it.
    at = {line["mark"]["rule"]: line["at"] for line in lines if "mark" in line}
    assert at["D7"] - at["D8"] > 3_000
    rulings = [line["ruling"] for line in lines if "ruling" in line]
    assert [(each["finding"], each["decision"]) for each in rulings] == [("D8 after/D7", "uphold")]
    penalty = steps + 3 * 5 + 30 + (0 + 10) + 3 * 5 + 15
    expected = _of("fox")
    assert (expected["penalty"], expected["total"]) == (str(penalty), "29:48.7")
    assert 26 * 60 + 58 + penalty == 29 * 60 + 48


def test_blue_lantern_added_up_by_hand() -> None:
    lines = _lines("lantern")
    time = _middle_up_to_a_tenth(lines)
    assert time == (36 * 60 + 41) * 1_000 + 300
    # 1:41.3 over 35 minutes is 102 started seconds.
    over = -(-(time - 35 * 60 * 1_000) // 1_000)
    assert over == 102
    callouts = ["ask-stop", "brake-set", "clear-to-lift", "gear-good", "locks-on", "rope-seated"]
    assert _failed(lines) == sorted(["A11", "A5", "B6", "D2", "E12", "E5", *callouts])
    steps = 5 + 10 + 10 + 20 + 10 + 20
    # 14 tools and 2 scraps at 5 s are 80 s; all returns together are capped at 60 s.
    missing = sum(line["count"]["count"] for line in lines if "count" in line)
    returns = min(missing * 5, 60)
    # One hand between rope and groove, seen by two judges 6 s apart.
    assert [line["breach"]["rule"] for line in lines if "breach" in line] == ["rope-and-groove"] * 2
    penalty = over + 6 * 5 + steps + returns + 30
    expected = _of("lantern")
    assert (expected["penalty"], expected["total"]) == (str(penalty), "41:38.3")
    assert 36 * 60 + 41 + penalty == 41 * 60 + 38


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
    assert decisions == {"uphold", "strike", "change"}
    assert "fewer safety" in {row.broken_by for row in _standings(load_demo_event(SHEAVE))}


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
