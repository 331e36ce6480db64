"""One value has one text, the one of RFC 8785."""

from __future__ import annotations

import hashlib
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.core import errors, strict_json
from server.core.canonical import canonical
from tests.support.shared_vectors import vectors

VECTORS = vectors("canonical")
WHOLE_MAX = 2**53 - 1
values = st.recursive(
    st.none() | st.booleans() | st.integers(-WHOLE_MAX, WHOLE_MAX) | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
    max_leaves=20,
)


def written(text):
    return canonical(strict_json.parse(text.encode()))


@pytest.mark.parametrize("vector", VECTORS, ids=lambda vector: vector["id"])
def test_the_published_text_comes_out(vector):
    expect, text = vector["expect"], vector["input"]["json"]
    if "refused" in expect:
        with pytest.raises(getattr(errors, expect["refused"])):
            written(text)
        return
    data = bytes.fromhex(expect["utf8_hex"]) if "utf8_hex" in expect else expect["text"].encode()
    assert written(text) == data
    assert expect.get("sha256_hex", hashlib.sha256(data).hexdigest()) == hashlib.sha256(data).hexdigest()


@given(values)
def test_what_is_written_is_read_as_the_same_value(value):
    assert json.loads(canonical(value)) == value


@given(st.dictionaries(st.text(), st.integers(0, 9), min_size=2))
def test_the_order_in_which_members_were_put_in_changes_nothing(members):
    assert canonical(dict(reversed(members.items()))) == canonical(members)


@given(st.dictionaries(st.text(), st.integers(0, 9), min_size=2))
def test_names_stand_in_the_order_of_their_utf_16_units(members):
    names = [name.encode("utf-16-be") for name in json.loads(canonical(members))]
    assert names == sorted(names)


@pytest.mark.parametrize(
    "value", [1.0, float("nan"), WHOLE_MAX + 1, -WHOLE_MAX - 1, "\ud800", {"\udfff": 1}, b"x", {1}]
)
def test_what_has_no_form_here_is_refused(value):
    with pytest.raises(errors.InvalidInput):
        canonical({"value": [value]})
