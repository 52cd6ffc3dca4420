"""Every screen can be used: by touch, by keyboard and reader, in both themes, at every size."""

import pytest

from tests.browser.conftest import ComeIn
from tests.browser.people import Captain, HeadJudge, Judge, Public, Someone, Timekeeper
from tests.browser.server import Server
from tests.browser.usable import complaints, small, too_wide

SIZES = [(800, 1280), (1024, 768), (390, 844)]


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize(("width", "height"), SIZES)
def test_the_tablets_pass(comes_in: ComeIn, theme: str, width: int, height: int) -> None:
    device = {"width": width, "height": height, "color_scheme": theme}
    timekeeper = comes_in(Timekeeper, "clock-1", **device)
    judge = comes_in(Judge, "lift-1", **device)
    judge.reads("not started")
    run_controls = ":is(.marking, .bar, .signals, .who-strip, .breach-grid, .pad, .watches) button"

    def passes(*people: Someone) -> None:
        for person in people:
            # What axe asks does not change with the size, and takes seconds.
            if width == SIZES[0][0]:
                assert complaints(person, enhanced=True) == []
            assert small(person, 44, "button, a, input, summary, select") == []
            assert small(person, 64, run_controls) == []
            assert too_wide(person) <= 0

    passes(timekeeper, judge)
    timekeeper.starts()
    judge.reads("running")
    for rule in ("B1", "B2", "gear-good"):
        judge.marks(rule)
    judge.page.locator(".card .more").first.click()
    passes(timekeeper, judge)
    judge.button("Breach").click()
    passes(judge)
    judge.page.locator(".breach-choice").first.click()
    passes(judge)
    judge.button("Marks").click()
    passes(judge)
    judge.page.keyboard.press("Escape")
    judge.page.get_by_role("button", name="This tablet").click()
    passes(judge)
    judge.page.keyboard.press("Escape")
    timekeeper.stops()
    judge.reads("answers are open")
    passes(timekeeper, judge)
    judge.page.locator("[data-rule='rack'] .outcome").click()
    passes(judge)


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize(("width", "height"), [(1280, 800), (390, 844)])
def test_the_other_screens_pass(
    played: Server, comes_in: ComeIn, theme: str, width: int, height: int
) -> None:
    assert played.port
    device = {"width": width, "height": height, "color_scheme": theme}
    head = comes_in(HeadJudge, "head", **device)
    head.looks_at("Stone Marten")
    people: list[Someone] = [
        head,
        comes_in(Public, "board", **device),
        comes_in(Captain, "fox-captain", **device),
    ]
    people[1].reads("Official")
    for person in people:
        assert complaints(person) == []
        assert small(person, 44, "button, a, input, summary, select") == []
    head.button("Strike out").first.click()
    assert complaints(head) == []
    head.page.keyboard.press("Escape")
    head.button("Standings").click()
    assert complaints(head) == []
    head.button("Post official").click()
    assert complaints(head) == []


def test_the_board_waits_for_a_posting_and_the_door_says_what_to_do(
    server: Server, comes_in: ComeIn
) -> None:
    board = comes_in(Public, "board")
    board.sees_nothing_posted()
    assert complaints(board) == []
    captain = comes_in(Captain, "fox-captain")
    captain.reads("once standings have been posted")
    assert complaints(captain) == []
    captain.page.goto(f"http://127.0.0.1:{server.port}/out")
    captain.reads("Open the sign-in link you were given")
    assert complaints(captain) == []


def test_the_danger_stop_works_by_keyboard(comes_in: ComeIn) -> None:
    timekeeper = comes_in(Timekeeper, "clock-1")
    judge = comes_in(Judge, "lift-1")
    timekeeper.starts()
    judge.reads("running")
    judge.button("Danger stop").focus()
    judge.page.keyboard.down("Enter")
    judge.page.wait_for_timeout(1_200)
    judge.page.keyboard.up("Enter")
    judge.sees_danger()


def test_a_short_touch_of_the_danger_stop_asks_first(comes_in: ComeIn) -> None:
    timekeeper = comes_in(Timekeeper, "clock-1")
    judge = comes_in(Judge, "lift-1")
    timekeeper.starts()
    judge.reads("running")
    judge.button("Danger stop").click()
    judge.page.keyboard.press("Escape")
    judge.reads("running")
    judge.button("Danger stop").click()
    judge.button("Stop the run now").click()
    judge.sees_danger()


def test_a_left_handed_judge_has_the_breaches_on_the_left(comes_in: ComeIn) -> None:
    judge = comes_in(Judge, "lift-1")
    judge.page.get_by_role("button", name="This tablet").click()
    judge.button("left hand").click()
    judge.page.keyboard.press("Escape")
    breach, undo = (judge.page.locator(each).bounding_box() for each in (".breach", ".undo"))
    assert breach is not None
    assert undo is not None
    assert breach["x"] < undo["x"]
    judge.reloads()
    judge.reads("not started")
    assert "left-handed" in (judge.page.locator("html").get_attribute("class") or "")
