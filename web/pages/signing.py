"""Sign-in links: signed, revocable, one a person; and who asks, for every page."""

from typing import Final

from flask import Blueprint, Response, redirect, render_template, session, url_for
from itsdangerous import BadSignature, URLSafeSerializer
from werkzeug.wrappers import Response as AnyResponse

from web.errors import NotSignedInError
from web.pages.parts import parts
from web.services.access import Actor, actor_of
from web.values import Role

pages = Blueprint("signing", __name__)

#: Where each role's screen is.
SCREENS: Final = {
    Role.HEAD: "/desk",
    Role.TIMEKEEPER: "/clock",
    Role.JUDGE: "/post",
    Role.CAPTAIN: "/team",
    Role.BOARD: "/board",
}
LINK: Final = "link"


def address(secret: bytes, server: str, link: str) -> str:
    """The address that signs the holder of a link in at a server."""
    return f"{server}/in/{_signer(secret).dumps(link)}"


def who() -> Actor:
    """Who asks for this page; raises `NotSignedInError`."""
    return actor_of(parts().directory, session.get(LINK))


@pages.get("/")
def door() -> str | AnyResponse:
    """One's own screen, or what to do to get there."""
    try:
        return redirect(SCREENS[who().role])
    except NotSignedInError:
        return render_template("door.html")


@pages.get("/in/<code>")
def sign_in(code: str) -> AnyResponse:
    """Sign in by a link and go to one's screen."""
    try:
        link = _signer(parts().directory.secret()).loads(code)
    except BadSignature as error:
        raise NotSignedInError(
            "This sign-in link is not one of ours. Scan it again or ask for a new one."
        ) from error
    actor = actor_of(parts().directory, link if isinstance(link, str) else None)
    session.clear()
    # Else a browser that is restarted forgets it.
    session.permanent = True
    session[LINK] = actor.link
    return redirect(SCREENS[actor.role])


@pages.get("/out")
def sign_out() -> Response | AnyResponse:
    """Forget who used this device."""
    session.clear()
    return redirect(url_for("signing.door"))


def _signer(secret: bytes) -> URLSafeSerializer:
    return URLSafeSerializer(secret, salt="sign-in link")
