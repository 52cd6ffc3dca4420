"""Everything the engine refuses, as one short tree.

```text
ScoringError                a sentence for a person; the shells decide how to show it
├── RulebookError           a rulebook with problems: all of them, each with its line
├── EntryError              a stored or sent mapping that is no entry
├── MeetError               a meet file with problems: all of them, each with its line
├── TableError              a run table with problems: all of them, each with its row
├── DurationError           a text that is no duration
└── UnitError               a text that is no unit, or no amount in one
```

Odd things *on* a record (a stop without a start, two readings of one watch) are no errors:
they are values on the run, because an engine that raises on the morning stops the event.
"""

from dataclasses import dataclass


class ScoringError(Exception):
    """A refusal in one sentence: what, where, what is allowed."""


class DurationError(ScoringError):
    """A text that is no duration."""


class UnitError(ScoringError):
    """A text that is no unit, or no amount in one."""


class EntryError(ScoringError):
    """A mapping that is no entry of the record."""


@dataclass(frozen=True, slots=True, order=True)
class Problem:
    """One thing wrong in a file: 1-based line and column, the path of keys, the sentence."""

    line: int
    column: int
    path: str
    says: str

    def __str__(self) -> str:
        where = f"{self.line}:{self.column}:"
        return f"{where} {self.path}: {self.says}" if self.path else f"{where} {self.says}"


class _ProblemsError(ScoringError):
    """A file refused with every problem in it."""

    def __init__(self, file: str, problems: tuple[Problem, ...]) -> None:
        self.file = file
        self.problems = tuple(sorted(set(problems)))
        super().__init__("\n".join(f"{file}:{problem}" for problem in self.problems))


class RulebookError(_ProblemsError):
    """A rulebook that cannot be used, with every problem in it."""


class MeetError(_ProblemsError):
    """A meet file that cannot be used, with every problem in it."""


class TableError(_ProblemsError):
    """A run table that cannot be scored, with every problem in it."""
