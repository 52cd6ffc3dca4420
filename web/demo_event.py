"""Demo events: who takes part, and the script of the day, read from a folder.

An event's folder holds `event.yaml`, which names the rulebook, the teams, the people and the runs
in the order of the day, and `runs/<team>.yaml` with one entry a line, in the engine's own form,
timed in milliseconds from the beginning of that run. Who has two places stands among the people
twice. A meet's folder holds `meet.yaml`, as any meet has, and a folder for each of its events.
"""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

import yaml
from marshmallow import Schema, ValidationError, fields, validate

from scoring import (
    SHAPE,
    DurationError,
    Entry,
    EntryError,
    Meet,
    PersonId,
    PostId,
    RunId,
    TeamId,
    decode,
    parse_duration,
)
from web.data import rulebooks_folder
from web.errors import RefusedError
from web.meet_file import load_meet
from web.values import Event, Person, Placement, Role, RunPlan, Team

_KEYS: Final = frozenset({"at", "by", "post"})


@dataclass(frozen=True, slots=True)
class DemoRun:
    """A run and its script: entries in order, timed in milliseconds from the day's beginning."""

    plan: RunPlan
    script: tuple[Entry, ...]


@dataclass(frozen=True, slots=True)
class DemoEvent:
    """A day that can be played."""

    event: Event
    teams: tuple[Team, ...]
    people: tuple[Person, ...]
    placements: tuple[Placement, ...]
    runs: tuple[DemoRun, ...]

    def entries(self, base: int) -> list[Entry]:
        """Every entry of a day that begins `base` milliseconds after 1970, in order of time."""
        timed = [replace(entry, at=base + entry.at) for run in self.runs for entry in run.script]
        return sorted(timed, key=lambda entry: entry.when)


@dataclass(frozen=True, slots=True)
class Demo:
    """What a demo folder holds: the days of a meet in their order, or one event without a meet."""

    days: tuple[DemoEvent, ...]
    meet: Meet | None = None


def load_demo(folder: Path) -> Demo:
    """The demo of a folder: an event, or a meet with a folder for each of its events.

    Raises `RefusedError` as `load_demo_event` does, and `MeetError`.
    """
    file = folder / "meet.yaml"
    if not file.is_file():
        return Demo((load_demo_event(folder),))
    meet = load_meet(file)
    days = tuple(load_demo_event(folder / event) for event in meet.events)
    for event, day in zip(meet.events.values(), days, strict=True):
        if (day.event.id, day.event.hash) != (event.id, event.rulebook.hash):
            raise RefusedError(f"{folder / event.id}: this is not the event of {file}.")
    return Demo(days, meet)


def load_demo_event(folder: Path, *, played: bool = True) -> DemoEvent:
    """The demo event of a folder; its event opens at 0.

    An event that is not `played` has no scripts, and may have its rulebook beside `event.yaml`.
    Raises `RefusedError` where a file is missing or does not say what it must.
    """
    written = _load(_EventSchema(), _read(folder / "event.yaml"), folder / "event.yaml")
    own = folder / written["rulebook"]
    rulebook = _bytes(own if own.is_file() else rulebooks_folder() / written["rulebook"])
    event = Event(
        id=written["event"],
        title=written["title"],
        hash=hashlib.sha256(rulebook).hexdigest(),
        rulebook=rulebook,
        opened_at=0,
    )
    teams = {
        each["team"]: Team(TeamId(each["team"]), each["name"], each["division"])
        for each in written["teams"]
    }
    people = written["people"]
    for each in (*people, *written["runs"]):
        if each["team"] is not None and each["team"] not in teams:
            raise RefusedError(f"{folder / 'event.yaml'}: there is no team '{each['team']}'.")
    return DemoEvent(
        event=event,
        teams=tuple(teams.values()),
        people=tuple(
            {
                each["person"]: Person(PersonId(each["person"]), each["name"]) for each in people
            }.values()
        ),
        placements=tuple(_placement(each) for each in people),
        runs=tuple(
            _run(folder if played else None, event.id, turn, each)
            for turn, each in enumerate(written["runs"], 1)
        ),
    )


class _TeamSchema(Schema):
    team = fields.String(required=True)
    name = fields.String(required=True)
    division = fields.String(load_default="")


class _PersonSchema(Schema):
    person = fields.String(required=True)
    name = fields.String(required=True)
    role = fields.Enum(Role, by_value=True, required=True)
    post = fields.String(load_default=None)
    team = fields.String(load_default=None)


def _duration(written: Any) -> int:
    try:
        return parse_duration(str(written))
    except DurationError as error:
        raise ValidationError(str(error)) from error


class _RunSchema(Schema):
    team = fields.String(required=True)
    bay = fields.String(required=True)
    begins = fields.Function(deserialize=_duration, required=True)


class _EventSchema(Schema):
    event = fields.String(required=True)
    title = fields.String(required=True)
    rulebook = fields.String(
        required=True, validate=validate.Regexp(r"[\w-]+\.yaml\Z", error="No name of a rulebook.")
    )
    teams = fields.List(fields.Nested(_TeamSchema), required=True)
    people = fields.List(fields.Nested(_PersonSchema), required=True)
    runs = fields.List(fields.Nested(_RunSchema), required=True)


def _placement(written: Mapping[str, Any]) -> Placement:
    post, team = written["post"], written["team"]
    return Placement(
        person=PersonId(written["person"]),
        role=written["role"],
        post=None if post is None else PostId(post),
        team=None if team is None else TeamId(team),
    )


def _run(folder: Path | None, event: str, turn: int, written: Mapping[str, Any]) -> DemoRun:
    team = TeamId(written["team"])
    plan = RunPlan(RunId(f"{event}.{team}"), event, team, written["bay"], turn)
    if folder is None:
        return DemoRun(plan, ())
    file = folder / "runs" / f"{team}.yaml"
    lines = _read(file)
    if not isinstance(lines, list):
        raise RefusedError(f"{file}: a list of entries is wanted.")
    entries = [
        _entry(line, f"{file}, entry {number}", plan.id, number)
        for number, line in enumerate(lines, 1)
    ]
    begins: int = written["begins"]
    return DemoRun(plan, tuple(replace(entry, at=begins + entry.at) for entry in entries))


def _entry(line: Any, where: str, run: RunId, number: int) -> Entry:
    """One line of a script: `at`, `by`, perhaps `post`, and the kind with what it says."""
    kinds = [key for key in line if key not in _KEYS] if isinstance(line, dict) else []
    if len(kinds) != 1:
        raise RefusedError(f"{where}: at, by, post and exactly one kind of entry are wanted.")
    try:
        return decode(
            {
                "shape": SHAPE,
                "kind": kinds[0],
                "id": f"{run}.{number:03d}",
                "run": run,
                "what": line[kinds[0]],
                **{key: line[key] for key in _KEYS & line.keys()},
            }
        )
    except EntryError as error:
        raise RefusedError(f"{where}: {error}") from error


def _load(schema: Schema, written: Any, file: Path) -> dict[str, Any]:
    try:
        loaded: dict[str, Any] = schema.load(written)
    except ValidationError as error:
        raise RefusedError(f"{file}: {error}") from error
    return loaded


def _read(file: Path) -> Any:
    try:
        return yaml.load(_bytes(file), Loader=_Loader)  # noqa: S506 - a safe loader, see below
    except yaml.YAMLError as error:
        raise RefusedError(f"{file} is not YAML: {error}") from error


def _bytes(file: Path) -> bytes:
    try:
        return file.read_bytes()
    except OSError as error:
        raise RefusedError(f"{file} cannot be read: {error.strerror}.") from error


#: The safe loader, in C where PyYAML was built with it.
_Loader: Final = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
