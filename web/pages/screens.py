"""The four live screens: each an empty shell whose module fetches the rest over the socket."""

from flask import Blueprint, render_template

from web.errors import ForbiddenError
from web.pages.signing import SCREENS, who

pages = Blueprint("screens", __name__)

#: The board is there for everyone; each other screen for its own role.
_OPEN = "/board"


def _screen(name: str) -> str:
    actor = who()
    if SCREENS[actor.role] != f"/{name}" and f"/{name}" != _OPEN:
        raise ForbiddenError(f"This screen is not a {actor.role}'s.")
    return render_template(f"{name}.html", role=actor.role)


@pages.get("/post")
def post() -> str:
    """The judge's tablet."""
    return _screen("post")


@pages.get("/clock")
def clock() -> str:
    """The timekeeper's tablet."""
    return _screen("clock")


@pages.get("/desk")
def desk() -> str:
    """The head judge's desk."""
    return _screen("desk")


@pages.get("/board")
def board() -> str:
    """The public board."""
    return _screen("board")
