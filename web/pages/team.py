"""The crew's own sheet after a posting, as a page and as a workbook; the head judge's standings."""

from flask import Blueprint, Response, render_template

from scoring import Cell, CellKind, format_duration, format_seconds, format_thousandths
from web.exports.plain import safe_name
from web.exports.workbook import standings_workbook, team_workbook
from web.pages.parts import parts
from web.pages.signing import who
from web.services.access import Action

pages = Blueprint("team", __name__)

#: No judge's tap is finer than a tenth of a second.
_TAP = 100
_XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


@pages.get("/team")
def sheet() -> str:
    """The penalty sheet of the captain's own crew."""
    return render_template("team.html", sheet=parts().sheets.own(who()))


@pages.app_template_filter("cell")
def written(cell: Cell, kind: CellKind, step: int) -> str:
    """A cell of a table as the page shows it; `step` is how fine times are written, in ms."""
    match cell, kind:
        case int(), CellKind.POINTS:
            return format_thousandths(cell)
        case int(), CellKind.COST:
            return format_seconds(cell)
        case int(), CellKind.TIME:
            return format_duration(cell, step)
        case int(), CellKind.MOMENT:
            return format_duration(cell // _TAP * _TAP, _TAP)
    return "" if cell is None else str(cell)


@pages.get("/team/workbook.xlsx")
def workbook() -> Response:
    """The same sheet as a workbook."""
    own = parts().sheets.own(who())
    return _download(team_workbook(own), safe_name(own.name, own.team))


@pages.get("/desk/standings.xlsx")
def standings() -> Response:
    """What is posted, as a workbook, for the head judge."""
    actor = who()
    actor.must(Action.EXPORT)
    sheets = parts().sheets
    posting = sheets.latest(actor.event)
    content = standings_workbook(sheets.standings(posting), sheets.book(posting))
    return _download(content, f"standings-{posting.number}")


def _download(content: bytes, name: str) -> Response:
    response = Response(content, mimetype=_XLSX)
    response.headers.set("Content-Disposition", "attachment", filename=f"{name}.xlsx")
    return response
