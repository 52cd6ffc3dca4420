import re
from pathlib import Path
from typing import Final

import pytest

from tests.house.tree import ROOT, files, git_lines

TOP_LEVEL: Final = {
    "DEVELOPERS.md",
    "LICENSE",
    "README.md",
    "demo_events",
    "pyproject.toml",
    "rulebooks",
    "scoring",
    "tests",
    "web",
}
# Written backwards, or this file would be the first to break its rule.
REGISTRIES: Final = tuple(
    name[::-1] for name in ("gro.sjmpn", "moc.sjmpn", "gro.ipyp", "detsohnohtyp", "gkpnray")
)
MACHINE_PATH: Final = re.compile(r"(?<![\w.~*})\]-])/(?:root|work|home/[a-z]+|Users/[A-Za-z]+)/")
PICTURES_AND_BOOKS: Final = {".png", ".jpg", ".webp", ".ico", ".woff2", ".xlsx", ".sqlite3"}


def machine_marks(text: str) -> list[str]:
    """Return what in a text belongs to one machine: its paths and its package registry."""
    return [host for host in REGISTRIES if host in text] + MACHINE_PATH.findall(text)


def test_nothing_else_lies_at_the_top() -> None:
    top = {path.parts[0] for path in files()}
    assert {name for name in top if not name.startswith(".")} <= TOP_LEVEL


def test_no_file_names_a_machine_or_a_package_registry() -> None:
    found = {
        str(path): marks
        for path in files()
        if path.suffix not in PICTURES_AND_BOOKS
        and (marks := machine_marks((ROOT / path).read_text(encoding="utf-8")))
    }
    assert found == {}


@pytest.mark.parametrize("text", ["see /{}oot/x", "'/wo{}k/main'", "/home/{}uth/x"])
def test_a_path_of_a_machine_is_recognised(text: str) -> None:
    assert machine_marks(text.format("r"))


@pytest.mark.parametrize("host", REGISTRIES)
def test_a_registry_is_recognised(host: str) -> None:
    assert machine_marks(f"https://registry.{host}/idb")


def test_nothing_of_others_is_committed() -> None:
    tracked = {Path(name) for name in git_lines("ls-files")}
    foreign = {"node_modules", "vendor"}
    assert [path for path in tracked if foreign & set(path.parts)] == []


def test_each_command_of_the_readme_is_one_line_in_one_block() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    for heading in ("Run it", "Test it"):
        section = re.split(r"^## ", text.split(f"## {heading}\n")[1], flags=re.MULTILINE)[0]
        blocks = re.findall(r"^```\w*\n(.*?)^```$", section, flags=re.MULTILINE | re.DOTALL)
        assert len(blocks) == 1, heading
        assert blocks[0].count("\n") == 1, heading
