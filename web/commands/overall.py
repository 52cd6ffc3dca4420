"""`fairlead overall`: what several events of a meet come to together."""

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import click

from scoring import Meet, OverallStanding, overall, overall_table
from web.commands.export import print_table
from web.errors import ConflictError, NotFoundError
from web.exports.comma import table_csv
from web.exports.workbook import overall_workbook
from web.meet_file import load_meet
from web.services.runs import Runs
from web.services.sheets import Sheets
from web.storage.database import open_database
from web.storage.directory import Directory
from web.storage.log import SqlLog

_FILE = click.Path(exists=True, dir_okay=False, path_type=Path)


@click.command()
@click.argument("meet", type=_FILE)
@click.argument("database", type=_FILE)
@click.option(
    "--out",
    type=click.Path(file_okay=False, path_type=Path),
    help="A folder to write overall.csv and overall.xlsx to; it is made where it is missing.",
)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document instead of a table.")
def command(meet: Path, database: Path, *, out: Path | None, as_json: bool) -> None:
    """Print the overall standings of the events in DATABASE, as the meet file MEET makes them.

    An event goes by the same id in both. Only what is posted counts; an event of which nothing is
    posted yet is left out for everybody.
    """
    of_meet = load_meet(meet)
    rows = posted_overall(of_meet, database)
    export_overall(of_meet, rows, out)
    if as_json:
        click.echo(json.dumps(overall_rows(rows), indent=2))
    else:
        print_overall(of_meet, rows)


def posted_overall(meet: Meet, database: Path) -> tuple[OverallStanding, ...]:
    """The overall standings of what is posted."""
    engine = open_database(database)
    directory = Directory(engine)
    sheets = Sheets(Runs(SqlLog(engine), directory), directory)
    standings = {}
    for event in directory.events():
        posting = directory.latest_posting(event.id)
        if event.id not in meet.events or posting is None:
            continue
        if event.hash != meet.events[event.id].rulebook.hash:
            raise ConflictError(
                f"The event '{event.id}' was opened with another edition of its rulebook than "
                f"{meet.events[event.id].file} is now."
            )
        standings[event.id] = sheets.places(posting)
    engine.dispose()
    if not standings:
        raise NotFoundError(
            f"Nothing is posted yet of any event of this meet: {', '.join(meet.events)}."
        )
    return overall(meet, standings)


def export_overall(meet: Meet, rows: Sequence[OverallStanding], out: Path | None) -> None:
    """Write overall standings into a folder, where one is given."""
    if out is not None:
        table = overall_table(rows, meet)
        out.mkdir(parents=True, exist_ok=True)
        (out / "overall.xlsx").write_bytes(overall_workbook(table, meet))
        (out / "overall.csv").write_bytes(table_csv(table))


def print_overall(meet: Meet, rows: Sequence[OverallStanding]) -> None:
    """Overall standings on the terminal."""
    print_table(overall_table(rows, meet), 1)


def overall_rows(rows: Sequence[OverallStanding]) -> list[dict[str, Any]]:
    """Overall standings as plain JSON; points in thousandths."""
    return [
        {
            "place": row.place,
            "division_place": row.division_place,
            "tied": row.tied,
            "broken_by": row.broken_by,
            "team": row.entrant.team,
            "team_name": row.entrant.name,
            "division": row.entrant.division,
            "scores": {
                each.event: {
                    "place": each.place,
                    "score": each.score,
                    "why": each.why,
                    "dropped": each.dropped,
                }
                for each in row.scores
            },
            "total": row.total,
        }
        for row in rows
    ]
