"""How the record is chained: what is hashed, how a batch is linked on, how a break is found.

The hash of a row is SHA-256 over the 32 bytes of the hash before it (zeros before the first) and
the canonical JSON (RFC 8785) of `{"seq": …, "received_at": …, "entry": scoring.encode(entry)}`.
"""

import json
from collections.abc import Iterable, Mapping, Sequence
from hashlib import sha256
from typing import Final, NamedTuple

from scoring import Entry, EntryId, ScoringError, decode, encode
from web.errors import BadMessageError, DamagedDatabaseError
from web.values import Clash, Stored

#: The head of an empty record: no entry, and what the first hash is made over.
START: Final = (0, "0" * 64)


class Draft(NamedTuple):
    """An entry on its way to the record, encoded once; `payload` is its canonical JSON."""

    entry: Entry
    payload: str
    received_at: int


class Row(NamedTuple):
    """A row of the record as it is kept."""

    seq: int
    id: str
    run: str
    received_at: int
    payload: str
    hash: str


def chained(before: str, said: bytes) -> str:
    """SHA-256, in hex, over the bytes of the hash before and what is said after it."""
    return sha256(bytes.fromhex(before) + said).hexdigest()


def draft(entry: Entry, received_at: int) -> Draft:
    """An entry ready to be linked on; BadMessageError for text that is no Unicode."""
    payload = _WRITE(encode(entry))
    if not payload.isascii():
        try:
            payload.encode()
        except UnicodeEncodeError as error:
            raise BadMessageError(f"Entry {entry.id!r} cannot be written down: {error}.") from error
    return Draft(entry, payload, received_at)


#: RFC 8785 for what entries are made of: texts, whole numbers, truth values and plain ASCII keys.
#: A test holds it against a reference implementation, which takes four times as long.
_WRITE: Final = json.JSONEncoder(
    ensure_ascii=False, allow_nan=False, sort_keys=True, separators=(",", ":")
).encode


def hash_of(before: str, seq: int, received_at: int, payload: str) -> str:
    """The hash of a row, in hex, from the hash before it."""
    # The keys are in canonical order and the payload is canonical, so the whole is.
    said = f'{{"entry":{payload},"received_at":{received_at},"seq":{seq}}}'
    return chained(before, said.encode())


def stored(row: Row) -> Stored:
    """What a row says; DamagedDatabaseError where that is no entry."""
    try:
        entry = decode(json.loads(row.payload))
    except (ValueError, ScoringError) as error:
        raise DamagedDatabaseError(
            f"Entry {row.seq} of the record cannot be read: {error}"
        ) from error
    return Stored(row.seq, entry, row.received_at, row.hash)


def extend(
    drafts: Sequence[Draft], known: Mapping[EntryId, Row], head: tuple[int, str]
) -> tuple[list[Stored | Clash], list[Row]]:
    """The answer to each draft, and the rows to add after `head`.

    `known` has the kept rows of the drafts' ids, where there are any.
    """
    seq, last = head
    answers: list[Stored | Clash] = []
    rows: dict[EntryId, Row] = {}
    for entry, payload, received_at in drafts:
        kept = known.get(entry.id) or rows.get(entry.id)
        if kept:
            answers.append(_again(entry, payload, kept))
            continue
        seq += 1
        last = hash_of(last, seq, received_at, payload)
        rows[entry.id] = Row(seq, entry.id, entry.run, received_at, payload, last)
        answers.append(Stored(seq, entry, received_at, last))
    return answers, list(rows.values())


def _again(entry: Entry, payload: str, kept: Row) -> Stored | Clash:
    # A row kept in an earlier shape says the same in other words.
    if payload == kept.payload or stored(kept).entry == entry:
        return Stored(kept.seq, entry, kept.received_at, kept.hash, repeat=True)
    return Clash(entry.id)


def first_break(
    rows: Iterable[Row], written_down: Iterable[tuple[int, str]] = ()
) -> tuple[int, str] | None:
    """The first seq at which rows, in order of seq, are no unbroken chain, and why; else None.

    `written_down` are heads kept elsewhere: each must lie on the chain.
    """
    heads: dict[int, set[str]] = {}
    for seq, head in written_down:
        heads.setdefault(seq, set()).add(head)
    seq, last = START
    for row in rows:
        if row.seq != seq + 1:
            return seq + 1, f"Entry {seq + 1} is missing from the record."
        if hash_of(last, row.seq, row.received_at, row.payload) != row.hash:
            return row.seq, f"Entry {row.seq} of the record is not as it was written."
        if not _columns_agree(row):
            return row.seq, f"Entry {row.seq} of the record is filed under another id or run."
        seq, last = row.seq, row.hash
        if heads.pop(seq, {last}) != {last}:
            return seq, f"The record up to entry {seq} is another than the one written down."
    missing = [at for at in heads if at > seq]
    if missing:
        return seq + 1, f"The record ends at entry {seq}; it had reached entry {max(missing)}."
    return None


def _columns_agree(row: Row) -> bool:
    try:
        said = json.loads(row.payload)
        return bool(said["id"] == row.id and said["run"] == row.run)
    except (ValueError, LookupError, TypeError):
        return False
