"""`fairlead paper`: everything an event needs on paper, as files."""

from pathlib import Path
from typing import Final

import click

from scoring import PostId, Rulebook, read_rulebook
from web.exports.keying import keying_workbook
from web.exports.paper import Paper, briefing_pdf, check_pdf, clock_pdf, head_pdf, judge_pdf

_PAPERS: Final = {"a4": Paper.A4, "letter": Paper.LETTER}
_MOST_RUNS: Final = 300


@click.command()
@click.argument("rulebook", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option(
    "--out",
    default=Path("paper"),
    show_default=True,
    type=click.Path(file_okay=False, path_type=Path),
    help="The folder to write to; it is made where it is missing.",
)
@click.option(
    "--paper",
    default="a4",
    show_default=True,
    type=click.Choice([*_PAPERS]),
    help="The size of the paper.",
)
@click.option(
    "--runs",
    default=30,
    show_default=True,
    type=click.IntRange(1, _MOST_RUNS),
    help="For how many runs the workbook has room.",
)
def command(rulebook: Path, *, out: Path, paper: str, runs: int) -> None:
    """Write RULEBOOK on paper: what is read aloud, what is filled in, what it is keyed into.

    \b
    briefing.pdf       read aloud before the first run
    judge-POST.pdf     a sheet for each post; one copy a run
    check-sheet.pdf    what the crew writes; left out where there is nothing to write
    clock-sheet.pdf    signals, holds and watches
    head-sheet.pdf     the head judge's decisions
    keying.xlsx        the same sheets as tables, a column a run; see 'fairlead key'
    """  # noqa: D301 - click's mark for a paragraph that keeps its lines
    book = read_rulebook(rulebook.read_bytes(), str(rulebook))
    size = _PAPERS[paper]
    files = {
        "briefing.pdf": briefing_pdf(book, size),
        **{_name(post, book): judge_pdf(book, post, size) for post in book.posts},
        "check-sheet.pdf": check_pdf(book, size),
        "clock-sheet.pdf": clock_pdf(book, size),
        "head-sheet.pdf": head_pdf(book, size),
        "keying.xlsx": keying_workbook(book, runs),
    }
    out.mkdir(parents=True, exist_ok=True)
    for name, content in files.items():
        if content is None:
            click.echo(f"No {name}: the rulebook has nothing for the crew to write.", err=True)
        else:
            (out / name).write_bytes(content)
            click.echo(out / name)


def _name(post: PostId, book: Rulebook) -> str:
    """A post's file; where two ids differ only in capitals, a number parts them."""
    alike = [each for each in book.posts if each.casefold() == post.casefold()]
    number = alike.index(post) + 1
    return f"judge-{post}-{number}.pdf" if len(alike) > 1 else f"judge-{post}.pdf"
