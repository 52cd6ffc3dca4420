"""An event kept on paper: keyed in twice in the layout of its sheets, compared and scored."""

from scoring.keying.layout import KeyTable, key_tables
from scoring.keying.reading import Difference, Keyed, Waiting, differences, read_keyed

__all__ = [
    "Difference",
    "KeyTable",
    "Keyed",
    "Waiting",
    "differences",
    "key_tables",
    "read_keyed",
]
