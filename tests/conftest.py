"""What every test stands on: bounded Hypothesis, and Debian's chromium for the browser tests."""

import shutil
from typing import Any, Final

import pytest
from hypothesis import settings

# A busy machine is no bug, so no example has a deadline.
settings.register_profile("bounded", deadline=None, max_examples=100)
# For a night: `python -m tests --hypothesis-profile=long --timeout=0`.
settings.register_profile("long", deadline=None, max_examples=10_000)
settings.load_profile("bounded")

CHROMIUM_ARGS: Final = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


@pytest.fixture(scope="session")
def base_url() -> None:
    """Each test starts its own server; pytest-playwright's own fixture of this name warns."""


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args: dict[str, Any]) -> dict[str, Any]:
    """Drive the chromium that Debian packages, without its errands on the network."""
    chromium = shutil.which("chromium")
    assert chromium, "The browser tests need chromium: run `python -m tests`, which brings it."
    return {
        **browser_type_launch_args,
        "executable_path": chromium,
        "args": list(CHROMIUM_ARGS),
    }
