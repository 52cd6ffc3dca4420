"""Throw damaged rulebooks at the reader: `python -m tests.fuzz_reader --files N --seed S`.

Every file is a rulebook of ours with a few random edits, or random bytes. Each is read, or refused
with a `RulebookError` whose every problem has a line of the file and a sentence; anything else ends
the search, and the file that did it is printed. What was slowest and largest is reported.
"""

import argparse
import sys
import time
import tracemalloc
from collections.abc import Iterator, Sequence
from copy import deepcopy
from dataclasses import dataclass
from functools import cache
from random import Random
from typing import Any, Final

import yaml

from scoring import RulebookError, read_rulebook
from tests.house.tree import ROOT
from tests.scoring.builders import rulebook_text

#: No file may take longer to read or refuse, in seconds of the processor; far more than any does.
SLOWEST: Final = 10.0
#: Nor more memory at its peak, in bytes, measured in one file of so many, as that takes its time.
LARGEST: Final = 200_000_000
MEASURED: Final = 20

#: What damages a file: YAML's own signs, odd characters, values that belong elsewhere.
SCRAPS: Final = (
    *"[]{}:,-?!&*|>'\"%@`#~<=\n\t \\/",
    *("\0", "\x1b", "\x7f", "\x85", "\u2028", "\ufeff", "\ufffe", "é", "٣", "🚡"),
    *("- ", ": ", "? ", "\n  ", "\n\n", "---\n", "...\n", "<<: *a", "&a ", "*a", "!!int ", "!x "),
    *("null", "~", "yes", "no", "0", "-1", "1e999", "1:30", "0x1F", "999999999999", ".inf", "{}"),
    *("step: ", "callout: ", "conduct: ", "returns: ", "after: ", "then: ", "costs: ", "each: "),
    *("rules: ", "tasks: ", "posts: ", "clock: ", "_schema: ", "key: ", "value: ", "disqualify"),
    *("[" * 30, "{a: " * 30, "- " * 30, "x" * 3_000, "'" * 99, "\\ud800", "\\0"),
)


def rulebooks() -> list[str]:
    """The texts to damage: those that ship, and the tests' own."""
    shipped = [path.read_text(encoding="utf-8") for path in sorted(ROOT.glob("rulebooks/*.yaml"))]
    return [rulebook_text(), *shipped]


def damaged(text: str, chance: Random) -> str:
    """A text with one to eight random edits."""
    for _ in range(chance.randint(1, 8)):
        begin = chance.randint(0, len(text))
        end = min(len(text), begin + chance.choice((0, 0, 1, 1, 2, 5, 20, 200)))
        match chance.randint(0, 4):
            case 0:
                put = text[begin:end] * chance.choice((2, 2, 3, 50))
            case 1:
                put = ""
            case 2:
                there = chance.randint(0, len(text))
                put = text[there : there + chance.choice((1, 5, 40, 400))]
            case 3:
                lines = text.splitlines(keepends=True)
                chance.shuffle(lines)
                put = "".join(lines[: chance.randint(0, 3)])
            case _:
                put = chance.choice(SCRAPS)
        text = text[:begin] + put + text[end:]
    return text


def bent(text: str, chance: Random) -> str:
    """A rulebook that is still YAML, with one to four of its values or keys put elsewhere."""
    tree = deepcopy(_tree(text))
    for _ in range(chance.randint(1, 4)):
        _bend(tree, list(_spots(tree)), chance)
    return yaml.dump(tree, Dumper=getattr(yaml, "CSafeDumper", yaml.SafeDumper), sort_keys=False)


@cache
def _tree(text: str) -> Any:
    return yaml.load(text, Loader=getattr(yaml, "CBaseLoader", yaml.BaseLoader))  # noqa: S506 - text


def _spots(tree: Any) -> Iterator[tuple[Any, Any]]:
    """Every place of a tree: the mapping or list, and the key or number in it."""
    for key in list(tree) if isinstance(tree, dict) else range(len(tree)):
        yield tree, key
        if isinstance(tree[key], dict | list):
            yield from _spots(tree[key])


def _bend(tree: Any, spots: list[tuple[Any, Any]], chance: Random) -> None:
    if not spots:
        return
    (home, key), (other, its) = chance.choice(spots), chance.choice(spots)
    match chance.randint(0, 5):
        case 0:
            del home[key]
        case 1:
            home[key] = deepcopy(other[its])
        case 2:
            home[key] = chance.choice(SCRAPS).strip()
        case 3:
            home[key] = chance.choice(([], {}, [home[key]], {"x": home[key]}, "", [[]]))
        case 4 if isinstance(home, dict):
            home[str(its) + chance.choice(("", "x"))] = home.pop(key)
        case _ if isinstance(home, list):
            home.insert(0, deepcopy(other[its]))
        case _:
            home[chance.choice(tuple(home))] = deepcopy(tree)


def files(texts: Sequence[str], chance: Random) -> Iterator[bytes]:
    """Damaged files without end: by their tree, by their text, by their bytes, of bytes alone."""
    while True:
        kind = chance.randint(0, 19)
        if kind == 0:
            yield chance.randbytes(chance.randint(0, 400))
            continue
        if kind >= 10:
            yield bent(chance.choice(texts), chance).encode()
            continue
        content = bytearray(damaged(chance.choice(texts), chance).encode())
        if kind < 5 and content:
            for _ in range(chance.randint(1, 4)):
                content[chance.randrange(len(content))] = chance.randrange(256)
        yield bytes(content)


def wrong_with(content: bytes) -> str | None:
    """What the reader did wrong with a file, or None."""
    try:
        read_rulebook(content, "fuzzed.yaml")
    except RulebookError as error:
        lines = content.count(b"\n") + content.count(b"\r") + content.count(b"\xc2\x85") + 2
        lines += content.count(b"\xe2\x80\xa8") + content.count(b"\xe2\x80\xa9")
        for problem in error.problems:
            if not 1 <= problem.line <= lines or problem.column < 1:
                return f"a problem at no place of the file: {problem}"
            if not problem.says.strip() or "\n" in str(problem):
                return f"a problem without a sentence on its line: {problem!r}"
        return None if error.problems else "a refusal without a problem"
    except Exception as error:  # noqa: BLE001 - that there is no other is what is tested
        return f"{type(error).__name__}: {error}"
    return None


@dataclass
class Tally:
    """How the search went."""

    files: int = 0
    slowest: float = 0.0
    peak: int = 0


def search(count: int, seed: int) -> Tally:
    """Read so many damaged files; raises AssertionError with the first that went wrong."""
    tally, made = Tally(), files(rulebooks(), Random(seed))  # noqa: S311 - a repeatable search
    for number in range(1, count + 1):
        content = next(made)
        if number % MEASURED == 1:
            tracemalloc.start()
        began = time.process_time()
        wrong = wrong_with(content)
        took = time.process_time() - began
        peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        if took > SLOWEST:
            wrong = f"took {took:.1f} s"
        if peak > LARGEST:
            wrong = f"took {peak:,} bytes"
        if wrong is not None:
            raise AssertionError(f"file {number} of seed {seed}: {wrong}\n{content!r}")
        tally.slowest, tally.peak = max(tally.slowest, took), max(tally.peak, peak)
        tally.files = number
        _told(number, count)
    return tally


def _told(number: int, count: int) -> None:
    if sys.stderr.isatty() and (number % 500 == 0 or number == count):
        sys.stderr.write(f"\r{number:,} of {count:,} files")


def main() -> int:
    """Search as long as was asked for; 1 where a file broke the reader."""
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--files", type=int, default=10_000, metavar="N")
    asked.add_argument("--seed", type=int, default=0, metavar="S")
    given = asked.parse_args()
    try:
        tally = search(given.files, given.seed)
    except AssertionError as error:
        sys.stderr.write(f"\n{error}\n")
        return 1
    sys.stdout.write(
        f"{given.files:,} files of seed {given.seed}: none broke the reader; "
        f"the slowest took {tally.slowest:.2f} s, the largest {tally.peak:,} bytes.\n"
    )
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
