"""`fairlead open`: an event, from a folder into a meet's database."""

from collections.abc import Iterable
from pathlib import Path
from time import time_ns

import click

from web.demo_event import DemoEvent, load_demo_event
from web.services.opening import open_event
from web.storage.database import open_database
from web.storage.directory import Directory


@click.command()
@click.argument("database", type=click.Path(dir_okay=False, path_type=Path))
@click.argument("folder", type=click.Path(exists=True, file_okay=False, path_type=Path))
def command(database: Path, folder: Path) -> None:
    """Open the event that FOLDER's event.yaml tells of in the meet in DATABASE.

    The database is made where there is none. The rulebook is pinned as it is now: a changed file
    is another event. All of it is written, or nothing.
    """
    event = load_demo_event(folder, played=False)
    open_days(database, [event])
    click.echo(
        f"{database}: {event.event.title} is open, with {len(event.runs)} runs and rulebook "
        f"{event.event.hash[:12]}. Serve it with: fairlead serve {database}"
    )


def open_days(database: Path, days: Iterable[DemoEvent]) -> None:
    """Open every day's event; who was there on an earlier day is written down once."""
    engine = open_database(database)
    directory = Directory(engine)
    for day in days:
        known, met = set(directory.teams()), set(directory.people())
        open_event(
            directory,
            lambda: time_ns() // 1_000_000,
            day.event,
            [team for team in day.teams if team not in known],
            [person for person in day.people if person not in met],
            day.placements,
            [run.plan for run in day.runs],
        )
    engine.dispose()
