"""The head judge's page of sign-in links, each with a code to scan and a way to renew it."""

import segno
from flask import Blueprint, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from web.errors import ForbiddenError
from web.pages.parts import parts
from web.pages.signing import address, who
from web.services.access import Action
from web.services.links import live_links, renew

pages = Blueprint("links", __name__)


@pages.get("/desk/links")
def links() -> str:
    """Everybody's link, to scan or to print."""
    actor = who()
    actor.must(Action.SEE_LINKS)
    known = parts().directory
    names = {person.id: person.name for person in known.people()}
    teams = {team.id: team.name for team in known.teams()}
    secret, here = known.secret(), request.host_url.rstrip("/")
    shown = [
        {
            "id": link.id,
            "own": link.id == actor.link,
            "name": names[link.person],
            "role": link.role,
            "place": link.post or (teams[link.team] if link.team is not None else ""),
            "address": (url := address(secret, here, link.id)),
            "code": segno.make(url, error="m").svg_inline(border=2, omitsize=True),
        }
        for link in live_links(known, actor.event)
    ]
    only_here = request.host.partition(":")[0] in {"127.0.0.1", "localhost", "[::1]"}
    return render_template("links.html", links=shown, here=here, only_here=only_here)


@pages.post("/desk/links/<link>/renew")
def renewed(link: str) -> Response:
    """Revoke a link and make another for the same person."""
    if request.headers.get("Origin", "").rstrip("/") != request.host_url.rstrip("/"):
        raise ForbiddenError("This was not asked from our own page.")
    known = parts()
    renew(known.directory, known.announcer, known.clock, who(), link)
    return redirect(url_for("links.links"))
