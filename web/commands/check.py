"""`fairlead check`: read rulebooks and name every problem."""

import json
import sys
from dataclasses import asdict
from pathlib import Path

import click

from scoring import Grade, Problem, Rulebook, RulebookError, lint, read_rulebook
from web.cli import WRONG


@click.command()
@click.argument(
    "rulebooks",
    nargs=-1,
    required=True,
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document instead of lines.")
@click.option("--strict", is_flag=True, help="Let warnings count as problems.")
def command(rulebooks: tuple[Path, ...], *, as_json: bool, strict: bool) -> None:
    """Read RULEBOOKS and name every problem as file:line:column: path: sentence.

    Below a rulebook without problems stand remarks on what is likely to go wrong on the day:
    warnings, and advice. Exits with 1 when any rulebook has a problem; remarks do not count,
    unless with --strict warnings do.
    """
    read = {path: _read(path) for path in rulebooks}
    if as_json:
        click.echo(json.dumps([_shape(path, result) for path, result in read.items()], indent=2))
    else:
        for path, result in read.items():
            if isinstance(result, Rulebook):
                click.echo(f"{path}: {_summary(result)}")
                for remark in lint(result):
                    click.echo(f"{path}: {remark.grade}: {remark.says}")
            else:
                click.echo(result)
    if not all(_passes(result, strict=strict) for result in read.values()):
        sys.exit(WRONG)


def _passes(result: Rulebook | RulebookError, *, strict: bool) -> bool:
    if not isinstance(result, Rulebook):
        return False
    return not strict or all(remark.grade is not Grade.WARNING for remark in lint(result))


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
        remarks = [asdict(remark) for remark in lint(result)]
        return {
            "file": str(path),
            "good": True,
            "hash": result.hash,
            "problems": [],
            "remarks": remarks,
        }
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
