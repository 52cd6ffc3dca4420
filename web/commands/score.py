"""`fairlead score`: a table of runs under a rulebook, as standings."""

import json
import sys
from pathlib import Path

import click

from scoring import read_rulebook, score_run_table, standings_table
from web.cli import WRONG
from web.commands.export import print_table
from web.exports.run_table import LARGEST, read_rows
from web.services.postings import row

_FILE = click.Path(exists=True, dir_okay=False, path_type=Path)


@click.command()
@click.argument("rulebook", type=_FILE)
@click.argument("runs", type=_FILE)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document instead of a table.")
def command(rulebook: Path, runs: Path, *, as_json: bool) -> None:
    """Score the table RUNS (CSV or xlsx, one row a run) under RULEBOOK and print the standings.

    \b
    Its first row names the columns:
      team                 the team's name
      division             optional: the class it is ranked in
      status               did not start, did not finish or disqualified; else empty
      reason               optional: why
      time                 the time before penalties, or 'watch 1' to 'watch 9'
      time back            optional: what the head judge gave back
      a rule's id          how many failures; what is left out was done
      published total,
      published rank       optional: a result to compare with

    Exits with 1 when the table has a problem, or a published value is not what the rules give.
    """  # noqa: D301 - click's mark for a paragraph that keeps its lines
    book = read_rulebook(rulebook.read_bytes(), str(rulebook))
    with runs.open("rb") as file:
        rows = read_rows(file.read(LARGEST + 1), str(runs))
    scored = score_run_table(rows, book, str(runs))
    if as_json:
        document = {
            "rulebook": book.id,
            "edition": book.edition,
            "hash": book.hash,
            "standings": [row(place, book) for place in scored.standings],
            "flags": [
                {
                    "row": flag.row,
                    "team": flag.team,
                    "column": flag.column,
                    "published": flag.published,
                    "ours": flag.ours,
                }
                for flag in scored.flags
            ],
        }
        click.echo(json.dumps(document, indent=2))
    else:
        print_table(standings_table(scored.standings, book), book.clock.step)
        for flag in scored.flags:
            click.echo(f"{runs}: {flag}", err=True)
    if scored.flags:
        sys.exit(WRONG)
