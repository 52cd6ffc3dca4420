"""Every message is answered in one shape, whatever it carries, and the server stays up."""

import ast
import json
import re
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any, Final

import pytest
from websocket import ABNF, WebSocketException

from scoring import encode
from tests.house.tree import ROOT
from tests.web.meet import LARKS, OF_ROLE, PEOPLE, STRANGE, Meet, missed
from tests.web.screens import Screen, Served, now, screen, serving
from web.errors import AppError
from web.live import transport
from web.live.handlers import Desk
from web.live.messages import MESSAGES, answer
from web.services.access import Actor, actor_of

#: What each message carries when all is well.
GOOD: Final[dict[str, dict[str, Any]]] = {
    "hello": {},
    "time": {"sent": 12.5},
    "follow": {"run": LARKS, "since": 0},
    "observe": {"entries": [encode(missed("A1"))]},
    "card": {"run": LARKS},
    "standings": {},
    "publish": {"standing": "provisional", "reason": ""},
    "board": {},
}
#: Values of no message's shape.
ODD: Final[list[Any]] = [None, [], [{}], 0, -1, 1.5, True, "text", "", [[]], {"odd": {}}]


def nested(depth: int) -> Any:
    value: Any = 1
    for _ in range(depth):
        value = [value]
    return value


def ask(meet: Meet, person: str, name: str, *data: object) -> dict[str, Any]:
    """The answer to a person's message, held to the one shape of answers."""
    said = answer(meet.desk, lambda: meet.actor(person), name, *data)
    return in_shape(said)


def in_shape(said: dict[str, Any]) -> dict[str, Any]:
    if said["ok"]:
        assert set(said) == {"ok", "reply"}
        assert isinstance(said["reply"], dict)
    else:
        assert set(said) == {"ok", "error"}
        assert set(said["error"]) == {"code", "says"}
        assert re.fullmatch(r"[a-z_]+", said["error"]["code"])
        assert len(said["error"]["says"]) < 500
    json.dumps(said)
    return said


def test_there_is_an_example_of_every_message() -> None:
    assert set(GOOD) == set(MESSAGES)


@pytest.mark.parametrize("person", OF_ROLE.values())
@pytest.mark.parametrize("name", MESSAGES)
def test_every_message_is_answered_in_one_shape(meet: Meet, name: str, person: str) -> None:
    said = ask(meet, person, name, GOOD[name])
    assert said["ok"] or said["error"]["code"] == "forbidden"
    assert "noise" not in json.dumps(said)


@pytest.mark.parametrize("name", ["gossip", "", "connect", "*", "é" * 500, "hello "])
def test_an_unknown_message_is_answered(meet: Meet, name: str) -> None:
    said = ask(meet, "head", name, {})
    assert said["error"]["code"] == "unknown_message"
    assert name[:40] in said["error"]["says"]


def test_what_the_transport_could_not_read_is_answered(meet: Meet) -> None:
    said = ask(meet, "head", transport.MALFORMED)
    assert said["error"] == {
        "code": "bad_message",
        "says": "That was no message: a name and one mapping are wanted.",
    }


@pytest.mark.parametrize("data", ODD[:-1], ids=repr)
@pytest.mark.parametrize("name", MESSAGES)
def test_a_message_carries_a_mapping(meet: Meet, name: str, data: object) -> None:
    said = ask(meet, "head", name, data)
    assert said["error"]["code"] == "bad_message"
    assert f"'{name}' is not of its shape" in said["error"]["says"]


@pytest.mark.parametrize("name", MESSAGES)
def test_a_message_carries_one_value_only(meet: Meet, name: str) -> None:
    said = ask(meet, "head", name, GOOD[name], GOOD[name])
    assert said["error"]["code"] == "bad_message"
    assert "2 values came" in said["error"]["says"]


@pytest.mark.parametrize("name", MESSAGES)
def test_a_field_too_many_is_named(meet: Meet, name: str) -> None:
    said = ask(meet, "head", name, {**GOOD[name], "gossip": 1})
    assert "gossip: Unknown field." in said["error"]["says"]


@pytest.mark.parametrize(
    ("name", "field"), [(name, field) for name, good in GOOD.items() for field in good]
)
def test_a_field_that_is_missing_is_named_or_has_its_usual_value(
    meet: Meet, name: str, field: str
) -> None:
    rest = {key: value for key, value in GOOD[name].items() if key != field}
    said = ask(meet, "head", name, rest)
    if field in {"since", "reason"}:
        assert said["ok"]
    else:
        assert f"{field}: Missing data" in said["error"]["says"]


@pytest.mark.parametrize("odd", [*ODD, nested(900)], ids=lambda odd: repr(odd)[:20])
@pytest.mark.parametrize(
    ("name", "field"), [(name, field) for name, good in GOOD.items() for field in good]
)
def test_a_field_of_another_type_is_named(meet: Meet, name: str, field: str, odd: object) -> None:
    before = meet.log.since()
    said = ask(meet, "head", name, {**GOOD[name], field: odd})
    fits = {
        "sent": isinstance(odd, int | float) and not isinstance(odd, bool),
        "since": type(odd) is int and odd == 0,
        "reason": isinstance(odd, str),
        "run": odd == "text",
        "entries": odd == [{}],
    }
    if fits.get(field):
        assert said["ok"] or said["error"]["code"] == "not_found"
    else:
        assert said["error"]["code"] == "bad_message"
        assert f"{field}" in said["error"]["says"]
    assert meet.log.since() == before


@pytest.mark.parametrize(
    ("name", "data", "says"),
    [
        ("follow", {"run": "", "since": 0}, "run: Length must be between 1 and 64"),
        ("follow", {"run": "x" * 65}, "run: Length must be between 1 and 64"),
        ("follow", {"run": LARKS, "since": 2**60}, "since: Must be"),
        ("observe", {"entries": []}, "entries: Length must be between 1 and 200"),
        ("observe", {"entries": [{}] * 201}, "entries: Length must be between 1 and 200"),
        ("observe", {"entries": [{}, 7]}, "entries.1: Not a valid mapping"),
        ("publish", {"standing": "final"}, "standing: Must be one of: provisional, official"),
        ("publish", {"standing": "official", "reason": "x" * 501}, "reason: Longer than maximum"),
        ("time", {"sent": float("nan")}, "sent: Special numeric values"),
        ("time", {"sent": 10**400}, "sent: Number too large"),
    ],
)
def test_a_value_beyond_its_bounds_is_told_what_is_allowed(
    meet: Meet, name: str, data: dict[str, Any], says: str
) -> None:
    assert says in ask(meet, "head", name, data)["error"]["says"]


@pytest.mark.parametrize("name", ["follow", "card"])
@pytest.mark.parametrize(
    ("run", "code"), [("nowhere", "not_found"), (STRANGE, "forbidden"), ("\ud83e", "not_found")]
)
def test_a_run_that_is_not_there_is_told(meet: Meet, name: str, run: str, code: str) -> None:
    assert ask(meet, "head", name, {"run": run})["error"]["code"] == code


def test_an_own_mistake_of_the_server_is_answered_too(
    meet: Meet, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def fail(*_: object) -> None:
        raise KeyError("oops")

    monkeypatch.setattr(meet.runs, "standings", fail)
    said = ask(meet, "head", "standings", {})
    assert said["error"]["code"] == "error"
    assert "oops" not in said["error"]["says"]
    assert "oops" in caplog.text


@pytest.mark.parametrize("name", MESSAGES)
def test_nobody_is_answered_once_the_link_is_revoked(meet: Meet, name: str) -> None:
    link = meet.link("head")
    meet.directory.revoke(link, 1)

    def actor() -> Actor:
        return actor_of(meet.directory, link)

    assert isinstance(meet.desk, Desk)
    said = in_shape(answer(meet.desk, actor, name, GOOD[name]))
    assert said["error"]["code"] == "not_signed_in"


def test_a_judges_card_says_only_what_the_own_post_left_open(meet: Meet) -> None:
    meet.send("north-2", missed("A1", by="north-2"))
    for person, rules in (
        ("north-1", {"A1", "A2", "clear"}),
        ("south-1", {"tools"}),
        ("timer", {"ready"}),
    ):
        card = ask(meet, person, "card", {"run": LARKS})["reply"]["scorecard"]
        assert set(card) - {"official"} == {"stage", "questions"}
        assert ("official" in card) == (person == "timer")
        assert {question["rule"] for question in card["questions"]} <= rules
    assert len(ask(meet, "head", "card", {"run": LARKS})["reply"]["scorecard"]["findings"]) == 1


def test_a_finding_names_who_saw_it_from_which_post(meet: Meet) -> None:
    made = missed("A1")
    meet.send("north-1", made)
    card = ask(meet, "head", "card", {"run": LARKS})["reply"]["scorecard"]
    [finding] = card["findings"]
    [stands_on] = finding["stands_on"]
    assert (stands_on["id"], stands_on["post"]) == (made.id, "north")
    assert stands_on["by_name"] == "Name of north-1"


@pytest.fixture(scope="module")
def served(template: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    path = tmp_path_factory.mktemp("messages") / "meet.db"
    path.write_bytes(template.read_bytes())
    with serving(path) as served:
        yield served


def is_up(served: Served) -> bool:
    """Whether the server takes a mark from somebody new."""
    with screen(served, "north-2") as other:
        [result] = other.observe(missed("A1", by="north-2", at=now()))
        return bool(result["ok"])


@pytest.mark.parametrize(
    ("event", "code"),
    [
        ("[]", "bad_message"),
        ("{}", "bad_message"),
        ("[7]", "bad_message"),
        ("[null]", "bad_message"),
        ('["hello"', "bad_message"),
        ('["malformed"]', "bad_message"),
        ('["disconnect"]', "bad_message"),
        ('["gossip",{}]', "unknown_message"),
        ('["follow",null]', "bad_message"),
        ('["follow",{},{}]', "bad_message"),
        ('["follow",' + "[" * 1000 + "]" * 1000 + "]", "bad_message"),
        ('["follow",{"run":' + "[" * 900 + "]" * 900 + "}]", "bad_message"),
        ('["observe",{"entries":[{"id":' + "[" * 900 + "]" * 900 + "}]}]", None),
        ('["time",{"sent":NaN}]', "bad_message"),
        ('["time",{"sent":1e999}]', "bad_message"),
        ('["follow",{"run":"\\ud83e"}]', "not_found"),
    ],
    ids=lambda said: str(said)[:24],
)
def test_whatever_comes_over_the_wire_is_answered(
    served: Served, event: str, code: str | None
) -> None:
    with screen(served, "head") as head:
        said = in_shape(head.ask_raw(event))
        if code is None:
            assert [result["ok"] for result in said["reply"]["results"]] == [False]
        else:
            assert said["error"]["code"] == code
        assert head.ask("time", {"sent": 1})["ok"]


@pytest.mark.parametrize("person", PEOPLE)
def test_every_message_of_everybody_is_answered_over_the_wire(served: Served, person: str) -> None:
    with screen(served, person) as shown:
        for name, data in GOOD.items():
            in_shape(shown.ask(name, data))
    assert is_up(served)


@pytest.mark.parametrize("kind", ["5 MB", "binary", "no packet"])
def test_what_is_no_message_at_all_ends_its_connection_and_no_other(
    served: Served, kind: str
) -> None:
    with screen(served, "north-1") as other:
        odd = Screen(served, "south-1")
        match kind:
            case "5 MB":
                event = json.dumps(["observe", {"entries": [{"id": "x" * 5_000_000}]}])
                with suppress(OSError):  # It may be cut off before all is sent.
                    odd.ws.send(f"421{event}")
            case "binary":
                odd.ws.send(b"\x00\x01", ABNF.OPCODE_BINARY)
            case _:
                odd.ws.send("what?")
        assert is_dropped(odd)
        assert other.ask("hello")["ok"]
    assert is_up(served)


def is_dropped(shown: Screen) -> bool:
    try:
        while True:
            shown.packet()
    except (WebSocketException, OSError):
        return True
    finally:
        shown.ws.shutdown()  # type: ignore[no-untyped-call] # It has no types.


def rows(first: str) -> set[str]:
    """The names that begin the rows of a table of DEVELOPERS.md, by the head of its column."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    table = text.split(f"\n| {first} |")[1].split("\n\n")[0]
    cells = [line.split("|")[1] for line in table.splitlines()[2:]]
    return set(re.findall(r"`(\w+)`", " ".join(cells)))


def test_every_message_has_a_row_in_developers_md() -> None:
    assert rows("message") == set(MESSAGES)


def test_every_push_has_a_row_in_developers_md() -> None:
    source = (ROOT / "web" / "live" / "rooms.py").read_text(encoding="utf-8")
    emitted = re.findall(r'self\._emit[(,]\s*"(\w+)"', source)
    assert emitted
    assert rows("push") == set(emitted)


def own_codes(source: str) -> set[str]:
    """The codes that errors are raised with beside their sentence."""
    calls = (node for node in ast.walk(ast.parse(source)) if isinstance(node, ast.Call))
    return {
        call.args[1].value
        for call in calls
        if isinstance(call.func, ast.Name)
        and call.func.id.endswith("Error")
        and len(call.args) > 1
        and isinstance(call.args[1], ast.Constant)
        and isinstance(call.args[1].value, str)
    }


def tree(error: type[AppError]) -> set[str]:
    """The codes of an error and of all under it."""
    return {error.code}.union(*map(tree, error.__subclasses__()))


def test_every_code_has_a_row_in_developers_md() -> None:
    sources = [path.read_text(encoding="utf-8") for path in (ROOT / "web").rglob("*.py")]
    own = set[str]().union(*map(own_codes, sources))
    assert "undecided" in own
    assert rows("code") == own | tree(AppError) | {"http"}
