"""A rulebook's YAML as a document that keeps its comments: changed in places, laid out anew."""

from collections.abc import Iterator
from io import StringIO
from typing import Any, Final

from ruamel.yaml import YAML
from ruamel.yaml.comments import CommentedMap, CommentedSeq
from ruamel.yaml.nodes import ScalarNode
from ruamel.yaml.resolver import VersionedResolver

#: What stands on one line, as long as it fits.
WIDTH: Final = 120
_NEVER: Final = 1_000_000


class _TextResolver(VersionedResolver):
    """Every plain scalar is the text its author wrote, as the reader takes it."""

    def resolve(self, kind: Any, value: Any, implicit: Any) -> Any:
        """The tag of a node."""
        if kind is ScalarNode:
            return self.DEFAULT_SCALAR_TAG
        return super().resolve(kind, value, implicit)


def load_document(text: str) -> CommentedMap:
    """The document of a rulebook that `read_rulebook` accepts."""
    document: CommentedMap = _yaml().load(text)
    return document


def document_text(document: CommentedMap) -> str:
    """A document as a file's text."""
    out = StringIO()
    _yaml().dump(document, out)
    return out.getvalue()


def format_text(text: str) -> str:
    """The same rulebook laid out evenly: two spaces a level, what does not fit a line in a block.

    Comments stay, and so does every value. Laying it out again changes nothing.
    """
    document = load_document(text)
    for mapping in _flowing(document):
        if len(one_line(mapping)) > WIDTH - _INDENT:
            mapping.fa.set_block_style()
    return document_text(document)


#: A rule of a task stands so far in.
_INDENT: Final = 8


def one_line(value: Any) -> str:
    """A value as YAML on one line; a text as it is written."""
    if not isinstance(value, dict | list):
        return str(value)
    yaml = _yaml()
    yaml.default_flow_style = True
    out = StringIO()
    yaml.dump(_plain(value), out)
    return " ".join(out.getvalue().split())


def parse_line(text: str) -> Any:
    """The list or mapping that a line of YAML says."""
    return _yaml().load(text)


def _plain(value: Any) -> Any:
    """A value without the style and comments of where it stood."""
    if isinstance(value, dict):
        return {str(key): _plain(each) for key, each in value.items()}
    if isinstance(value, list):
        return [_plain(each) for each in value]
    return str(value)


def _flowing(value: Any) -> Iterator[CommentedMap]:
    """Every mapping that is written between braces."""
    if isinstance(value, CommentedMap):
        if value.fa.flow_style():
            yield value
        for each in value.values():
            yield from _flowing(each)
    elif isinstance(value, CommentedSeq):
        for each in value:
            yield from _flowing(each)


def _yaml() -> YAML:
    yaml = YAML(typ="rt")
    yaml.Resolver = _TextResolver
    yaml.preserve_quotes = True
    yaml.width = _NEVER
    yaml.indent(mapping=2, sequence=4, offset=2)
    return yaml
