"""`fairlead check`: read rulebooks and name every problem."""

import json
import sys
from pathlib import Path

import click

from scoring import Problem, Rulebook, RulebookError, read_rulebook
from web.cli import WRONG


@click.command()
@click.argument(
    "rulebooks",
    nargs=-1,
    required=True,
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document instead of lines.")
def command(rulebooks: tuple[Path, ...], *, as_json: bool) -> None:
    """Read RULEBOOKS and name every problem as file:line:column: path: sentence.

    Exits with 1 when any of them has a problem.
    """
    read = {path: _read(path) for path in rulebooks}
    if as_json:
        click.echo(json.dumps([_shape(path, result) for path, result in read.items()], indent=2))
    else:
        for path, result in read.items():
            if isinstance(result, Rulebook):
                click.echo(f"{path}: {_summary(result)}")
            else:
                click.echo(result)
    if not all(isinstance(result, Rulebook) for result in read.values()):
        sys.exit(WRONG)


def _read(path: Path) -> Rulebook | RulebookError:
    try:
        return read_rulebook(path.read_bytes(), str(path))
    except RulebookError as error:
        return error


def _summary(book: Rulebook) -> str:
    kinds = [rule.kind for rule in book.rules.values()]
    counted = ", ".join(f"{kinds.count(kind)} {kind}" for kind in dict.fromkeys(kinds))
    return (
        f"good. {book.title}, edition {book.edition}: {len(book.posts)} posts, "
        f"{len(book.rules)} rules ({counted}), {book.hash[:12]}."
    )


def _shape(path: Path, result: Rulebook | RulebookError) -> dict[str, object]:
    if isinstance(result, Rulebook):
        return {"file": str(path), "good": True, "hash": result.hash, "problems": []}
    return {
        "file": str(path),
        "good": False,
        "problems": [_problem(each) for each in result.problems],
    }


def _problem(problem: Problem) -> dict[str, object]:
    return {
        "line": problem.line,
        "column": problem.column,
        "path": problem.path,
        "says": problem.says,
    }
