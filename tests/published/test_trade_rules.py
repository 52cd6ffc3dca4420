"""Rules that are common practice, no source: each kept and each broken.

What has a value to read or to set is in test_trade_values.py.
"""

from pathlib import Path
from typing import Final

import pytest

from scoring import (
    Doubt,
    Entry,
    Fault,
    Finding,
    Moment,
    Outcome,
    SignalName,
    State,
    read_rulebook,
    score,
)
from tests.scoring.builders import (
    breached,
    marked,
    measured,
    missed,
    moved,
    signalled,
    started,
    stopped,
    upheld,
)

FILE: Final = Path(__file__).parent / "rulebooks" / "trade-rules.yaml"
BOOK: Final = read_rulebook(FILE.read_bytes(), FILE.name)
SECOND: Final = 1_000


def found(*entries: Entry) -> list[Finding]:
    return list(score((started(), stopped(3_000 * SECOND), *entries), BOOK).findings)


def faults(*entries: Entry) -> list[tuple[str, str, Fault, State]]:
    return [
        (each.failure.rule, each.failure.item, each.failure.fault, each.state)
        for each in found(*entries)
    ]


def done(rule: str, at: int, *items: str) -> list[Entry]:
    """One mark for each item, ten seconds apart."""
    return [
        marked(rule, item=item, at=(at + 10 * n) * SECOND) for n, item in enumerate(items or ("",))
    ]


@pytest.mark.parametrize(("took", "cost"), [(300_000, []), (300_001, [5_000])])
def test_the_walkthrough_lasts_five_minutes(took: int, cost: list[int]) -> None:
    walk = signalled(SignalName.WALKTHROUGH, at=-400_000)
    over = signalled(SignalName.WALKTHROUGH_OVER, at=-400_000 + took)
    assert [each.cost for each in found(walk, over)] == cost


ALL: Final = ("L1–L2", "L2–L3", "L1–L3")
CREW: Final = ("lead", "rigger", "fitter", "electrician")
IN_ORDER: Final = (
    *done("live", 0, *ALL),
    *done("open", 60),
    *done("lock", 100, *CREW),
    *done("dead", 200, *ALL[:2]),
    *done("unlock", 900, *CREW),
)


def test_measured_live_then_switched_off_locked_out_and_proved_dead() -> None:
    assert found(*IN_ORDER) == []


def test_a_phase_measured_only_after_the_switch_was_opened_is_out_of_order() -> None:
    live = [*done("live", 0, *ALL[:2]), *done("live", 70, ALL[2])]
    assert faults(*live, *IN_ORDER[3:]) == [
        ("open", "live", Fault.OUT_OF_ORDER, State.PROPOSED),
    ]


def test_proved_dead_before_the_last_lock_hangs_is_out_of_order() -> None:
    late = [*done("lock", 100, *CREW[:3]), *done("lock", 400, CREW[3])]
    entries = [*IN_ORDER[:4], *late, *IN_ORDER[8:]]
    assert faults(*entries) == [("dead", "lock", Fault.OUT_OF_ORDER, State.PROPOSED)]
    [finding] = found(*entries, upheld("dead after/lock"))
    assert finding.cost == 30_000


def test_two_readings_prove_it_dead_and_one_does_not() -> None:
    entries = [*IN_ORDER[:-5], missed("dead", ALL[1], at=999_000), *IN_ORDER[-4:]]
    assert faults(*entries) == [("dead", ALL[1], Fault.NOT_DONE, State.COUNTS)]


def test_each_member_has_a_lock_of_their_own() -> None:
    entries = [each for each in IN_ORDER if "fitter" not in str(each.what)]
    broken = missed("lock", "fitter", at=150 * SECOND)
    assert faults(*entries, broken) == [("lock", "fitter", Fault.NOT_DONE, State.COUNTS)]


def test_the_electricians_lock_comes_off_last() -> None:
    off = done("unlock", 900, "lead", "electrician", "rigger", "fitter")
    [finding] = found(*IN_ORDER[:-4], *off)
    assert (finding.id, finding.failure.margin) == ("unlock last/electrician", 20 * SECOND)
    assert finding.state is State.PROPOSED


def test_nobody_touches_until_locked_out() -> None:
    [early] = found(*IN_ORDER, breached("hands-off", "fitter", at=110 * SECOND))
    assert (early.cost, early.doubts) == (30_000, ())
    [late] = found(*IN_ORDER, breached("hands-off", "fitter", at=250 * SECOND))
    assert late.doubts == (Doubt.OUTSIDE,)


@pytest.mark.parametrize(
    ("seconds", "kept"), [(5_000, True), (6_000, True), (4_999, False), (3_000, False)]
)
def test_a_blow_lasts_five_seconds_counted_aloud(seconds: int, *, kept: bool) -> None:
    expected = [] if kept else [("blow", "", Fault.TOO_SHORT, State.COUNTS)]
    assert faults(measured("blow", seconds)) == expected


def test_three_wipes_are_each_called() -> None:
    assert found(*done("wipe", 0, "1", "2", "3")) == []
    called = *done("wipe", 0, "1", "2"), missed("wipe", "3")
    assert faults(*called) == [("wipe", "3", Fault.NOT_HEARD, State.COUNTS)]


def test_six_holes_are_open_for_a_second_each() -> None:
    def cleared(hole: int, lasted: int) -> list[Entry]:
        begin, item = 10 * hole * SECOND, str(hole)
        return [
            moved("holes", Moment.BEGIN, item, at=begin),
            moved("holes", Moment.END, item, at=begin + lasted),
        ]

    kept = [entry for hole in range(1, 7) for entry in cleared(hole, 1_000)]
    assert found(*kept) == []
    assert faults(*kept[:-2], *cleared(6, 799)) == [("holes", "6", Fault.TOO_SHORT, State.PROPOSED)]
    assert faults(*kept[:-2], missed("holes", "6")) == [
        ("holes", "6", Fault.NOT_DONE, State.COUNTS)
    ]


@pytest.mark.parametrize("rule", ["move-empty", "move-load"])
def test_two_move_the_empty_frame_and_three_with_a_load(rule: str) -> None:
    assert found(marked(rule)) == []
    assert faults(missed(rule)) == [(rule, "", Fault.TOO_FEW, State.COUNTS)]


def test_every_wheel_is_called_locked_or_unlocked_one_by_one() -> None:
    wheels = "front left", "front right", "rear left", "rear right"
    assert found(*done("wheels", 0, *wheels)) == []
    called = *done("wheels", 0, *wheels[:3]), marked("wheels", Outcome.WRONG, wheels[3])
    assert faults(*called) == [("wheels", wheels[3], Fault.WRONG_WORDS, State.COUNTS)]


def test_a_line_that_is_touched_counts_as_outside() -> None:
    assert found(marked("frame")) == []
    assert faults(missed("frame")) == [("frame", "", Fault.OUT_OF_PLACE, State.COUNTS)]
