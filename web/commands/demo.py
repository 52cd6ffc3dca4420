"""`fairlead demo`: a demo event, played over real websockets against a real server."""

import json
import signal
import subprocess
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import click
from rich.console import Console
from rich.progress import Progress as Bar

from scoring import PersonId
from web.commands.export import export_event
from web.commands.open import open_days
from web.commands.overall import export_overall, overall_rows, posted_overall, print_overall
from web.data import demo_events_folder
from web.demo_event import Demo, DemoEvent, load_demo
from web.demo_player import Progress, play
from web.errors import NotFoundError, StorageError
from web.values import Role


@click.command()
@click.argument("name", default="sheave-change")
@click.option("--fast", is_flag=True, help="Play the whole day at once, print the standings, end.")
@click.option(
    "--out",
    type=click.Path(file_okay=False, path_type=Path),
    help="Where to write standings and workbooks at the end.",
)
@click.option(
    "--pace",
    default=60,
    show_default=True,
    type=click.IntRange(1, 1_000),
    help="How many times faster than real the day passes.",
)
@click.option(
    "--port", default=0, type=click.IntRange(0, 65_535), help="The port; 0 takes a free one."
)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document at the end.")
def command(  # noqa: PLR0913 - one parameter an option
    name: str, *, fast: bool, out: Path | None, pace: int, port: int, as_json: bool
) -> None:
    """Play the demo event NAME: a server, a link for every person, simulated crews and judges.

    Open the links in as many windows as you like and watch standings move. Without --fast the
    server stays until Ctrl-C. The meet is kept for the length of the demo only.
    """
    # Ended from outside, it still ends its server.
    signal.signal(signal.SIGTERM, lambda *_: sys.exit())
    console = Console(stderr=True)
    demo = load_demo(_folder(name))
    with TemporaryDirectory(prefix="fairlead-") as folder:
        database = Path(folder) / "demo.db"
        open_days(database, demo.days)
        with _server(database, port, 1 if fast else pace) as ready:
            if not fast:
                _print_links(ready)
            for day in demo.days:
                _play(day, ready["links"], None if fast else pace, console)
            _export(database, demo, out, as_json=as_json)
            if not fast:
                console.print(
                    f"The day is over. The server stays at {ready['address']}; Ctrl-C ends it."
                )
                _wait()


def _folder(name: str) -> Path:
    folders = {
        file.parent.name: file.parent
        for kind in ("event", "meet")
        for file in demo_events_folder().glob(f"*/{kind}.yaml")
    }
    if name not in folders:
        raise NotFoundError(
            f"There is no demo event '{name}'. There is: {', '.join(sorted(folders))}."
        )
    return folders[name]


def _play(
    day: DemoEvent, links: Sequence[Mapping[str, str]], pace: int | None, console: Console
) -> None:
    addresses = {
        (PersonId(link["person"]), Role(link["role"])): link["address"]
        for link in links
        if link["event"] == day.event.id
    }
    with Bar(console=console, transient=True) as bar:
        shown = bar.add_task(f"Playing {day.event.title}", total=None)

        def tell(progress: Progress) -> None:
            bar.update(shown, completed=progress.played, total=progress.of)

        play(day, addresses, pace, tell)


def _export(database: Path, demo: Demo, out: Path | None, *, as_json: bool) -> None:
    """Print and write what an event came to, or each of a meet's and all together."""
    if demo.meet is None:
        export_event(database, demo.days[0].event.id, out).show(as_json=as_json)
        return
    events = {
        event: export_event(database, event, out / event if out is not None else None)
        for event in demo.meet.events
    }
    rows = posted_overall(demo.meet, database)
    export_overall(demo.meet, rows, out)
    if as_json:
        documents = {event: exported.document() for event, exported in events.items()}
        click.echo(json.dumps({"events": documents, "overall": overall_rows(rows)}, indent=2))
        return
    for exported in events.values():
        exported.show(as_json=False)
    print_overall(demo.meet, rows)


@contextmanager
def _server(database: Path, port: int, pace: int) -> Iterator[Mapping[str, Any]]:
    """A server in a process of its own: its address and links, once it listens."""
    line = [sys.executable, "-m", "web", "serve", str(database), "--json"]
    line += ["--port", str(port), "--pace", str(pace)]
    with subprocess.Popen(line, stdout=subprocess.PIPE, text=True) as process:  # noqa: S603 - our own command
        try:
            said = process.stdout.readline() if process.stdout is not None else ""
            if not said:
                raise StorageError("The demo's server did not start; see above.")
            yield json.loads(said)
        finally:
            process.terminate()


def _print_links(ready: Mapping[str, Any]) -> None:
    click.echo(f"The demo runs at {ready['address']}. Each link below is one person's screen:")
    for link in ready["links"]:
        where = link["post"] or link["team"]
        click.echo(f"  {link['role']:<12} {where:<10} {link['name']:<20} {link['address']}")


def _wait() -> None:
    with suppress(KeyboardInterrupt):
        signal.pause()
