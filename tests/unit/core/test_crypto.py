"""Signatures, thumbprints and digests are those of the published standards, and nothing else passes."""

from __future__ import annotations

import hashlib

import pytest
from cryptography.hazmat.primitives.asymmetric import ec
from hypothesis import given
from hypothesis import strategies as st

from server.core.crypto import (
    base64url,
    digest,
    from_base64url,
    jwk_of,
    seal,
    sign_jws,
    sign_raw,
    thumbprint,
    verify_jws,
    verify_raw,
)
from server.core.errors import HubheldError, InvalidInput, TamperedRecord
from tests.support.shared_vectors import vectors

VECTORS = vectors("crypto")
# RFC 6979 appendix A.2.5: a published private key, for tests alone.
KEY = ec.derive_private_key(0xC9AFA9D845BA75166B5C215767B1D6934E50C3DB36E89B127B8A622B120F6721, ec.SECP256R1())
TYP = "hubheld-entry"


def of_kind(*kinds):
    chosen = [vector for vector in VECTORS if vector["kind"] in kinds]
    return pytest.mark.parametrize("vector", chosen, ids=[vector["id"] for vector in chosen])


def test_every_vector_is_of_a_kind_that_is_run_here():
    assert {vector["kind"] for vector in VECTORS} == {"thumbprint", "verify", "key"}


@of_kind("thumbprint")
def test_thumbprints_are_those_published(vector):
    assert thumbprint(vector["jwk"]) == vector["expect"]


@of_kind("verify")
def test_a_published_signature_fits_and_a_changed_one_does_not(vector):
    message = vector["message"].encode()
    if vector["expect"] == "fits":
        verify_raw(vector["jwk"], message, vector["signature"])
    else:
        with pytest.raises(TamperedRecord):
            verify_raw(vector["jwk"], message, vector["signature"])


@of_kind("key")
def test_what_is_no_p256_key_is_refused(vector):
    with pytest.raises(InvalidInput):
        thumbprint(vector["jwk"])


@pytest.mark.parametrize("jwk", [None, [], "x", {}, {"kty": "EC", "crv": "P-256", "x": 1, "y": 2}])
def test_what_is_no_key_at_all_is_refused(jwk):
    with pytest.raises(InvalidInput):
        thumbprint(jwk)


@given(st.binary(max_size=200))
def test_every_signature_that_is_made_fits_and_is_64_bytes_long(message):
    signature = sign_raw(KEY, message)
    assert len(from_base64url(signature)) == 64
    verify_raw(jwk_of(KEY), message, signature)


@given(st.binary(max_size=100))
def test_base64url_comes_back_as_the_same_bytes(data):
    assert from_base64url(base64url(data)) == data


@pytest.mark.parametrize("text", ["A", "AB", "AAB", "AA==", "A+A/", "AA\n", " AAA", "ÄÄÄÄ", "AAAAA"])
def test_other_spellings_of_base64url_are_refused(text):
    with pytest.raises(InvalidInput):
        from_base64url(text)


def test_a_digest_is_the_base64url_sha_256():
    # FIPS 180-2 appendix B.1: the message "abc".
    published = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert from_base64url(digest("abc")).hex() == published


def test_a_sealed_text_is_the_digest_of_salt_and_text():
    assert from_base64url(seal(b"s" * 16, "Maß")) == hashlib.sha256(b"s" * 16 + "Maß".encode()).digest()


def test_a_jws_carries_its_payload_as_canonical_json():
    assert verify_jws(sign_jws(KEY, TYP, {"b": 1, "a": "é"}), TYP, jwk_of(KEY)) == '{"a":"é","b":1}'.encode()


def changed_jws():
    jws = sign_jws(KEY, TYP, {"a": 1})
    header, payload, signature = jws.split(".")
    other_header = base64url(b'{"alg":"none","typ":"hubheld-entry"}')
    turned_header = base64url(b'{"typ":"hubheld-entry","alg":"ES256"}')
    other_payload = base64url(b'{"a":2}')
    yield "another type", sign_jws(KEY, "hubheld-receipt", {"a": 1})
    yield "an algorithm named none", f"{other_header}.{payload}."
    yield "a header that names no algorithm we know", f"{other_header}.{payload}.{signature}"
    yield "a header in another order", f"{turned_header}.{payload}.{signature}"
    yield "another payload", f"{header}.{other_payload}.{signature}"
    yield "a signature of another key", sign_jws(ec.generate_private_key(ec.SECP256R1()), TYP, {"a": 1})
    yield "a signature cut short", jws[:-2]
    yield "a fourth part", f"{jws}.{signature}"
    yield "a blank behind it", f"{jws} "
    yield "nothing", ""


@pytest.mark.parametrize("jws", [pytest.param(jws, id=name) for name, jws in changed_jws()])
def test_a_changed_jws_is_refused(jws):
    with pytest.raises((InvalidInput, TamperedRecord)):
        verify_jws(jws, TYP, jwk_of(KEY))


def test_every_flipped_bit_of_a_jws_is_found():
    jws = sign_jws(KEY, TYP, {"a": 1})
    for place in range(len(jws)):
        for bit in range(7):
            flipped = jws[:place] + chr(ord(jws[place]) ^ (1 << bit)) + jws[place + 1 :]
            with pytest.raises(HubheldError):
                verify_jws(flipped, TYP, jwk_of(KEY))
