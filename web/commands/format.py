"""`fairlead format`: lay rulebooks out evenly."""

import sys
from pathlib import Path

import click

from scoring import read_rulebook
from web.cli import WRONG
from web.exports.rulebook_file import format_text


@click.command()
@click.argument(
    "rulebooks",
    nargs=-1,
    required=True,
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
)
@click.option("--check", is_flag=True, help="Write nothing; exit with 1 if a file would change.")
def command(rulebooks: tuple[Path, ...], *, check: bool) -> None:
    """Lay RULEBOOKS out evenly, in place. Comments, order and meaning stay as they are."""
    changed = 0
    for path in rulebooks:
        content = path.read_bytes()
        before = read_rulebook(content, str(path))
        laid_out = format_text(content.decode("utf-8-sig")).encode()
        if laid_out == content:
            continue
        after = read_rulebook(laid_out, str(path))
        assert after.rules == before.rules, "Laying out changed the rules."  # noqa: S101 - a guard
        changed += 1
        if check:
            click.echo(f"{path}: would be laid out anew.")
        else:
            path.write_bytes(laid_out)
            click.echo(f"{path}: laid out anew.")
    if check and changed:
        sys.exit(WRONG)
