"""Every shared vector of entries and sealed texts gets exactly the answer that is written beside it."""

from __future__ import annotations

import pytest

from server.core import entry, errors
from server.core.crypto import from_base64url, seal
from tests.vectors.shared_files import SHARED, read

FILE = read(SHARED / "vectors/entry/entries.json")
MEMBERS = ["id", "reason", "source", "input", "expect"]
VECTORS_MIN = 32


def verified(vector):
    place = vector["input"]["place"]
    return entry.verify(vector["input"]["jws"], FILE["jwk"], FILE["unit"], FILE["device"], place["seq"], place["prev"])


@pytest.mark.parametrize("vector", FILE["vectors"], ids=lambda vector: vector["id"])
def test_an_entry_is_taken_or_refused_as_written(vector):
    assert list(vector) == MEMBERS
    expect = vector["expect"]
    if "refused" in expect:
        with pytest.raises(getattr(errors, expect["refused"])):
            verified(vector)
        return
    found = verified(vector)
    assert {"digest": found.digest, "event": found.event} == expect


@pytest.mark.parametrize("vector", FILE["seals"], ids=lambda vector: vector["id"])
def test_a_text_is_sealed_as_written(vector):
    given = vector["input"]
    assert seal(from_base64url(given["salt"]), given["text"]) == vector["expect"]


def test_ids_are_unique_and_none_has_gone():
    ids = [vector["id"] for vector in FILE["vectors"] + FILE["seals"]]
    assert len(set(ids)) == len(ids)
    assert len(FILE["vectors"]) >= VECTORS_MIN
