"""Whole published tables, scored from their raw figures to their totals and places."""

from typing import Final

from scoring import (
    Entrant,
    Given,
    Rulebook,
    Scorecard,
    Standing,
    TeamId,
    parse_duration,
    rank,
    score,
)
from tests.published.sheets import (
    disagreements,
    finished,
    places,
    rulebook,
    seconds,
    stayed_away,
    table,
)
from tests.scoring.builders import closed, counted, entry

# Biathlon at the 1999 Asian Winter Games, individual: WikiTableQuestions csv/203-csv/441.
BIATHLON: Final = rulebook("biathlon")
SKIERS: Final = table("biathlon_individual_1999.csv")

# 2006 World Equestrian Games, individual, round 3b: TabFact 2-11939305-6.
JUMPING: Final = rulebook("show-jumping")
RIDERS: Final = table("show_jumping_2006_round3b.csv")

# Single-shot running deer, 1924: WikiTableQuestions csv/203-csv/852.
DEER: Final = rulebook("running-deer")
DEER_TEAMS: Final = rulebook("running-deer-team")
SHOTS: Final = [row for row in table("running_deer_1924_ties.csv") if row["is_team"] == "False"]
TEAMS: Final = [row for row in table("running_deer_1924_ties.csv") if row["is_team"] == "True"]


def _skied(row: dict[str, str]) -> Scorecard:
    missed = [
        counted(f"stage-{stage}", int(misses))
        for stage, misses in enumerate(row["misses"].split("+"), 1)
    ]
    return finished(BIATHLON, parse_duration(row["ski_time"]), seen=missed)


def _rode(row: dict[str, str]) -> Scorecard:
    if row["status"] == "DNS":
        return stayed_away(JUMPING)
    knocked = counted("obstacles", int(row["round_3b_faults"]) // 4)
    carried = entry(Given("carried", row["carried_points"]))
    return score([carried, knocked, closed("course")], JUMPING)


def _shot(row: dict[str, str], rules: Rulebook = DEER) -> Scorecard:
    worth_less = ("n4", "n3", "n2", "n1", "n0")
    counts = [counted(rule, int(row[rule])) for rule in worth_less]
    return score([*counts, closed("butts")], rules)


def test_biathlon_totals_are_the_published_ones() -> None:
    cards = {row["entry"]: _skied(row) for row in SKIERS}
    published = {row["entry"]: parse_duration(row["total"]) for row in SKIERS}
    assert len(cards) == 16
    assert disagreements(cards, published) == {}


def test_biathlon_places_are_the_published_ones_with_the_shared_ninth() -> None:
    found = places({row["entry"]: _skied(row) for row in SKIERS}, BIATHLON)
    assert found == {row["entry"]: int(row["rank"]) for row in SKIERS}
    assert sorted(filter(None, found.values()))[7:11] == [8, 9, 9, 11]


def test_the_fastest_skier_is_third() -> None:
    cards = {row["entry"]: _skied(row) for row in SKIERS}
    raw = {name: card.official.time for name, card in cards.items() if card.official is not None}
    fastest = min(raw, key=lambda name: raw[name])
    assert places(cards, BIATHLON)[fastest] == 3


def test_a_published_total_that_does_not_add_up_is_flagged_and_not_followed() -> None:
    cards = {row["entry"]: _skied(row) for row in SKIERS}
    published = {row["entry"]: parse_duration(row["total"]) for row in SKIERS}
    right = published["KOR1"]
    published["KOR1"] += 60_000
    assert disagreements(cards, published) == {"KOR1": (right + 60_000, right)}


def test_show_jumping_sums_are_the_published_ones() -> None:
    cards = {row["entry"]: _rode(row) for row in RIDERS}
    published = {
        row["entry"]: seconds(row["total"]) if row["status"] == "OK" else None for row in RIDERS
    }
    assert sum(card.total is not None for card in cards.values()) == 22
    assert disagreements(cards, published) == {}


def test_show_jumping_is_ranked_in_the_published_order_and_who_stayed_away_is_not() -> None:
    found = places({row["entry"]: _rode(row) for row in RIDERS}, JUMPING)
    rode = [row["entry"] for row in RIDERS if row["status"] == "OK"]
    # The published table is in order of the total, and no two totals are alike.
    assert [found[name] for name in rode] == list(range(1, 23))
    assert (found["E23"], found["E24"]) == (None, None)


def test_running_deer_points_are_the_published_ones() -> None:
    cards = {row["entry"]: _shot(row) for row in SHOTS}
    published = {row["entry"]: 1_000 * int(row["total"]) for row in SHOTS}
    assert disagreements(cards, published) == {}


def test_running_deer_places_are_the_published_ones_with_all_their_ties() -> None:
    found = places({row["entry"]: _shot(row) for row in SHOTS}, DEER)
    assert found == {row["entry"]: int(row["rank_individual"]) for row in SHOTS}
    assert len(set(found.values())) < len(found) == 25


def _teams() -> tuple[Standing, ...]:
    shooters = [
        (Entrant(TeamId(row["entry"][:3]), row["entry"][:3]), _shot(row, DEER_TEAMS))
        for row in SHOTS
    ]
    return rank(shooters, DEER_TEAMS)


def test_running_deer_team_totals_are_the_published_sums() -> None:
    found = {row.entrant.team: row.scorecard.total for row in _teams()}
    published = {row["entry"]: 1_000 * int(row["total"]) for row in TEAMS}
    # One shooter alone is no team: the table gives the sum, but no place.
    assert published.pop("TCH") == 33_000
    assert found.pop(TeamId("TCH")) is None
    assert found == published


def test_running_deer_team_places_are_the_published_ones() -> None:
    found = {row.entrant.team: row.place for row in _teams()}
    assert found == {
        row["entry"]: int(row["place"]) if row["place"].isdigit() else None for row in TEAMS
    }
