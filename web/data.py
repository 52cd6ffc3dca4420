"""Where the rulebooks and the demo events lie, in a checkout and in an installed copy."""

from pathlib import Path
from typing import Final

_HERE: Final = Path(__file__).parent


def rulebooks_folder() -> Path:
    """The folder of rulebook files; raises FileNotFoundError when the install is broken."""
    return _folder("rulebooks")


def demo_events_folder() -> Path:
    """The folder with one folder a demo event; raises FileNotFoundError likewise."""
    return _folder("demo_events")


def _folder(name: str) -> Path:
    # A wheel carries the folders inside the package; a checkout has them beside it.
    for place in (_HERE / "_data" / name, _HERE.parent / name):
        if place.is_dir():
            return place
    raise FileNotFoundError(f"Fairlead's folder {name} is missing; install Fairlead again.")
