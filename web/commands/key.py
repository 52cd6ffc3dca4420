"""`fairlead key`: the sheets of an event kept on paper, keyed in twice, compared and scored."""

import json
import sys
from pathlib import Path

import click

from scoring import Keyed, Rulebook, TableError, differences, read_rulebook, standings_table
from web.cli import WRONG
from web.commands.export import print_table
from web.exports.keying import read_keying
from web.exports.run_table import LARGEST
from web.services.postings import row

_FILE = click.Path(exists=True, dir_okay=False, path_type=Path)


@click.command()
@click.argument("rulebook", type=_FILE)
@click.argument("first", type=_FILE)
@click.argument("second", type=_FILE, required=False)
@click.option("--single", is_flag=True, help="Score what was keyed in once, by one person only.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document instead of a table.")
def command(
    rulebook: Path, first: Path, second: Path | None, *, single: bool, as_json: bool
) -> None:
    """Score an event kept on paper, from the workbooks FIRST and SECOND.

    Two people each key the sheets into a copy of the keying.xlsx that 'fairlead paper' writes.
    Every cell in which they differ is named; where they agree the standings are printed, and what
    still waits for a person.

    \b
    runs          each team beside its number: time or status, and what was drawn
    a post        the lines of its sheet; an answer by its number or its words
    decisions     what the head judge upheld, struck out, changed or added

    Exits with 1 when a workbook has a problem, or the two differ.
    """  # noqa: D301 - click's mark for a paragraph that keeps its lines
    if second is None and not single:
        raise click.UsageError(
            "Key the sheets in twice and give both workbooks, "
            "or say --single where nobody can key them in again."
        )
    book = read_rulebook(rulebook.read_bytes(), str(rulebook))
    keyed = [_read(path, book) for path in (first, second) if path is not None]
    read = [each for each in keyed if each is not None]
    if len(read) < len(keyed):
        sys.exit(WRONG)
    found = differences(read[0], read[-1])
    if as_json:
        click.echo(
            json.dumps(
                {
                    "rulebook": book.id,
                    "edition": book.edition,
                    "hash": book.hash,
                    "differences": [
                        {
                            "sheet": each.sheet,
                            "row": each.row,
                            "what": each.what,
                            "team": each.team,
                            "first": each.first,
                            "second": each.second,
                        }
                        for each in found
                    ],
                    "waiting": [str(each) for each in read[0].waiting()],
                    "standings": []
                    if found
                    else [row(place, book) for place in read[0].standings(book)],
                },
                indent=2,
            )
        )
    elif found:
        for each in found:
            click.echo(each)
    else:
        print_table(standings_table(read[0].standings(book), book), book.clock.step)
        for waiting in read[0].waiting():
            click.echo(waiting, err=True)
    if found:
        sys.exit(WRONG)


def _read(path: Path, book: Rulebook) -> Keyed | None:
    """A keyed workbook; None where it has problems, which are told."""
    try:
        with path.open("rb") as file:
            return read_keying(file.read(LARGEST + 1), book, str(path))
    except TableError as error:
        click.echo(error, err=True)
        return None
