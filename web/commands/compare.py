"""`fairlead compare`: two editions of a rulebook, in words a crew understands."""

import json
from dataclasses import asdict
from itertools import groupby
from pathlib import Path

import click

from scoring import Rulebook, compare, read_rulebook


@click.command()
@click.argument("old", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.argument("new", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document instead of lines.")
def command(old: Path, new: Path, *, as_json: bool) -> None:
    """Say what has changed from the edition in OLD to the one in NEW, the gravest first."""
    changes = compare(_read(old), _read(new))
    if as_json:
        click.echo(json.dumps([asdict(change) for change in changes], indent=2, ensure_ascii=False))
        return
    if not changes:
        click.echo("Nothing has changed that a crew or a judge would notice.")
    for matter, those in groupby(changes, key=lambda change: change.matter):
        click.echo(f"{matter.capitalize()}:")
        for change in those:
            click.echo(f"  {change.says}")


def _read(path: Path) -> Rulebook:
    return read_rulebook(path.read_bytes(), str(path))
