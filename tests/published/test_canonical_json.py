"""Canonical JSON and hashes as the record's chain makes them, beside published values."""

import hashlib
import json
import struct
from pathlib import Path
from typing import Any

import pytest
import rfc8785

from web.storage.chain import START, chained

#: The reference implementation that entries as the chain writes them are held against.
canonical = rfc8785.dumps

HERE = Path(__file__).parent


def _read(name: str) -> Any:
    return json.loads((HERE / name).read_text(encoding="utf-8"))


@pytest.mark.parametrize("vector", _read("jcs_vectors.json"), ids=lambda vector: vector["name"])
def test_values_are_written_as_the_authors_of_rfc_8785_write_them(vector: dict[str, str]) -> None:
    """RFC 8785: the six pairs of cyberphone/json-canonicalization, testdata, commit 19d51d7f.

    The hashes of the outputs are computed, not published.
    """
    said = canonical(json.loads(vector["input"]))
    assert said == vector["canonical"].encode()
    assert hashlib.sha256(said).hexdigest() == vector["sha256"]


@pytest.mark.parametrize("vector", _read("jcs_numbers.json"), ids=lambda vector: vector["ieee754"])
def test_numbers_are_written_as_rfc_8785_appendix_b_has_them(vector: dict[str, str]) -> None:
    """RFC 8785, Appendix B; the table is from memory."""
    (number,) = struct.unpack(">d", int(vector["ieee754"], 16).to_bytes(8, "big"))
    assert canonical(number) == vector["json"].encode()


@pytest.mark.parametrize("value", [float("nan"), float("inf"), 2**53, -(2**53), "\ud83e"])
def test_what_rfc_8785_cannot_say_is_refused(value: Any) -> None:
    """RFC 8785, 3.2.2.2 (lone surrogates), 3.2.2.3 (NaN, infinity); RFC 7493, 2.2 (2^53)."""
    with pytest.raises(rfc8785.CanonicalizationError):
        canonical(value)


@pytest.mark.parametrize(("said", "digest"), _read("log_vectors.json")["sha256"].items())
def test_the_hash_is_sha_256(said: str, digest: str) -> None:
    """FIPS 180-4 and NIST's examples; from memory."""
    text = "a" * 1_000_000 if said == "'a'*1000000" else said
    assert chained("", text.encode()) == digest


def test_a_chain_of_three_has_the_head_it_was_worked_out_to_have() -> None:
    """No published source: worked out by hand for `SHA-256(hash before + canonical record)`."""
    _, last = START
    for step in _read("log_vectors.json")["illustrative_chain"]:
        said = canonical(step["record"])
        assert (said, last) == (step["canonical"].encode(), step["prev"])
        last = chained(last, said)
        assert last == step["hash"]
