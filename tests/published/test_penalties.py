"""What failures cost in published rules, and the sums that have been published."""

from typing import Final

import pytest

from scoring import Entry, Outcome, Status, parse_duration
from tests.published.sheets import finished, rulebook, seconds, vectors
from tests.scoring.builders import breached, marked, missed

SCHEDULES: Final = vectors("penalty_schedules.json")

# Canoe slalom: abc.net.au (Rio 2016); docslib.org/doc/3014853 (Tokyo media guide).
SLALOM: Final = rulebook("canoe-slalom")
TOUCH: Final = SCHEDULES["canoe_slalom"]["touch_s"] * 1_000
MISS: Final = SCHEDULES["canoe_slalom"]["missed_gate_s"] * 1_000

# Show jumping, Table C: FEI Art. 239 in the copy of the KNHS.
TABLE_C: Final = SCHEDULES["show_jumping_table_C"]


def test_a_slalom_run_costs_its_time_and_two_seconds_a_touch_and_fifty_a_miss() -> None:
    seen = [
        marked("gate", Outcome.WRONG, "gate 2"),
        marked("gate", Outcome.WRONG, "gate 9"),
        missed("gate", "gate 5"),
        marked("gate", Outcome.GOOD, "gate 6"),
    ]
    card = finished(SLALOM, 98_760, seen=seen)
    assert card.penalty == 2 * TOUCH + MISS == 54_000
    assert card.total == 98_760 + 54_000


def test_a_slalom_gate_touched_twice_is_touched_once() -> None:
    seen = [
        marked("gate", Outcome.WRONG, "gate 2", by="ann", post="bank"),
        marked("gate", Outcome.WRONG, "gate 2", at=900, by="ann", post="bank"),
        marked("gate", Outcome.WRONG, "gate 2", at=400, by="ben", post="bridge"),
    ]
    assert finished(SLALOM, 98_760, seen=seen).penalty == TOUCH


def test_a_slalom_gate_costs_a_touch_or_a_miss_and_never_both() -> None:
    assert SCHEDULES["canoe_slalom"]["max_one_per_gate"]
    seen = [
        marked("gate", Outcome.WRONG, "gate 2", by="ann", post="bank"),
        marked("gate", Outcome.MISSING, "gate 2", at=900, by="ann", post="bank"),
    ]
    assert finished(SLALOM, 98_760, seen=seen).penalty == MISS


def test_a_slalom_time_keeps_its_hundredths() -> None:
    card = finished(SLALOM, 98_769)
    assert card.total == 98_760


@pytest.mark.parametrize(
    ("course", "each"),
    [
        ("table-c-short", TABLE_C["knockdown_s"]),
        ("table-c-long", TABLE_C["knockdown_s"]),
        ("table-c-jump-off", TABLE_C["knockdown_second_phase_or_jump_off_s"]),
    ],
)
def test_table_c_adds_seconds_for_each_knock_down(course: str, each: int) -> None:
    knocked = [missed("obstacle", item) for item in ("3", "4", "11")]
    card = finished(rulebook(course), 71_250, seen=knocked)
    assert card.total == 71_250 + 3 * each * 1_000


def test_table_c_corrects_the_time_for_a_rebuilt_obstacle() -> None:
    card = finished(rulebook("table-c-short"), 71_250, seen=[breached("refusal")])
    assert card.penalty == TABLE_C["refusal_rebuild_time_correction_s"] * 1_000


@pytest.mark.parametrize(
    ("course", "limit"),
    [
        ("table-c-short", TABLE_C["time_limit_s"]["course<600m"]),
        ("table-c-long", TABLE_C["time_limit_s"]["course>600m"]),
    ],
)
def test_table_c_ends_the_rank_over_the_time_limit(course: str, limit: int) -> None:
    book = rulebook(course)
    assert finished(book, limit * 1_000).status is None
    over = finished(book, limit * 1_000 + 10)
    assert (over.status, over.total) == (Status.DID_NOT_FINISH, None)


def test_table_c_eliminates_for_a_fall() -> None:
    card = finished(rulebook("table-c-short"), 71_250, seen=[breached("fall")])
    assert (card.status, card.total) == (Status.DISQUALIFIED, None)
    assert TABLE_C["fall"] == "elimination"


def test_cube_solving_adds_two_seconds_for_each_slip() -> None:
    """WCA Regulations 2024-01-01, A7b1: 17.65 + 4 = 21.65."""
    slips = [breached("plus-two"), breached("plus-two", at=5_000)]
    card = finished(rulebook("cube"), 17_650, seen=slips)
    assert card.penalty == 2 * SCHEDULES["wca"]["penalty_s"] * 1_000
    assert card.total == parse_duration("21.65 s")


def test_cube_solving_carries_the_minute() -> None:
    """WCA Regulations 2024-01-01, H1d+: 59:57 + 2 x 2 = 60:01."""
    slips = [breached("plus-two"), breached("plus-two", at=5_000)]
    card = finished(rulebook("cube-long"), parse_duration("59:57"), seen=slips)
    assert card.total == parse_duration("60:01")


def test_cube_solving_has_not_finished_when_the_limit_is_reached() -> None:
    """WCA Regulations 2024-01-01, A1a4: reaching the limit is too long."""
    book = rulebook("cube")
    assert finished(book, parse_duration("9:59.99")).status is None
    assert finished(book, parse_duration("10:00")).status is Status.DID_NOT_FINISH


@pytest.mark.parametrize(
    ("time", "status"),
    [("9:57.99", None), ("9:58", Status.DID_NOT_FINISH), ("9:59.99", Status.DID_NOT_FINISH)],
)
def test_cube_solving_holds_the_limit_against_the_time_with_slips(
    time: str, status: Status | None
) -> None:
    """WCA Regulations 2024-01-01, A1a5: the result after penalties is compared."""
    card = finished(rulebook("cube"), parse_duration(time), seen=[breached("plus-two")])
    assert card.status is status


def test_a_leak_in_the_tapping_final_costs_four_seconds() -> None:
    """waterworld.com 16208697, final of 2001: 1:08.28 + 4 s = 1:12.28."""
    published = SCHEDULES["awwa_tapping_2001"]
    card = finished(rulebook("tapping"), parse_duration(published["raw"]), seen=[missed("tight")])
    assert card.penalty == published["leak_s"] * 1_000
    assert card.total == parse_duration(published["official"])


@pytest.mark.parametrize(
    ("example", "book", "slips"),
    [
        (vectors("timing_vectors.json")["penalty_examples"][0], "tapping", [missed("tight")]),
        (
            vectors("timing_vectors.json")["penalty_examples"][1],
            "cube",
            [breached("plus-two"), breached("plus-two", at=5_000)],
        ),
    ],
    ids=["tapping", "cube"],
)
def test_a_published_sum_adds_up(example: dict[str, str], book: str, slips: list[Entry]) -> None:
    raw, official = (_time(example[key]) for key in ("raw", "official"))
    card = finished(rulebook(book), raw, seen=slips)
    assert card.penalty == seconds(example["penalty_s"])
    assert card.total == official


def _time(written: str) -> int:
    return parse_duration(written) if ":" in written else seconds(written)
