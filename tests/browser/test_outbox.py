"""A mark once shown as saved is never lost: not by a dead server, a reload or a closed tab."""

from collections import Counter

from playwright.sync_api import expect

from tests.browser.conftest import ComeIn
from tests.browser.people import SETTLING, Judge
from tests.browser.server import DAY, Server

HERON = next(run.plan.id for run in DAY.runs if run.plan.team == "heron")
TOUCHED = ["A1", "ask-stop", "A2", "stopped", "A3", "A4"]


def _on_record(server: Server) -> Counter[str]:
    return Counter(each["what"]["rule"] for each in server.entries(HERON) if each["kind"] == "mark")


def test_marks_made_under_a_dead_server_arrive_once_it_is_back(
    server: Server, comes_in: ComeIn
) -> None:
    judge = comes_in(Judge, "power-1")
    judge.marks("A1")
    judge.has_saved(1)
    server.is_killed()
    for n, rule in enumerate(TOUCHED[1:], 1):
        judge.marks(rule)
        judge.has_saved(n + 1, waiting=n)
    judge.reads("no connection")
    server.starts()
    judge.has_saved(len(TOUCHED))
    judge.reads("connected")
    assert _on_record(server) == Counter(TOUCHED)


def test_marks_outlive_a_reload_under_a_dead_server(server: Server, comes_in: ComeIn) -> None:
    judge = comes_in(Judge, "power-1")
    judge.reads("not started")
    server.is_killed()
    for n, rule in enumerate(TOUCHED, 1):
        judge.marks(rule)
        judge.has_saved(n, waiting=n)
    # The page is gone; what it had kept is not.
    judge.page.goto("about:blank")
    server.starts()
    judge.page.goto(server.links["power-1"])
    judge.has_saved(len(TOUCHED))
    judge.expects("brake-set", "A5", "A6")
    assert _on_record(server) == Counter(TOUCHED)


def test_two_tabs_of_one_tablet_send_each_mark_once(server: Server, comes_in: ComeIn) -> None:
    judge = comes_in(Judge, "power-1")
    judge.reads("connected")
    second = judge.page.context.new_page()
    second.goto(server.links["power-1"])
    expect(second.locator(".link")).to_have_text("connected")
    server.is_killed()
    judge.marks("A1")
    judge.has_saved(1, waiting=1)
    second.wait_for_timeout(SETTLING)
    second.locator("[data-rule='ask-stop'] .yes").click()
    judge.has_saved(2, waiting=2)
    server.starts()
    judge.has_saved(2)
    assert _on_record(server) == Counter(["A1", "ask-stop"])


def test_a_refused_mark_is_set_aside_and_shown(server: Server, comes_in: ComeIn) -> None:
    judge = comes_in(Judge, "power-1")
    judge.reads("not started")
    # A rule of another post, as a tablet with a wrong edition might send it.
    judge.page.evaluate(
        """async ([run, person]) => {
          const { Outbox } = await import('/static/js/lib/outbox.js')
          const { entry } = await import('/static/js/lib/entries.js')
          const box = await Outbox.open()
          const when = { at: Date.now(), offBy: 0 }
          const what = { rule: 'B1', outcome: 'good', item: '', timed: true }
          await box.add([entry({ person, post: 'power' }, run, when, 'mark', what)])
        }""",
        [HERON, "power-1"],
    )
    judge.reads("1 refused")
    judge.reloads()
    judge.reads("1 refused")
    judge.marks("A1")
    judge.page.get_by_role("button", name="This tablet").click()
    judge.reads("is not watched by your post")
    assert _on_record(server) == Counter(["A1"])


def test_a_mark_that_the_device_cannot_keep_is_not_called_saved(comes_in: ComeIn) -> None:
    judge = comes_in(Judge, "power-1")
    judge.reads("not started")
    judge.page.evaluate(
        "() => { IDBObjectStore.prototype.add = () => { throw new DOMException('disk full') } }"
    )
    judge.marks("A1")
    judge.reads("NOT SAVED")
    judge.has_saved(0)
