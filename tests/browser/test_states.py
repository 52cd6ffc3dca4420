"""The parts without a screen: clocks, ids, times, and states that live as they are fetched.

The exchange of four timestamps is that of RFC 5905, section 8; its second case is that of
erratum 5020 to it. The form of an id is that of RFC 9562, section 5.7.
"""

from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Page

from scoring import Control
from tests.browser.server import Server

JS = "/static/js"


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """One server for all of these: nobody signs in."""
    server = Server(tmp_path_factory.mktemp("door")).starts()
    yield f"http://127.0.0.1:{server.port}/"
    server.ends()


@pytest.fixture
def door(address: str, page: Page) -> Page:
    """A page from whose place modules can be loaded."""
    page.goto(address)
    return page


def call(page: Page, module: str, name: str, *arguments: Any) -> Any:
    """What a module's function gives for these arguments."""
    return page.evaluate(
        """async ([module, name, given]) => (await import(module))[name](...given)""",
        [f"{JS}/{module}", name, list(arguments)],
    )


@pytest.mark.parametrize(
    ("four", "offset", "delay"),
    [
        ((100_000, 100_280, 100_285, 100_065), 250, 60),
        ((100_000, 100_050, 100_050, 100_100), 0, 100),
        ((100_000, 100_310, 100_315, 100_065), 280, 60),
        ((100_000, 96_320, 96_321, 100_041), -3_700, 40),
    ],
)
def test_offset_and_delay_come_from_four_timestamps(
    door: Page, four: tuple[int, ...], offset: int, delay: int
) -> None:
    assert call(door, "lib/clock.js", "exchange", *four) == {"offset": offset, "delay": delay}


def test_the_clock_trusts_the_quickest_exchange_and_says_how_far_it_may_be_out(door: Page) -> None:
    told = door.evaluate(
        """async () => {
          const { ServerClock } = await import('/static/js/lib/clock.js')
          let now = 0
          let wall = 1_000_000
          const clock = new ServerClock(() => now, () => wall)
          const unknown = clock.read()
          clock.learn(0, 5_100, 5_100, { came: 200 })
          clock.learn(0, 5_010, 5_010, { came: 20 })
          const known = clock.read(1_000)
          now += 3_600_000
          wall += 3_600_000
          const later = clock.read()
          wall -= 3_600_000
          const set = clock.read()
          return { unknown, known, later, set, strayed: clock.strayed }
        }"""
    )
    assert told["unknown"]["offBy"] == 86_400_000
    assert told["known"] == {"at": 6_000, "offBy": 11}
    # An hour without the server: 15 microseconds a second, the rate that RFC 5905 calls PHI.
    assert told["later"] == {"at": 3_605_000, "offBy": 64}
    # The device's clock was set back an hour: the moment stands, and is not trusted.
    assert told["set"]["at"] == 3_605_000
    assert told["set"]["offBy"] >= told["strayed"] == 3_600_000


def test_an_id_carries_its_moment_and_the_rest_is_random(door: Page) -> None:
    # The time of the example in RFC 9562, appendix A.6.
    ids = [call(door, "lib/ids.js", "newId", 0x017F22E279B0) for _ in range(20)]
    assert len(set(ids)) == 20
    for made in ids:
        assert made.startswith("017f22e2-79b0-7")
        assert made[19] in "89ab"
        assert len(made) == 36


@pytest.mark.parametrize(
    ("digits", "ms"), [("", 0), ("7", 70), ("310742", 1_867_420), ("10000", 60_000)]
)
def test_times_are_keyed_from_the_right(door: Page, digits: str, ms: int) -> None:
    assert call(door, "lib/format.js", "keyed", digits or "0", 2) == ms


@pytest.mark.parametrize(
    ("text", "ms"),
    [("1:30", 90_000), ("12.5", 12_500), ("-0:05", -5_000), ("1:75", None), ("soon", None)],
)
def test_times_are_typed_as_people_write_them(door: Page, text: str, ms: int | None) -> None:
    assert call(door, "lib/format.js", "typedTime", text) == ms


@pytest.mark.parametrize(
    ("ms", "written"), [(0, "0:00.0"), (2_107_499, "35:07.4"), (3_773_200, "1:02:53.2")]
)
def test_times_are_written_without_rounding_up(door: Page, ms: int, written: str) -> None:
    assert call(door, "lib/format.js", "time", ms) == written


@pytest.mark.parametrize(
    ("thousandths", "unit", "written"),
    [
        (12_500, "points", "12.5"),
        (-4_000, "points", "\N{MINUS SIGN}4"),
        (2_500, "seconds", "2.5 s"),
    ],
)
def test_costs_are_written_in_the_unit_of_the_result(
    door: Page, thousandths: int, unit: str, written: str
) -> None:
    assert call(door, "lib/format.js", "cost", thousandths, unit) == written


def test_a_screen_that_was_pushed_to_shows_what_a_fresh_one_shows(door: Page) -> None:
    shown = door.evaluate(
        """async () => {
          const { apply, derive, NOTHING } = await import('/static/js/post/state.js')
          const rule = (id, more = {}) => ({
            id, kind: 'step', control: 'mark', text: id, items: [''], by: ['Lead, who leads'],
            answers: { good: 'done', wrong: 'done wrongly' }, task: 'A', when: [], says: [],
            more: {}, ...more,
          })
          const hello = {
            name: 'hello', me: { person: 'p', post: 'north' }, event: {}, posts: {}, clock: {},
            tasks: [{ id: 'A', title: 'A' }],
            rules: [rule('A1'), rule('A2', { items: ['1', '2'], control: 'tally' }), rule('A3'),
              rule('gloves', { control: 'breach' }), rule('tools', { control: 'count' })],
            runs: [{ id: 'r', bay: 'B', turn: 1, stage: 'running', team: 't' }],
          }
          let n = 0
          const entry = (kind, what, more = {}) => ({
            id: `e${n += 1}`, run: 'r', by: 'p', post: 'north', at: 1_000 * n, off_by: 0,
            kind, what, ...more })
          const entries = [
            entry('signal', { signal: 'start', reason: '' }, { by: 'k', post: 'clock' }),
            entry('mark', { rule: 'A1', outcome: 'good', item: '', timed: true }),
            entry('mark', { rule: 'A2', outcome: 'good', item: '1', timed: true }),
            entry('breach', { rule: 'gloves', whom: '' }),
            entry('mark', { rule: 'A3', outcome: 'wrong', item: '', timed: true }),
            entry('withdrawal', { entry: 'e2', reason: '' }),
            entry('signal', { signal: 'hold', reason: '' }, { by: 'k', post: 'clock' }),
          ]
          const stored = entries.map((each, at) => ({ seq: at + 1, entry: each }))
          const run = hello.runs[0]
          const followed = (from, reached) => ({ name: 'followed', run, entries: from, reached })
          const live = [
            hello,
            followed(stored.slice(0, 1), 1),
            { name: 'kept', waiting: entries.slice(1, 3), refused: [] },
            { name: 'stored', entries: stored.slice(1, 3) },
            { name: 'kept', waiting: [], refused: [] },
            followed(stored.slice(4), 7),
            followed(stored.slice(2, 5), 5),
          ].reduce(apply, NOTHING)
          const fresh = [hello, followed(stored, 7)].reduce(apply, NOTHING)
          const open = state => JSON.stringify(derive(state))
          const empty = apply(NOTHING, hello)
          return { live: open(live), fresh: open(fresh), empty: open(empty) }
        }"""
    )
    assert shown["live"] == shown["fresh"] != shown["empty"]


def test_the_screen_has_every_control_that_a_rule_may_ask_for(door: Page) -> None:
    names = door.evaluate("async () => (await import('/static/js/post/said.js')).CONTROLS")
    assert sorted(names) == sorted(Control)
    shown = door.evaluate(
        """async names => {
          const { controlOf } = await import('/static/js/post/controls/index.js')
          return names.filter(control => controlOf({ control, kind: 'step' })?.main)
        }""",
        names,
    )
    # Breaches have a window of their own.
    assert {*names} - {*shown} == {"breach"}


@pytest.mark.parametrize(
    ("text", "is_good"),
    [
        ("38.4", True),
        ("38.39999", False),
        ("41.6", True),
        ("41.600000001", False),
        ("040", True),
        (".5", False),
        ("-40", False),
        ("", False),
        ("40,0", False),
        ("OL", False),
    ],
)
def test_a_tablet_judges_a_setting_to_the_last_digit(
    door: Page, text: str, *, is_good: bool
) -> None:
    assert call(door, "lib/exact.js", "isBetween", text, "192/5", "208/5") is is_good


def test_a_task_that_was_stopped_asks_nothing_more(door: Page) -> None:
    left = door.evaluate(
        """async () => {
          const { cardsOf } = await import('/static/js/post/state.js')
          const rule = (id, task, more = {}) => ({
            id, kind: 'step', control: 'mark', items: [''], task, when: [], more: {}, ...more })
          const rules = [rule('A1', 'A'), rule('A2', 'A'), rule('B1', 'B'),
            rule('late', null, { kind: 'limit', control: 'clock', more: { task: 'A', cut: true } })]
          const entry = (kind, what, at) => ({ id: `e${at}`, kind, what, at, by: 'p' })
          const live = [entry('mark', { rule: 'A1', outcome: 'good', item: '' }, 1),
            entry('moved', { rule: 'late', moment: 'end', item: '' }, 2)]
          const about = { rules, tasks: [], me: { person: 'p' } }
          const ids = entries => cardsOf(about, entries, { restarted: 0 }, {})
            .filter(card => card.left.length).map(card => card.rule.id)
          return { before: ids(live.slice(0, 1)), after: ids(live) }
        }"""
    )
    assert left == {"before": ["A2", "B1"], "after": ["B1"]}
