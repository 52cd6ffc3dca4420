"""`fairlead export`: what is posted, as files."""

import json
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import click
from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.progress import track
from rich.table import Table as Shown
from rich.text import Text

from scoring import CellKind, Table, format_duration, format_thousandths
from web.errors import NotFoundError
from web.exports.comma import table_csv
from web.exports.plain import safe_name
from web.exports.workbook import standings_workbook, team_workbook
from web.services.runs import Runs
from web.services.sheets import Sheets
from web.storage.database import open_database
from web.storage.directory import Directory
from web.storage.log import SqlLog
from web.values import Posting

_WIDE: Final = 200


@click.command()
@click.argument("database", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option(
    "--out",
    default=Path("out"),
    show_default=True,
    type=click.Path(file_okay=False, path_type=Path),
    help="The folder to write to; it is made where it is missing.",
)
@click.option("--event", help="Which event, where the meet has several.")
@click.option("--json", "as_json", is_flag=True, help="Print the standings as one JSON document.")
def command(database: Path, *, out: Path, event: str | None, as_json: bool) -> None:
    """Write the posted standings of the meet in DATABASE, and a workbook for each team."""
    chosen = only_event(Directory(open_database(database)), event)
    export_event(database, chosen, out).show(as_json=as_json)


def only_event(directory: Directory, event: str | None) -> str:
    """The event that is named, or the only one there is; raises `NotFoundError`."""
    events = [each.id for each in directory.events()]
    if event is None and len(events) != 1:
        raise NotFoundError(
            f"Say which event with --event: {', '.join(events) or 'there is none'}."
        )
    if event is not None and event not in events:
        raise NotFoundError(f"There is no event '{event}'; there are {', '.join(events)}.")
    return event or events[0]


@dataclass(frozen=True)
class Exported:
    """An event's posted standings; `step` is how fine times are shown, in milliseconds."""

    posting: Posting
    table: Table
    step: int

    def document(self) -> dict[str, Any]:
        """What a program reads."""
        return self.posting.content | {"number": self.posting.number}

    def show(self, *, as_json: bool) -> None:
        """Print it."""
        if as_json:
            click.echo(json.dumps(self.document(), indent=2))
        else:
            print_table(self.table, self.step)


def export_event(database: Path, event: str, out: Path | None) -> Exported:
    """An event's posted standings; they and the teams' workbooks are written into a folder."""
    engine = open_database(database)
    directory = Directory(engine)
    sheets = Sheets(Runs(SqlLog(engine), directory), directory)
    posting = sheets.latest(event)
    places, table = sheets.places(posting), sheets.standings(posting)
    step = sheets.book(posting).clock.step
    if out is not None:
        out.mkdir(parents=True, exist_ok=True)
        (out / "standings.xlsx").write_bytes(standings_workbook(table, sheets.book(posting)))
        (out / "standings.csv").write_bytes(table_csv(table, step))
        for place in track(
            places, "Writing workbooks", console=Console(stderr=True), transient=True
        ):
            name = safe_name(place.entrant.name, place.entrant.team)
            sheet = sheets.sheet(posting, place, places)
            (out / f"{name}.xlsx").write_bytes(team_workbook(sheet))
    engine.dispose()
    return Exported(posting, table, step)


def print_table(table: Table, step: int) -> None:
    """A table on the terminal; where it goes to a file or a pipe, no line is folded."""
    console = Console(width=None if sys.stdout.isatty() else _WIDE)
    shown = Shown(title=table.title, title_justify="left", box=SIMPLE_HEAD)
    for column in table.columns:
        words = column.kind is CellKind.TEXT
        shown.add_column(column.title, justify="left" if words else "right", no_wrap=not words)
    for row in table.rows:
        cells = zip(row, table.columns, strict=True)
        shown.add_row(*(Text(_say(cell, column.kind, step)) for cell, column in cells))
    console.print(shown)


def _say(cell: Any, kind: CellKind, step: int) -> str:
    if cell is None:
        return ""
    if kind is CellKind.POINTS:
        return format_thousandths(cell)
    return format_duration(cell, step) if kind in {CellKind.TIME, CellKind.COST} else str(cell)
