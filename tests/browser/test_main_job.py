"""From a judge's touch to the captain's workbook, through real screens and a real server."""

from pathlib import Path

from openpyxl import load_workbook

from tests.browser.conftest import ComeIn
from tests.browser.people import SETTLING, Captain, HeadJudge, Judge, Public, Timekeeper
from tests.browser.server import DAY, Server


def _run_of(team: str) -> str:
    return next(run.plan.id for run in DAY.runs if run.plan.team == team)


def test_a_judges_mark_reaches_the_board_and_the_captains_workbook(
    server: Server, comes_in: ComeIn, tmp_path: Path
) -> None:
    run = _run_of("fox")
    board = comes_in(Public, "board", width=1920, height=1080)
    board.sees_nothing_posted()
    timekeeper = comes_in(Timekeeper, "clock-2")
    judge = comes_in(Judge, "power-2")
    for person in (timekeeper, judge):
        person.goes_to("Copper Fox")

    timekeeper.hears("crew-ready")
    timekeeper.starts()
    judge.expects("A1", "ask-stop", "A2")
    judge.marks("A1")
    judge.hears("ask-stop")
    judge.answers("A2", "done wrongly")
    judge.sees_breach("Nobody outside the crew gives advice")
    judge.has_saved(4)
    timekeeper.stops()
    timekeeper.keys(1, "3101")
    timekeeper.keys(2, "3109")
    timekeeper.keys(3, "3105")
    timekeeper.reads("Official time 0:31.1")
    for person, link in ((timekeeper, ""), (judge, ""), (None, "lift-2"), (None, "bench-2")):
        closing = person or comes_in(Judge, link)
        if person is None:
            closing.goes_to("Copper Fox")
        closing.closes_out()

    head = comes_in(HeadJudge, "head", width=1280, height=800)
    head.looks_at("Copper Fox")
    assert "A2" in head.finding("A2").inner_text()
    head.reads("Nessa Quill")
    head.upholds("A2", "The desk's key was still in run.")
    head.posts("provisional")
    board.sees("Copper Fox", "0:41.1")

    card = server.card(run)
    assert card["official"]["time"] == 31_100
    assert (card["penalty"], card["total"]) == (10_000, 41_100)
    captain = comes_in(Captain, "fox-captain")
    captain.reads("Copper Fox")
    workbook = load_workbook(captain.takes_the_workbook(tmp_path))
    findings = [row for row in workbook["Findings"].iter_rows(values_only=True) if "A2" in row]
    assert len(findings) == 1
    assert any("Nessa Quill" in str(cell) for cell in findings[0])
    assert any("The desk's key was still in run." in str(cell) for cell in findings[0])

    head.looks_at("Copper Fox")
    head.strikes_out("A2", "The video shows the key at off.")
    head.posts("official", "Demo.")
    board.sees("Copper Fox", "0:31.1")
    assert server.card(run)["total"] == 31_100
    for person in (board, timekeeper, judge, head, captain):
        assert person.complaints == []


def test_a_danger_stop_on_one_tablet_holds_the_clock_on_all(
    server: Server, comes_in: ComeIn
) -> None:
    timekeeper = comes_in(Timekeeper, "clock-1")
    judge = comes_in(Judge, "lift-1")
    other = comes_in(Judge, "power-1")
    head = comes_in(HeadJudge, "head", width=1280, height=800)
    timekeeper.starts()
    for person in (judge, other):
        person.reads("running")
    judge.stops_for_danger()
    for person in (judge, other, timekeeper):
        person.sees_danger()
    head.reads("the clock is held")
    timekeeper.resumes()
    other.reads("running")
    assert len(server.card(_run_of("heron"))["dangers"]) == 1


def test_a_hold_is_taken_out_of_the_time_and_says_why(server: Server, comes_in: ComeIn) -> None:
    timekeeper = comes_in(Timekeeper, "clock-1")
    timekeeper.starts()
    timekeeper.holds("weather")
    timekeeper.page.wait_for_timeout(700)
    timekeeper.resumes()
    timekeeper.stops()
    timekeeper.has_saved(6)
    signals = [
        each["what"] for each in server.entries(_run_of("heron")) if each["kind"] == "signal"
    ]
    assert {"signal": "hold", "reason": "weather"} in signals
    official = server.card(_run_of("heron"))["official"]
    assert official["back"] >= 700


def test_a_false_touch_is_undone_and_a_breach_is_given_a_name(
    server: Server, comes_in: ComeIn
) -> None:
    timekeeper = comes_in(Timekeeper, "clock-1")
    judge = comes_in(Judge, "lift-1")
    timekeeper.starts()
    judge.reads("running")
    judge.marks("B1")
    judge.expects("B2", "gear-good", "B3")
    judge.takes_back()
    judge.expects("B1", "B2", "gear-good")
    judge.sees_breach("wears a helmet")
    judge.names("Fitter")
    judge.has_saved(5)
    run = _run_of("heron")
    (finding,) = server.card(run)["findings"]
    assert (finding["rule"], finding["item"]) == ("helmet", "Fitter")
    kept = [each for each in server.entries(run) if each["kind"] == "breach"]
    assert [each["what"]["whom"] for each in kept] == ["", "Fitter"]
    assert kept[0]["at"] == kept[1]["at"]


def test_a_second_touch_in_haste_marks_nothing_that_has_just_moved_up(comes_in: ComeIn) -> None:
    judge = comes_in(Judge, "power-1")
    judge.reads("not started")
    judge.page.wait_for_timeout(SETTLING)
    judge.page.evaluate(
        """() => new Promise(done => {
          const touch = () => document.querySelector('.next .yes').click()
          const first = document.querySelector('.next .card').dataset.rule
          new MutationObserver((_, watcher) => {
            if (document.querySelector('.next .card').dataset.rule === first) return
            watcher.disconnect()
            touch()
            done()
          }).observe(document.body, { subtree: true, childList: true })
          touch()
        })"""
    )
    judge.reads("not marked")
    judge.has_saved(1)
    judge.marks("ask-stop")
    judge.has_saved(2)


def test_what_the_crew_passed_over_stays_one_touch_away(comes_in: ComeIn) -> None:
    judge = comes_in(Judge, "power-1")
    judge.expects("A1", "ask-stop", "A2")
    judge.marks("stopped")
    judge.expects("A1", "ask-stop", "A2")
    judge.marks("A3")
    judge.expects("A4", "brake-set", "A5")
    judge.reads("Passed over")
    judge.marks("ask-stop")
    judge.marks("A1")
    judge.marks("A2")
    judge.has_saved(5)
    judge.expects("A4", "brake-set", "A5")


def test_no_judge_sees_the_desk_and_no_one_the_marks_of_another_post(comes_in: ComeIn) -> None:
    judge = comes_in(Judge, "lift-1")
    judge.reads("Rigging and lift")
    assert judge.page.locator("[data-rule='A1']").count() == 0
    judge.page.goto(judge.page.url.replace("/post", "/desk"))
    judge.reads("That did not work")
