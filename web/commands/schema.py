"""`fairlead schema`: the format of rulebooks, for editors that complete and check as one types."""

import json

import click

from scoring import json_schema


@click.command()
def command() -> None:
    """Print the format of rulebooks as a JSON Schema (draft 2020-12)."""
    click.echo(json.dumps(json_schema(), indent=2))
