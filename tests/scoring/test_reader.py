"""Every complaint about a rulebook, word for word and at its place."""

import re
from pathlib import Path
from typing import Any, Final

import pytest

from scoring import KINDS, RulebookError, read_rulebook
from scoring.durations import _ALLOWED as DURATIONS
from scoring.fields import listed
from scoring.ids import NAME_SAYS
from scoring.units import ALLOWED as UNITS
from tests.scoring.builders import book, rulebook_text


def refused(content: str | bytes) -> list[str]:
    """What the reader says of a file, line by line."""
    raw = content if isinstance(content, bytes) else content.encode()
    with pytest.raises(RulebookError) as error:
        read_rulebook(raw, "trial.yaml")
    lines = str(error.value).split("\n")
    assert len(lines) == len(error.value.problems)
    return [line.removeprefix("trial.yaml:") for line in lines]


def _cases() -> list[tuple[str, list[str]]]:
    """The cases of the table: sections that stand instead of the trial's, and the complaints."""
    table = (Path(__file__).parent / "complaints.txt").read_text(encoding="utf-8")
    blocks = [block for block in table.split("\n\n") if "\n> " in block]
    words = {
        "{kinds}": listed(list(KINDS)),
        "{names}": NAME_SAYS,
        "{durations}": DURATIONS,
        "{units}": UNITS,
    }
    cases = []
    for block in blocks:
        sections, *says = block.strip().split("\n> ")
        for word, meant in words.items():
            says = [each.replace(word, meant) for each in says]
        cases.append((sections, says))
    return cases


def _sections(text: str) -> dict[str, str | None]:
    """Each key of a text with what stands under it; None for `no key`."""
    found: dict[str, str | None] = {}
    for part in re.split(r"\n(?=\S)", text):
        if part.startswith("no "):
            found[part.removeprefix("no ")] = None
        else:
            key, says = part.split(":", maxsplit=1)
            found[key] = says.removeprefix(" ")
    return found


@pytest.mark.parametrize(("sections", "says"), _cases())
def test_each_complaint_says_what_and_where(sections: str, says: list[str]) -> None:
    assert refused(rulebook_text(**_sections(sections))) == says


def test_the_rulebook_that_the_complaints_are_about_reads_clean() -> None:
    assert list(book().rules) == ["A1", "A2", "clear", "gloves", "tools"]


@pytest.mark.parametrize("key", ["_schema", "key", "value", "None", "0", "~"])
def test_an_unknown_key_stands_at_its_place_whatever_it_is_called(key: str) -> None:
    text = rulebook_text(crew=f"\n  size: 4\n  {key}: 1")
    says = f"7:3: crew.{key}: Unknown key '{key}'; allowed are 'size', 'roles'."
    assert refused(text) == [says]


def test_an_unknown_key_at_the_top_is_told_with_all_that_are_allowed() -> None:
    [line] = refused(rulebook_text(titel="A"))
    assert line.startswith("14:1: titel: Unknown key 'titel'; allowed are 'rulebook', 'title', ")
    assert line.endswith(" Did you mean 'title'?")
    assert "more" not in line


NOT_YAML: Final = "This is not YAML:"
ONE_DOCUMENT: Final = "expected a single document in the stream but found another document."
CONTROLS: Final = "control characters are not allowed."
TAG: Final = "The tag tag:yaml.org,2002:"
GROWS: Final = "With its aliases written out, the file grows beyond 20,000 values or 20 levels."
EMPTY: Final = "1:1: The file is empty; a rulebook begins with 'rulebook: its-id'."


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", EMPTY),
        (b"# only a comment\n", EMPTY),
        (b"[]", "1:1: Write a mapping (key: value) here."),
        (b"~", "1:1: Write a mapping (key: value) here."),
        (b"a: [", f"2:1: {NOT_YAML} while parsing a flow node did not find expected node content."),
        (b"a: *b", f"1:4: {NOT_YAML} found undefined alias."),
        (b"a\n---\nb", f"2:1: {NOT_YAML} {ONE_DOCUMENT}"),
        (b"%YAML 9.9\n---\na: 1", f"1:1: {NOT_YAML} found incompatible YAML document."),
        (b"a: 1\nb: \0", f"2:1: {NOT_YAML} unacceptable character #x0000: {CONTROLS}"),
        (b"\xff\xfea", "1:1: The file is not UTF-8 text; save it as UTF-8."),
        (b"a: 1\nb: \xff", "2:1: The file is not UTF-8 text; save it as UTF-8."),
        (b"a: 1\na: 2", "2:1: The key 'a' stands here twice. First at line 1."),
        (b"a:\n  b: 1\n  b: 2", "3:3: a: The key 'b' stands here twice. First at line 2."),
        (b"<<: {a: 1}", "1:1: Merge keys (<<) are not allowed; write the keys out."),
        (b"? [a]\n: b", "1:3: A key must be a plain word."),
        (b"a: !x 1", "1:4: a: The tag !x is not allowed; leave it out."),
        (b"a: !!python/name:os x", f"1:4: a: {TAG}python/name:os is not allowed; leave it out."),
        (b"a: !!binary eA==", f"1:4: a: {TAG}binary is not allowed; leave it out."),
        (b"a: !!set {b}", f"1:4: a: {TAG}set is not allowed; leave it out."),
        (b"a: " + b"[" * 21, "1:23: Nested more than 20 deep."),
        (b"a: &a [*a]", f"1:4: {GROWS}"),
        (b"a: &a {b: *a}", f"1:4: {GROWS}"),
        (b"x" * 1_000_001, "1:1: The file has 1,000,001 bytes; at most 1,000,000 are allowed."),
        (b"x" * 50_000_000, "1:1: The file has 50,000,000 bytes; at most 1,000,000 are allowed."),
    ],
    ids=lambda value: repr(value[:24]),
)
def test_what_is_no_rulebook_at_all_is_refused_before_it_is_read(content: bytes, says: str) -> None:
    assert refused(content) == [says]


@pytest.mark.parametrize("content", ["a: " + "[" * 300_000, "- " * 300_000, "{a: " * 200_000])
def test_a_file_nested_without_end_is_refused_with_its_line(content: str) -> None:
    [says] = refused(content)
    assert says.startswith("1:")


def test_aliases_of_aliases_are_refused() -> None:
    lines = ["l0: &l0 [x, x, x, x, x, x, x, x, x]"]
    lines += [f"l{n}: &l{n} [{', '.join([f'*l{n - 1}'] * 9)}]" for n in range(1, 12)]
    [says] = refused("\n".join(lines))
    assert says.endswith("the file grows beyond 20,000 values or 20 levels.")


def test_an_alias_saves_writing_the_same_twice() -> None:
    rules = """
  - {step: A1, do: &same Lock it, post: north, costs: slip}
  - {step: A2, do: *same, post: north, costs: slip}"""
    assert [rule.text for rule in book(rules=rules).rules.values()] == ["Lock it", "Lock it"]


@pytest.mark.parametrize("title", ["1:30", "NO", "null", "2027-01-01", "0x1F", "1e3", ".5", "=1+1"])
def test_a_text_stays_as_its_author_wrote_it(title: str) -> None:
    assert book(title=title).title == title


def test_a_byte_order_mark_is_no_part_of_the_text() -> None:
    assert read_rulebook(b"\xef\xbb\xbf" + rulebook_text().encode()).id == "trial"


def test_what_a_complaint_repeats_of_a_file_stays_on_its_line_and_does_nothing() -> None:
    [line] = refused(rulebook_text(crew=r'{"si\n\e[2Jze": 4}'))
    says = "Unknown key 'si ?[2Jze'; allowed are 'size', 'roles'. Did you mean 'size'?"
    assert line == f"5:8: crew.si ?[2Jze: {says}"


def test_a_complaint_repeats_no_more_of_a_file_than_a_person_reads() -> None:
    long = "k" * 50_000
    texts = (
        rulebook_text(crew=f"\n  ? {long}\n  : 1"),
        rulebook_text(crew=f"\n  ? {long}\n  : 1\n  ? {long}\n  : 1"),
        rulebook_text(title=f"!{'t' * 1_000} x"),
        rulebook_text(language=long),
        rulebook_text(clock=f"{{run: {{limit: {'9' * 1_900}}}}}"),
    )
    assert all(len(line) < 700 for text in texts for line in refused(text))


def test_the_hash_of_a_rulebook_is_of_its_bytes() -> None:
    # SHA-256 after FIPS 180-4, of the very bytes, a comment's too.
    plain = rulebook_text().encode()
    one, other = read_rulebook(plain), read_rulebook(plain + b"# changed\n")
    assert len(one.hash) == 64
    assert one.hash != other.hash


@pytest.mark.parametrize(
    "costs",
    ["slip", "{seconds: 4}"],
)
def test_disorder_of_the_whole_book_and_a_rule_called_order_keep_their_own_costs(
    costs: str,
) -> None:
    rules = book(
        rules="[{step: order, do: It, post: north, costs: {seconds: 7}}]",
        order=f"{{costs: {costs}}}",
    )
    amounts: dict[Any, int] = {
        name: each.rungs[0].amount for name, each in rules.categories.items()
    }
    [rule] = rules.rules.values()
    assert amounts[rule.costs] == 7_000
    assert amounts[rules.order_costs] == (10_000 if costs == "slip" else 4_000)
