"""`fairlead explain`: a rulebook, or one rule of it, in plain words."""

from pathlib import Path

import click

from scoring import explain, read_rulebook
from web.errors import NotFoundError


@click.command()
@click.argument("rulebook", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.argument("rule", required=False)
def command(rulebook: Path, rule: str | None) -> None:
    """Say RULEBOOK, or one RULE of it, in plain words with examples of what it would cost."""
    book = read_rulebook(rulebook.read_bytes(), str(rulebook))
    chosen = [each for each in book.rules.values() if rule is None or each.id == rule]
    if not chosen:
        raise NotFoundError(f"{rulebook}: there is no rule '{rule}'.")
    for each in chosen:
        said = explain(each, book)
        click.echo("\n".join(said.sentences))
        for example in said.examples:
            click.echo(f"  {example.happens}: {example.costs}")
        click.echo()
