"""Each control of the post screen: a judge works it, and the desk sees what it comes to."""

from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import ComeIn, at
from tests.browser.people import HeadJudge, Judge, Marker, Public, Someone, Timekeeper
from tests.browser.server import Server
from tests.browser.usable import complaints, small, too_wide

DESK = {"width": 1280, "height": 800}


def first_run(server: Server) -> str:
    """The run that every screen shows when it comes in."""
    return server.runs()[0]


def findings(server: Server) -> dict[str, dict[str, Any]]:
    """The findings of the first run by the rule each is of, the latest where there are more."""
    found: dict[str, dict[str, Any]] = {
        each["rule"]: each for each in server.card(first_run(server))["findings"]
    }
    return found


def open_questions(server: Server, post_rules: set[str]) -> list[str]:
    """The rules among these of which something is not answered."""
    questions = server.card(first_run(server))["questions"]
    return sorted({each["rule"] for each in questions} & post_rules)


# Held durations.


@at("cliff-rescue")
def test_two_taps_too_close_together_are_proposed_as_too_short(
    server: Server, comes_in: ComeIn
) -> None:
    judge = comes_in(Judge, "ledge")
    judge.begins("C2")
    judge.page.wait_for_timeout(1_100)
    judge.ends("C2")
    judge.has_saved(2)
    finding = findings(server)["C2"]
    assert (finding["fault"], finding["state"]) == ("too short", "proposed")
    assert 7_000 < finding["margin"] < 9_000
    judge.takes_back()
    expect(judge.rule("C2").get_by_role("timer")).to_be_visible()
    judge.has_saved(3)
    assert "C2" not in findings(server)


@at("cliff-rescue")
def test_the_seconds_a_judge_counted_are_keyed_in(server: Server, comes_in: ComeIn) -> None:
    judge = comes_in(Judge, "ledge")
    judge.rule("C2").locator(".more").click()
    judge.taps("C2", "Key the seconds")
    judge.presses("8.5")
    judge.records("It lasted 8.5 s")
    judge.has_saved(1)
    finding = findings(server)["C2"]
    assert (finding["fault"], finding["state"]) == ("too short", "counts")
    assert finding["margin"] == 1_500
    expect(judge.rule("C2").locator(".said")).to_contain_text("8.5 s")


# Faults that may be put right.


@at("cliff-rescue")
def test_what_a_fault_came_to_decides_what_it_costs(comes_in: ComeIn) -> None:
    judge, head = comes_in(Judge, "ledge"), comes_in(HeadJudge, "head", **DESK)
    for outcome, fault, cost in [
        ("Corrected", "corrected when told", "3"),
        ("Not corrected", "not corrected", "15"),
        ("I put it right", "put right by the judge", "15"),
    ]:
        judge.taps("C5", "Tell the crew")
        expect(judge.page.locator(".next .card").first).to_have_attribute("data-rule", "C5")
        judge.reads("told once")
        judge.page.wait_for_timeout(400)
        named = judge.rule("C5").get_by_role("button", name=outcome)
        named.first.click()
        judge.button("Tell the crew").wait_for()
        head.reads(fault)
        found = head.page.locator("[data-finding^='C5']", has_text=fault)
        expect(found.locator(".cost")).to_have_text(cost)
    judge.takes_back()
    judge.reads("told once")


# Conduct with a latch, and what ends a run.


@at("cliff-rescue")
def test_breaches_inside_a_latch_cost_nothing_until_it_is_released(
    server: Server, comes_in: ComeIn
) -> None:
    judge = comes_in(Judge, "top")
    rule = "Both hands stay on the backup line"
    judge.sees_breach(rule)
    judge.reads("Further breaches cost nothing for now.")
    judge.button("Breach").click()
    judge.reads("Costs nothing until: both hands are on it again")
    judge.page.locator(".breach-choice", has_text=rule).click()
    judge.reads("1 so far.")
    judge.has_saved(2)
    assert len(server.card(first_run(server))["findings"]) == 1
    judge.page.locator(".release").click()
    expect(judge.page.locator(".latches")).to_have_count(0)
    judge.sees_breach(rule)
    judge.has_saved(4)
    costs = [each["cost"] for each in server.card(first_run(server))["findings"]]
    assert costs == [20_000, 40_000]


@at("cliff-rescue")
def test_what_ends_a_run_is_set_apart_and_waits_for_the_head_judge(
    server: Server, comes_in: ComeIn
) -> None:
    judge, head = comes_in(Judge, "ledge"), comes_in(HeadJudge, "head", **DESK)
    judge.button("Breach").click()
    expect(judge.page.locator(".enders .breach-choice")).to_contain_text("proposes: disqualified")
    judge.page.locator(".enders .breach-choice").click()
    head.sees_finding("dropped/", "waits for a decision", "ends the run")
    finding = findings(server)["dropped"]
    assert server.card(first_run(server))["status"] is None
    head.upholds(finding["id"], "It fell a metre.")
    head.sees_finding("dropped/", "disqualified")
    assert server.card(first_run(server))["status"] == "disqualified"


# What was drawn, bonuses, information.


@at("cliff-rescue")
def test_a_rule_that_does_not_apply_is_gone_once_the_draw_is_known(comes_in: ComeIn) -> None:
    judge, head = comes_in(Judge, "edge"), comes_in(HeadJudge, "head", **DESK)
    judge.reads("not drawn yet")
    judge.reads("only if side is land side")
    head.gives("side", "sea side")
    judge.reads("sea side")
    expect(judge.rule("land-side")).to_have_count(0)
    expect(judge.rule("sea-side")).to_have_count(1)


@at("cliff-rescue")
def test_a_bonus_is_given_and_the_desk_says_so(server: Server, comes_in: ComeIn) -> None:
    judge, head = comes_in(Judge, "ledge"), comes_in(HeadJudge, "head", **DESK)
    judge.marks("calm")
    head.sees_finding("calm", "given", "12 given")
    assert server.card(first_run(server))["bonus"] == 12_000
    judge.takes_back()
    judge.answers("calm", "not earned")
    expect(head.page.locator("[data-finding='calm']")).to_have_count(0)


@at("cliff-rescue")
def test_what_the_clock_watches_is_shown_and_not_asked(comes_in: ComeIn) -> None:
    judge = comes_in(Judge, "top")
    judge.reads("Watched by the clock, or computed")
    expect(judge.rule("B6")).to_contain_text("Task B may take 7 minutes")
    expect(judge.rule("B6").get_by_role("button")).to_have_count(0)


# Settings, readings, distances, lists.


@at("bakery-relay")
def test_a_setting_is_read_try_by_try(server: Server, comes_in: ComeIn) -> None:
    judge, head = comes_in(Judge, "table"), comes_in(HeadJudge, "head", **DESK)
    judge.reads("0 kg ± 0.005 kg")
    judge.opens_pad("A0")
    judge.presses("0.02")
    judge.records("Try 1 reads 0.02 kg")
    judge.reads("The crew sets it again.")
    judge.has_saved(1)
    assert "A0" not in findings(server)
    judge.opens_pad("A0")
    judge.presses("0.0051")
    judge.records("Try 2 reads 0.0051 kg")
    judge.reads("That was the last try: set it for the crew.")
    head.sees_finding("A0", "out of tolerance", "'0.02', then '0.0051'", "value set by the judge")
    judge.takes_back()
    judge.opens_pad("A0")
    judge.presses("0.005")
    judge.records("Try 2 reads 0.005 kg")
    judge.reads("0.005 kg, good")
    expect(head.page.locator("[data-finding='A0']")).to_have_count(0)
    assert "A0" not in open_questions(server, {"A0"})


@at("bakery-relay")
def test_a_reading_is_copied_as_it_stands(server: Server, comes_in: ComeIn) -> None:
    judge, head = comes_in(Judge, "table"), comes_in(HeadJudge, "head", **DESK)
    judge.copies("flour", "1,3")
    head.sees_finding("flour", "out of tolerance", "'1,3', 0.08 kg outside 1.2 kg ± 20 g")
    for answer, fault in [("Cannot be read", "illegible"), ("Nothing written", "not written")]:
        judge.rule("flour").locator(".more").click()
        judge.taps("flour", answer)
        head.sees_finding("flour", fault)
    judge.rule("flour").locator(".more").click()
    judge.taps("flour", "Key it in")
    judge.button("Something else stands there").click()
    judge.page.locator("dialog input").fill("about a kilo")
    judge.records("Record")
    head.sees_finding("flour", "'about a kilo' is no number in kg", "waits for a decision")
    assert server.entries(first_run(server))[0]["what"] == {
        "rule": "flour",
        "value": "1,3",
        "item": "",
        "legible": True,
    }


@at("bakery-relay")
def test_a_reading_is_held_against_what_the_desk_gives(server: Server, comes_in: ComeIn) -> None:
    judge, head = comes_in(Judge, "oven"), comes_in(HeadJudge, "head", **DESK)
    judge.opens_pad("heat")
    judge.presses("190")
    judge.records("Record")
    judge.has_saved(1)
    assert open_questions(server, {"heat"}) == ["heat"]
    head.gives("oven", "230")
    head.sees_finding("heat", "'190', 25 °C outside 230 °C ± 15 °C")
    assert open_questions(server, {"heat", "given oven"}) == []
    assert "230" not in judge.page.locator("body").inner_text()


@at("bakery-relay")
def test_an_open_circuit_is_keyed_by_a_key_of_its_own(server: Server, comes_in: ComeIn) -> None:
    judge = comes_in(Judge, "oven")
    judge.opens_pad("heat")
    judge.page.get_by_role("button", name="open circuit").click()
    judge.records("Record")
    judge.has_saved(1)
    assert server.entries(first_run(server))[0]["what"]["value"] == "OL"


@at("bakery-relay")
def test_a_distance_is_measured_or_the_thing_is_in_place(server: Server, comes_in: ComeIn) -> None:
    judge = comes_in(Judge, "table")
    judge.reads("At the end")
    judge.opens_pad("B2")
    judge.presses("3.5")
    judge.records("Out by 3.5 cm")
    judge.opens_pad("B3")
    judge.presses("6")
    judge.records("Out by 6 cm")
    judge.has_saved(2)
    found = findings(server)
    assert (found["B2"]["detail"], found["B2"]["cost"]) == ("3.5 cm", 3_000)
    assert (found["B3"]["detail"], found["B3"]["cost"]) == ("6 cm", 8_000)
    judge.answers("B3", "in place")
    judge.has_saved(3)
    assert "B3" not in findings(server)


@at("bakery-relay")
def test_a_list_is_all_back_but_for_what_is_missing(server: Server, comes_in: ComeIn) -> None:
    judge = comes_in(Judge, "table")
    judge.marks("tools")
    expect(judge.rule("tools").locator(".said")).to_contain_text("back all 5")
    judge.rule("tools").locator(".more").click()
    judge.rule("tools").get_by_role("button", name="peel").click()
    judge.taps("tools", "missing")
    judge.has_saved(2)
    assert (findings(server)["tools"]["item"], findings(server)["tools"]["count"]) == ("peel", 1)


# The close-out, and what is left to the desk.


@at("bakery-relay")
def test_a_close_out_can_answer_every_control_and_leaves_nothing_open(
    server: Server, comes_in: ComeIn
) -> None:
    timekeeper, judge = comes_in(Timekeeper, "clock"), comes_in(Judge, "table")
    timekeeper.starts()
    judge.reads("running")
    timekeeper.stops()
    judge.reads("answers are open")
    judge.button("All the rest were done").click()
    judge.reads("What is keyed, counted or given stays open.")
    judge.button("Yes, I saw them done").click()
    judge.taps("A0", "Read it: try 1 of 2")
    judge.presses("0")
    judge.records("Try 1 reads 0 kg")
    judge.taps("flour", "Nothing written")
    judge.taps("A3", "Key the seconds")
    judge.presses("60")
    judge.records("It lasted 60 s")
    judge.taps("B2", "in place")
    judge.taps("B3", "Measure")
    judge.presses("1")
    judge.records("Out by 1 cm")
    judge.taps("even", "not earned")
    judge.taps("tools", "all 5: back")
    judge.reads("Everything is answered")
    judge.closes_out()
    judge.reads("White Ash")
    judge.has_saved(0)
    own = {each["rule"] for each in server.card(first_run(server))["questions"]}
    assert own & {"A0", "flour", "A3", "B1", "B2", "B3", "even", "tools"} == set()


@at("cliff-rescue")
def test_the_head_judge_answers_what_nobody_saw(server: Server, comes_in: ComeIn) -> None:
    timekeeper, judge = comes_in(Timekeeper, "clock"), comes_in(Judge, "ledge")
    timekeeper.starts()
    judge.reads("running")
    judge.taps("C5", "Tell the crew")
    judge.reads("told once")
    timekeeper.stops()
    judge.reads("answers are open")
    judge.closes_out()
    head = comes_in(HeadJudge, "head", **DESK)
    head.reads("Nobody saw these: you answer")
    head.answers("C1", "not done")
    head.sees_finding("C1", "not done", "Una Skerry")
    head.answers("C5", "Corrected")
    head.sees_finding("C5/", "corrected when told")
    head.page.locator(".questions [data-rule='C2']").get_by_role(
        "button", name="Key the seconds"
    ).click()
    for key in ("1", "0"):
        head.page.locator(".pad").get_by_role("button", name=key, exact=True).click()
    head.button("It lasted 10 s").click()
    expect(head.page.locator(".questions [data-rule='C2']")).to_have_count(0)
    head.page.locator(".questions [data-rule='C4']").get_by_role("button", name="all 4").click()
    for rule, answer in (("C3", "done"), ("breathing", "heard"), ("calm", "earned")):
        head.answers(rule, answer)
    expect(head.page.locator(".questions .question")).to_have_count(0)
    assert not [each for each in server.card(first_run(server))["questions"] if each["unseen"]]


# Assessments.


@at("anchor-assessment")
def test_an_assessor_closes_out_and_signs_what_it_came_to(server: Server, comes_in: ComeIn) -> None:
    clock = comes_in(Timekeeper, "assessor, timekeeper")
    judge = comes_in(Judge, "assessor, judge")
    head = comes_in(HeadJudge, "head", **DESK)
    head.gives("today", "3.5.2026")
    clock.starts()
    judge.reads("running")
    judge.copies("date", "3/5/26")
    judge.opens_pad("initials")
    judge.page.locator("dialog input").fill("O. F.")
    judge.records("Record")
    judge.opens_pad("sheet-signed")
    judge.button("There is a signature").click()
    clock.stops()
    clock.keys(1, "61234")
    judge.reads("answers are open")
    judge.button("All the rest were done").click()
    judge.button("Yes, I saw them done").click()
    judge.taps("angle", "Key it in")
    judge.presses("72")
    judge.records("Record")
    judge.taps("wrench", "Read it")
    judge.presses("41.6")
    judge.records("Try 1 reads")
    judge.taps("load", "long enough")
    judge.taps("kit", "Count")
    judge.button("None is missing").click()
    judge.closes_out()
    judge.reads("not yet")
    judge.reads("To be shown again: angle")
    judge.button("Sign: not yet").click()
    judge.reads("Teo Marram")
    head.reads("signed as not yet")
    card = server.card(first_run(server))
    assert card["outcome"] == "not yet"
    assert card["undecided"] == 0
    head.button("Standings").click()
    expect(head.page.locator("thead")).to_contain_text("Outcome")
    expect(head.page.locator("tbody tr", has_text="Orla Fennick")).to_contain_text("not yet")


# Points and assessments before the public.


@at("cliff-rescue")
def test_the_board_shows_points(played: Server, comes_in: ComeIn) -> None:
    board = comes_in(Public, "board", width=1920, height=1080)
    best = played.standings()[0]
    board.sees(best["team_name"], f"{best['total'] / 1000:g}")
    assert complaints(board) == []
    head = comes_in(HeadJudge, "head", **DESK)
    head.button("Standings").click()
    slow = next(row for row in played.standings() if row["time_cost"])
    expect(head.page.locator("tbody tr", has_text=slow["team_name"])).to_contain_text(
        f"{slow['time_cost'] / 1000:g} for time"
    )


# Everything can be touched, read and heard.

#: Every control that a judge uses while a run goes on.
RUN_CONTROLS = (
    ":is(.marking, .bar, .who-strip, .latches, .breach-grid, .pad, .sheet .outcomes) button"
)


def passes(person: Someone, width: int) -> None:
    """What must hold of every state of a judge's screen."""
    if width == 800:
        assert complaints(person, enhanced=True) == []
    assert small(person, 44, "button, a, input, summary, select") == []
    assert small(person, 64, RUN_CONTROLS) == []
    assert too_wide(person) <= 0


def each_state(judge: Marker, *steps: Callable[[], object]) -> None:
    """Go through the states of a screen and look at each."""
    width = judge.page.viewport_size["width"] if judge.page.viewport_size else 0
    for step in steps:
        step()
        passes(judge, width)


def escapes(page: Page) -> Callable[[], None]:
    """Close the window that is open."""

    def close() -> None:
        page.keyboard.press("Escape")
        expect(page.locator("dialog")).to_have_count(0)

    return close


LOOKS = [
    (size, theme) for size in ((800, 1280), (1280, 800), (390, 844)) for theme in ("light", "dark")
]


@pytest.mark.parametrize(("size", "theme"), LOOKS)
@at("cliff-rescue")
def test_the_states_of_a_rescue_pass(
    server: Server, comes_in: ComeIn, size: tuple[int, int], theme: str
) -> None:
    assert server.port
    device = {"width": size[0], "height": size[1], "color_scheme": theme}
    judge = comes_in(Judge, "ledge", **device)
    each_state(
        judge,
        lambda: judge.begins("C2"),
        lambda: judge.taps("C5", "Tell the crew"),
        lambda: judge.reads("told once"),
        judge.rule("C2").locator(".more").click,
        lambda: judge.taps("C2", "Key the seconds"),
        escapes(judge.page),
        judge.button("Breach").click,
        judge.page.locator(".enders .breach-choice").click,
    )
    top = comes_in(Judge, "top", **device)
    each_state(
        top,
        lambda: top.sees_breach("Both hands stay on the backup line"),
        top.button("Breach").click,
    )


@pytest.mark.parametrize(("size", "theme"), LOOKS)
@at("bakery-relay")
def test_the_states_of_a_relay_pass(
    server: Server, comes_in: ComeIn, size: tuple[int, int], theme: str
) -> None:
    assert server.port
    device = {"width": size[0], "height": size[1], "color_scheme": theme}
    judge, timekeeper = comes_in(Judge, "table", **device), comes_in(Timekeeper, "clock")

    def reads_once() -> None:
        judge.presses("0.02")
        judge.records("Try 1 reads")

    def is_over() -> None:
        timekeeper.starts()
        judge.reads("running")
        timekeeper.stops()
        judge.reads("answers are open")

    each_state(
        judge,
        lambda: judge.opens_pad("A0"),
        reads_once,
        lambda: judge.opens_pad("flour"),
        judge.button("Something else stands there").click,
        escapes(judge.page),
        judge.rule("flour").locator(".more").click,
        lambda: judge.opens_pad("B2"),
        escapes(judge.page),
        is_over,
    )
    head = comes_in(HeadJudge, "head", **device)
    head.button("Give oven").click()
    assert complaints(head) == []
    head.page.keyboard.press("Escape")
    judge.closes_out()
    head.reads("Nobody saw these: you answer")
    assert complaints(head) == []
    assert small(head, 44, "button, a, input, summary, select") == []
    assert too_wide(head) <= 0
