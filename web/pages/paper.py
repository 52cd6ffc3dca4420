"""The rulebook on paper, for the head judge: the briefing as a page, and every sheet as a file."""

from collections.abc import Callable
from typing import Final

from flask import Blueprint, Response, render_template, request

from scoring import PostId, Rulebook, briefing, check_sheet
from web.errors import NotFoundError
from web.exports.paper import Paper, briefing_pdf, check_pdf, clock_pdf, head_pdf, judge_pdf
from web.pages.parts import parts
from web.pages.signing import who

pages = Blueprint("paper", __name__)

_PAPERS: Final = {"a4": Paper.A4, "letter": Paper.LETTER}
_SHEETS: Final[dict[str, Callable[[Rulebook, Paper], bytes | None]]] = {
    "briefing": briefing_pdf,
    "check-sheet": check_pdf,
    "clock-sheet": clock_pdf,
    "head-sheet": head_pdf,
}


@pages.get("/desk/briefing")
def aloud() -> str:
    """What is read aloud, and the files of all sheets."""
    book = parts().sheets.rulebook(who())
    return render_template(
        "briefing.html",
        book=book,
        parts=briefing(book).parts,
        written=bool(check_sheet(book).lines),
    )


@pages.get("/desk/paper/<sheet>.pdf")
def sheet(sheet: str) -> Response:
    """One of the sheets that belong to no post."""
    book = parts().sheets.rulebook(who())
    made = _SHEETS[sheet](book, _paper()) if sheet in _SHEETS else None
    if made is None:
        raise NotFoundError("There is no such sheet.")
    return _pdf(made, sheet)


@pages.get("/desk/paper/judge/<post>.pdf")
def judge(post: str) -> Response:
    """The sheet of a post."""
    book = parts().sheets.rulebook(who())
    if post not in book.posts:
        raise NotFoundError("There is no such post.")
    return _pdf(judge_pdf(book, PostId(post), _paper()), f"judge-{post}")


def _paper() -> Paper:
    return _PAPERS.get(request.args.get("paper", ""), Paper.A4)


def _pdf(content: bytes, name: str) -> Response:
    response = Response(content, mimetype="application/pdf")
    response.headers.set("Content-Disposition", "inline", filename=f"{name}.pdf")
    return response
