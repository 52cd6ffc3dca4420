"""A meet file from the disk, with the rulebooks it names."""

from collections.abc import Iterator, Mapping
from pathlib import Path

from scoring import Meet, Rulebook, read_meet, read_rulebook
from web.data import rulebooks_folder


def load_meet(file: Path) -> Meet:
    """The meet of a file; a rulebook lies beside it, or is one that is shipped.

    Raises `MeetError`, `RulebookError` for a rulebook it names, and OSError.
    """
    return read_meet(file.read_bytes(), _Rulebooks(rulebooks_folder(), file.parent), str(file))


class _Rulebooks(Mapping[str, Rulebook]):
    """The rulebooks of folders by file name, the last folder's first; read when asked for."""

    def __init__(self, *folders: Path) -> None:
        self._files = {file.name: file for each in folders for file in each.glob("*.yaml")}

    def __getitem__(self, name: str) -> Rulebook:
        file = self._files[name]
        return read_rulebook(file.read_bytes(), str(file))

    def __iter__(self) -> Iterator[str]:
        return iter(self._files)

    def __len__(self) -> int:
        return len(self._files)
