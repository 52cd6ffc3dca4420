"""`fairlead table`: a rulebook as a workbook, and back."""

from pathlib import Path

import click

from scoring import compare, read_rulebook
from web.exports.rulebook_book import changed_text, rulebook_workbook


@click.command()
@click.argument("rulebook", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option(
    "--out", type=click.Path(dir_okay=False, path_type=Path), help="Where to write the workbook."
)
@click.option(
    "--from",
    "changed",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="A workbook of this rulebook; what was changed in it is brought into RULEBOOK.",
)
def command(rulebook: Path, out: Path | None, changed: Path | None) -> None:
    """Write RULEBOOK as a workbook with a row a rule, or bring a changed one back into it.

    Only what was changed changes: comments and layout of RULEBOOK stay. Nothing is written where
    what comes out would have a problem.
    """
    content = rulebook.read_bytes()
    before = read_rulebook(content, str(rulebook))
    text = content.decode("utf-8-sig")
    if changed is None:
        target = out or rulebook.with_suffix(".xlsx")
        target.write_bytes(rulebook_workbook(text))
        click.echo(f"{target}: {len(before.rules)} rules.")
        return
    new = changed_text(text, changed.read_bytes(), str(changed)).encode()
    after = read_rulebook(new, str(rulebook))
    rulebook.write_bytes(new)
    changes = compare(before, after)
    click.echo(f"{rulebook}: {len(changes)} changes." if changes else f"{rulebook}: no change.")
    for change in changes:
        click.echo(f"  {change.says}")
