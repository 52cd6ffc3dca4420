"""The tables that the sheets of an event are keyed into: the sheets' own lines, a column a run."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from scoring.ids import PostId
from scoring.papers.lines import Line, Takes, answers, lines
from scoring.papers.sheets import clock_sheet
from scoring.results import Result
from scoring.rulebook import Rulebook

#: What the first cell of a table says it is; beside it stand an id, a title, the rulebook's hash.
SHEET: Final = "judge sheet"
RUNS: Final = "runs"
DECISIONS: Final = "decisions"
#: The heads before the runs' numbers.
LINE_HEADS: Final = ("rule", "item", "what", "write")
DECISION_HEADS: Final = ("run", "rule", "item", "decision", "amount", "reason")
WATCH: Final = "watch "
GIVEN: Final = "given "
ASSESSOR: Final = "assessor"


@dataclass(frozen=True, slots=True)
class Row:
    """A line of a sheet, with what it says and what may be written in its cells."""

    line: Line
    says: str
    hint: str


@dataclass(frozen=True, slots=True)
class PostTable:
    """A post's sheet as a table."""

    post: PostId
    title: str
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class Layout:
    """All tables of a rulebook, one for each post that writes something.

    `run_heads` are the columns of the table of runs.
    """

    title: str
    hash: str
    posts: tuple[PostTable, ...]
    run_heads: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class KeyTable:
    """A table to key a sheet into: two rows of heads, then rows; all of it text.

    From the column `keyed` on, counted from 0, the cells are to be filled in.
    """

    name: str
    heads: tuple[tuple[str, ...], tuple[str, ...]]
    rows: tuple[tuple[str, ...], ...]
    keyed: int


def key_tables(book: Rulebook, runs: int) -> tuple[KeyTable, ...]:
    """The tables to key an event's sheets into, for so many runs."""
    made = layout(book)
    numbers = tuple(str(n) for n in range(1, runs + 1))
    posts = (
        KeyTable(
            post.post,
            ((SHEET, post.post, post.title, made.hash), (*LINE_HEADS, *numbers)),
            tuple((row.line.rule, row.line.item, row.says, row.hint) for row in post.rows),
            len(LINE_HEADS),
        )
        for post in made.posts
    )
    all_runs = ((RUNS, book.id, made.title, made.hash), made.run_heads)
    decided = ((DECISIONS, book.id, made.title, made.hash), DECISION_HEADS)
    return (
        KeyTable(RUNS, all_runs, tuple((number,) for number in numbers), 1),
        *posts,
        KeyTable(DECISIONS, decided, (), 0),
    )


def layout(book: Rulebook) -> Layout:
    """The tables to key an event's sheets into."""
    return Layout(
        f"{book.title}, edition {book.edition}",
        book.hash,
        tuple(
            PostTable(post.id, post.title, rows)
            for post in book.posts.values()
            if (rows := tuple(_rows(post.id, book)))
        ),
        tuple(_run_heads(book)),
    )


def _rows(post: PostId, book: Rulebook) -> Iterator[Row]:
    for rule in book.watched_by(post):
        boxes = tuple(answers(rule))
        for line in lines(rule):
            if line.takes is not Takes.NOTHING:
                says = f"{rule.text} – {line.says}" if line.says else rule.text
                yield Row(line, says, _hint(line.takes, boxes))


def _hint(takes: Takes, boxes: tuple[str, ...]) -> str:
    """What may be written in a line's cells."""
    coded = ", ".join(f"{n} {box}" for n, box in enumerate(boxes, start=1))
    hints = {
        Takes.ANSWER: f"{coded}; with a time: 1 @ 12:40",
        Takes.BREACHES: "how many; or who and when: rigger @ 3:34; ? @ 5:32",
        Takes.COUNT: "how many",
        Takes.SECONDS: f"seconds, or: {', '.join(boxes)}",
        Takes.CENTIMETRES: f"centimetres, or: {', '.join(boxes)}",
        Takes.OVER: "by how much the limit was passed: 0:12; 0 where it was kept",
        Takes.VALUE: "what stands there; nothing; illegible; illegible: 4?1",
    }
    return hints[takes]


def _run_heads(book: Rulebook) -> Iterator[str]:
    yield from ("run", "team", "division", "status", "reason")
    if book.timed:
        yield from (f"{WATCH}{n}" for n in range(1, clock_sheet(book).watches + 1))
        yield from ("held", "time back", "walkthrough", "false starts")
    yield from (f"{GIVEN}{name}" for name in book.givens)
    if book.result is Result.ASSESSMENT:
        yield ASSESSOR
