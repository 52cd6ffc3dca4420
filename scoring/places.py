"""Places out of keys that are in order, and what parted those who were level at first.

Places are standard competition ranks: two at 1 are followed by 3. A key's first part decides; the
others break ties. Each part is better the less it is.
"""

from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import TypeAlias

Key: TypeAlias = tuple[tuple[int, ...], ...]


def places(keys: Sequence[Key | None]) -> list[int | None]:
    """The place of each key, those that are None having none; they are in order."""
    found: list[int | None] = []
    for n, key in enumerate(keys):
        same = n > 0 and key == keys[n - 1]
        found.append(None if key is None else found[n - 1] if same else n + 1)
    return found


def parted_by(keys: Sequence[Key | None], words: Sequence[str]) -> Mapping[Key | None, str]:
    """For each key level with another at first, the tie-break that parts it from the next best."""
    broken: dict[Key | None, str] = {}
    for better, worse in pairwise(key for key in dict.fromkeys(keys) if key is not None):
        if better[0] == worse[0]:
            word = words[_first_difference(better, worse) - 1]
            broken.setdefault(better, word)
            broken[worse] = word
    return broken


def _first_difference(one: Key, other: Key) -> int:
    return next(n for n, (mine, its) in enumerate(zip(one, other, strict=True)) if mine != its)
