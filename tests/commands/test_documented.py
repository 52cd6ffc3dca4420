"""Every command, option and exit code is explained where somebody looks for it."""

import ast
import re
from importlib import import_module
from pathlib import Path

import click
import pytest

from tests.commands.conftest import Run
from tests.house.tree import ROOT
from web import cli

README = (ROOT / "README.md").read_text(encoding="utf-8")
#: `serve` patches the standard library where it is imported; its help is asked of a process.
HERE = [name for name in cli.COMMANDS if name != "serve"]


def section() -> str:
    return re.split(r"^## ", README.split("\n## Commands\n")[1], flags=re.MULTILINE)[0]


def rows() -> dict[str, str]:
    """What the README says of each command."""
    found = re.findall(r"^\| `fairlead ([a-z]+)[^|]*\| ([^|]+) \|", section(), flags=re.MULTILINE)
    return dict(found)


def test_every_command_has_a_row_in_the_readme_and_no_other_has() -> None:
    assert set(rows()) == set(cli.COMMANDS)


def test_every_command_has_a_file_and_no_other_file_is_there() -> None:
    files = {path.stem for path in (ROOT / "web" / "commands").glob("*.py")}
    assert files - {"__init__"} == set(cli.COMMANDS)


@pytest.mark.parametrize("code", [0, cli.WRONG, 2, cli.IMPOSSIBLE])
def test_every_exit_code_is_explained(code: int) -> None:
    assert f"| {code} |" in section()


@pytest.mark.parametrize("name", HERE)
def test_every_option_is_explained_in_the_commands_help(name: str, run: Run) -> None:
    command = import_module(f"web.commands.{name}").command
    said = run(name, "--help")
    assert said.code == 0
    for option in command.params:
        if isinstance(option, click.Option):
            assert option.help
            assert max(option.opts, key=len) in said.out
        else:
            assert str(option.human_readable_name) in said.out
    assert command.help


def test_the_options_of_serve_are_explained_too() -> None:
    source = (ROOT / "web" / "commands" / "serve.py").read_text(encoding="utf-8")
    calls = [node for node in ast.walk(ast.parse(source)) if isinstance(node, ast.Call)]
    options = [call for call in calls if ast.unparse(call.func) == "click.option"]
    assert len(options) == source.count("@click.option(")
    assert all("help" in {given.arg for given in option.keywords} for option in options)


def test_the_help_lists_every_command(run: Run) -> None:
    for asked in (["--help"], ["-h"]):
        done = run(*asked)
        assert done.code == 0
        for name, says in cli.COMMANDS.items():
            assert re.search(rf"^  {name} +{re.escape(says[:30])}", done.out, flags=re.MULTILINE)


def test_an_unknown_command_is_told(run: Run, tmp_path: Path) -> None:
    done = run("gossip", tmp_path)
    assert done.code == 2
    assert "No such command 'gossip'" in done.err


def test_no_command_at_all_shows_the_help(run: Run) -> None:
    done = run()
    assert done.code == 2
    assert "Commands:" in done.out + done.err


def test_the_version_is_said(run: Run) -> None:
    done = run("--version")
    assert done.code == 0
    assert re.search(r"\d+\.\d+\.\d+", done.out)
