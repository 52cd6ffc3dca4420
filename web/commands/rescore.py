"""`fairlead rescore`: an event under another rulebook."""

import json
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import click

from scoring import Standing, compare, format_duration, read_rulebook
from web.commands.export import only_event
from web.services.runs import Runs
from web.storage.database import open_database
from web.storage.directory import Directory
from web.storage.log import SqlLog


@click.command()
@click.argument("database", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option(
    "--rulebook",
    required=True,
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="The rulebook to score the event under.",
)
@click.option("--event", help="Which event, where the meet has several.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document instead of lines.")
def command(database: Path, *, rulebook: Path, event: str | None, as_json: bool) -> None:
    """Show what an event of the meet in DATABASE would have looked like under another rulebook.

    Nothing is changed. A mark counts under the rule of the same id; what only the other rulebook
    asks for stays an open question.
    """
    engine = open_database(database)
    directory = Directory(engine)
    chosen = only_event(directory, event)
    runs = Runs(SqlLog(engine), directory)
    old, new = runs.book(chosen), read_rulebook(rulebook.read_bytes(), str(rulebook))
    rows = list(_moves(runs.standings(chosen), runs.rescored(chosen, new)))
    if as_json:
        changes = [change.says for change in compare(old, new)]
        click.echo(json.dumps({"changes": changes, "teams": rows}, indent=2, ensure_ascii=False))
        return
    for change in compare(old, new):
        click.echo(change.says)
    click.echo()
    for row in rows:
        click.echo(_line(row, old.clock.step))


def _moves(before: Iterable[Standing], after: Iterable[Standing]) -> Iterable[dict[str, Any]]:
    """Each team's place and total, then and now, in the order of now."""
    was = {row.entrant.team: row for row in before}
    for row in after:
        then = was[row.entrant.team]
        yield {
            "team": row.entrant.name,
            "place": row.place,
            "place_before": then.place,
            "total": row.scorecard.total,
            "total_before": then.scorecard.total,
            "not_asked": len({*row.scorecard.questions} - {*then.scorecard.questions}),
        }


def _line(row: dict[str, Any], step: int) -> str:
    place, before = row["place"] or "–", row["place_before"] or "–"
    moved = f"{place} (was {before})" if place != before else f"{place}"
    total, then = _say(row["total"], step), _say(row["total_before"], step)
    changed = f"{total} (was {then})" if total != then else total
    not_asked = f", {row['not_asked']} things nobody was asked" if row["not_asked"] else ""
    return f"{moved:<12} {row['team']:<30} {changed}{not_asked}"


def _say(total: int | None, step: int) -> str:
    return "no total" if total is None else format_duration(total, step)
