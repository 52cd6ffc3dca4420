"""`fairlead verify`: walk the chain of a meet's record."""

import json
import sys
from pathlib import Path

import click

from web.cli import WRONG
from web.storage.database import open_database
from web.storage.directory import Directory
from web.storage.log import SqlLog


@click.command()
@click.argument("database", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document instead of a line.")
def command(database: Path, *, as_json: bool) -> None:
    """Walk the record in DATABASE and name the first entry that does not follow from those before.

    The heads written down on postings are checked too, so that a tail cut off since is noticed.
    Exits with 1 when the chain is broken.
    """
    engine = open_database(database)
    log, directory = SqlLog(engine), Directory(engine)
    postings = [each for event in directory.events() for each in directory.postings(event.id)]
    broken = log.verify((posting.head_seq, posting.head_hash) for posting in postings)
    seq, digest = log.head()
    if as_json:
        at = {"seq": broken[0], "says": broken[1]} if broken is not None else None
        click.echo(json.dumps({"entries": seq, "head": digest, "broken": at}, indent=2))
    elif broken is not None:
        click.echo(f"{database}: broken at entry {broken[0]}: {broken[1]}")
    else:
        click.echo(f"{database}: whole. {seq} entries, head {digest}.")
    if broken is not None:
        sys.exit(WRONG)
