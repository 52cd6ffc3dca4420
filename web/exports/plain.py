"""Text that stays text: in a cell, in a comma-separated file, in the name of a file."""

import hashlib
import re
import unicodedata
from typing import Final

#: What XML or UTF-8 cannot hold; a tab or a carriage return becomes a space.
_UNFIT: Final = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]")
_BLANKS: Final = re.compile("[\t\r]+")
#: A spreadsheet reads `_x000D_` as one character; escaped, it stays what it is.
_ESCAPED: Final = re.compile(r"_(?=x[0-9A-Fa-f]{4}_)")
#: Where a spreadsheet begins to calculate when it opens a comma-separated file.
_BEGINS: Final = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")
#: A cell holds no more characters.
_LONGEST: Final = 32_767
_LONGEST_STEM: Final = 48
#: Shorter than a digest, so that neither is ever taken for the other.
_PLAIN_ID: Final = re.compile(r"[a-z0-9-]{1,15}")
_DIGEST: Final = 16


def printable(text: str) -> str:
    """A text without what no file can hold."""
    return _UNFIT.sub("", _BLANKS.sub(" ", text))


def cell_text(text: str) -> str:
    """A text as a workbook's cell shows it, whatever it looks like."""
    if text.isprintable() and "_x" not in text and len(text) <= _LONGEST:
        return text
    return _ESCAPED.sub("_x005F_", printable(text))[:_LONGEST]


def csv_text(text: str) -> str:
    """A text that no spreadsheet takes for a formula; an apostrophe stands before a suspect."""
    plain = printable(text)
    return f"'{plain}" if text.startswith(_BEGINS) or plain.startswith(_BEGINS) else plain


def page_text(text: str, longest: int = 60) -> str:
    """A text for a page's header, where `&` commands."""
    plain = printable(text).replace("\n", " ")
    cut = plain if len(plain) <= longest else plain[: longest - 1] + "…"
    return cut.replace("&", "&&")


def safe_name(name: str, unique: str, suffix: str = "") -> str:
    """A file name out of a name and an id: at most 80 bytes, safe on every file system.

    No two ids give the same file name, whatever the names and the case of letters.
    """
    composed = unicodedata.normalize("NFC", name)
    kept = "".join(each if _speaks(each) else " " for each in composed)
    cut = "-".join(kept.split()).encode()[:_LONGEST_STEM]
    stem = cut.decode(errors="ignore").strip("-") or "team"
    if _PLAIN_ID.fullmatch(unique):
        # The last dash parts name and id.
        end = unique.replace("-", "_")
    else:
        end = hashlib.sha256(unique.encode(errors="surrogatepass")).hexdigest()[:_DIGEST]
    return f"{stem}-{end}{suffix}"


def _speaks(character: str) -> bool:
    """Whether it is a letter, a mark on one or a digit, in any script."""
    return unicodedata.category(character)[0] in "LMN"
