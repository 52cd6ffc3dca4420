"""Rulebook files: read, refused with every problem, or known as frozen values."""

from scoring.rulebook.model import Rulebook
from scoring.rulebook.reader import read_rulebook

__all__ = ["Rulebook", "read_rulebook"]
