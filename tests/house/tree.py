"""The files of the tree, as git sees them: what is committed and what is about to be."""

import subprocess
from pathlib import Path
from typing import Final

ROOT: Final = Path(__file__).parents[2]


def git_lines(*arguments: str) -> list[str]:
    """Run git on the tree and return the names it lists."""
    done = subprocess.run(
        # A clone may belong to another user than the one who tests it.
        ["git", "-c", f"safe.directory={ROOT}", *arguments, "-z"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    return [name for name in done.stdout.split("\0") if name]


def files(suffix: str = "") -> list[Path]:
    """Every file that git tracks or would add, with this suffix, relative to the top."""
    listed = git_lines("ls-files", "--cached", "--others", "--exclude-standard")
    paths = [Path(name) for name in listed if name.endswith(suffix)]
    return sorted(path for path in set(paths) if (ROOT / path).is_file())


def python_files(*folders: str) -> list[Path]:
    """Every Python file in these top-level folders, relative to the top."""
    return [path for path in files(".py") if path.parts[0] in folders]
