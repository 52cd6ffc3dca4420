"""No file, however damaged, does anything but read or be refused at a line."""

from typing import Final

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scoring import RulebookError, read_rulebook
from tests.fuzz_reader import SCRAPS, rulebooks, search, wrong_with
from tests.scoring.builders import rulebook_text

TEXTS: Final = [text.encode() for text in rulebooks()]
#: A few hundred files a run; a hundred times that under the long profile.
MORE: Final = settings(max_examples=3 * settings().max_examples)


@st.composite
def edited(draw: st.DrawFn) -> bytes:
    """A rulebook with a few pieces of it replaced."""
    content = draw(st.sampled_from(TEXTS))
    for _ in range(draw(st.integers(1, 4))):
        begin = draw(st.integers(0, len(content)))
        gone = draw(st.integers(0, 40))
        put = draw(
            st.sampled_from(SCRAPS).map(str.encode) | st.text(max_size=6).map(_encoded) | PIECES
        )
        content = content[:begin] + put + content[begin + gone :]
    return content


def _encoded(text: str) -> bytes:
    return text.encode("utf-8", errors="surrogatepass")


PIECES: Final = st.tuples(st.sampled_from(TEXTS), st.integers(0, 5_000), st.integers(1, 60)).map(
    lambda cut: cut[0][cut[1] : cut[1] + cut[2]]
)


@MORE
@given(edited())
def test_an_edited_rulebook_reads_or_is_refused_at_a_line(content: bytes) -> None:
    assert wrong_with(content) is None


@given(st.binary(max_size=400))
def test_any_bytes_are_refused_at_a_line(content: bytes) -> None:
    with pytest.raises(RulebookError):
        read_rulebook(content)
    assert wrong_with(content) is None


@given(st.text(st.characters(codec="utf-8"), max_size=60), st.sampled_from("'\""))
def test_any_title_reads_as_it_is_or_is_refused_at_its_line(title: str, quote: str) -> None:
    quoted = quote + title.replace("\\", "").replace(quote, "") + quote
    assert wrong_with(rulebook_text(title=quoted).encode()) is None


def test_the_search_for_a_file_that_breaks_the_reader_reads_damaged_files() -> None:
    assert search(50, seed=7).files == 50


def test_the_search_tells_a_file_that_breaks_the_reader(monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(_: bytes, __: str) -> None:
        raise KeyError("tasks")

    monkeypatch.setattr("tests.fuzz_reader.read_rulebook", broken)
    with pytest.raises(AssertionError, match=r"^file 1 of seed 7: KeyError: 'tasks'"):
        search(50, seed=7)
