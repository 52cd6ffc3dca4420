"""The services a page may ask, kept with the app."""

from dataclasses import dataclass
from typing import cast

from flask import current_app

from web.services.ports import Announcer, Clock, Directory
from web.services.sheets import Sheets

KEY = "fairlead"


@dataclass(frozen=True, slots=True)
class Parts:
    """What pages need."""

    directory: Directory
    announcer: Announcer
    clock: Clock
    sheets: Sheets


def parts() -> Parts:
    """The parts of the app that answers this request."""
    return cast("Parts", current_app.extensions[KEY])
