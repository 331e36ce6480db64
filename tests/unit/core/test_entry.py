"""An entry stands in a log only as its device signed it for that very place."""

from __future__ import annotations

import pytest
from cryptography.hazmat.primitives.asymmetric import ec

from server.core.crypto import base64url, digest, jwk_of, seal, sign_jws, thumbprint
from server.core.entry import (
    CERTIFICATE,
    ENTRY,
    PIN_KEY,
    build,
    read_pin_key,
    read_texts,
    sealed_in,
    verify,
    verify_certificate,
)
from server.core.errors import BrokenChain, HubheldError, InvalidInput, TamperedRecord

KEY = ec.derive_private_key(7, ec.SECP256R1())
OTHER_KEY = ec.derive_private_key(8, ec.SECP256R1())
JWK = jwk_of(KEY)
DEVICE = thumbprint(JWK)
UNIT = "north-eye"
PREV = digest("what stands before")
EVENT = {"id": "e1", "type": "room", "case": "c", "moment": "patient_in"}
PLACE = (JWK, UNIT, DEVICE, 3, PREV)
SALT = bytes(range(16))


def entry(**changed):
    payload = {"v": 1, "unit": UNIT, "device": DEVICE, "seq": 3, "prev": PREV, "event": EVENT, **changed}
    return sign_jws(KEY, ENTRY, {name: value for name, value in payload.items() if value is not None})


def sealed(text="free text", salt=SALT):
    return {"sha256": seal(salt, text), "salt": base64url(salt), "text": text}


def test_an_entry_is_read_with_its_event_and_its_digest():
    jws = build(KEY, UNIT, DEVICE, 3, PREV, EVENT)
    found = verify(jws, *PLACE)
    assert (found.event, found.digest, found.seq, found.device) == (EVENT, digest(jws), 3, DEVICE)


@pytest.mark.parametrize(
    ("changed", "kind"),
    [
        ({"unit": "south-eye"}, TamperedRecord),  # cross-unit
        ({"device": thumbprint(jwk_of(OTHER_KEY))}, TamperedRecord),  # cross-device
        ({"seq": 2}, TamperedRecord),  # replayed
        ({"seq": 4}, TamperedRecord),  # one left out
        ({"prev": digest("another entry")}, BrokenChain),
        ({"v": 2}, TamperedRecord),
        ({"v": True}, InvalidInput),
        ({"seq": "3"}, InvalidInput),
        ({"event": []}, InvalidInput),
        ({"event": None}, InvalidInput),
        ({"more": 1}, InvalidInput),
        ({"event": {"type": "room"}}, InvalidInput),
        ({"event": {"id": "e1"}}, InvalidInput),
        ({"event": {"id": 1, "type": "room"}}, InvalidInput),
        ({"event": {**EVENT, "text": "a\x00b"}}, InvalidInput),
        ({"event": {**EVENT, "\x00": 1}}, InvalidInput),
    ],
)
def test_an_entry_signed_for_another_place_or_in_another_form_is_refused(changed, kind):
    with pytest.raises(kind) as refused:
        verify(entry(**changed), *PLACE)
    assert "entry 3" in str(refused.value)


def test_an_entry_of_another_key_is_refused():
    jws = build(OTHER_KEY, UNIT, DEVICE, 3, PREV, EVENT)
    with pytest.raises(TamperedRecord):
        verify(jws, *PLACE)


def test_unknown_members_of_an_event_are_kept():
    event = {**EVENT, "later": {"version": [1, None]}}
    assert verify(build(KEY, UNIT, DEVICE, 3, PREV, event), *PLACE).event == event


def test_a_payload_that_is_deeper_than_any_body_may_be_is_refused():
    deep: object = 1
    for _ in range(11):
        deep = [deep]
    with pytest.raises(InvalidInput):
        verify(entry(event={**EVENT, "deep": deep}), *PLACE)


def test_the_backslash_itself_is_no_nul():
    event = {**EVENT, "text": r"written as \u0000"}
    assert verify(build(KEY, UNIT, DEVICE, 3, PREV, event), *PLACE).event == event


def certificate(key=KEY, **changed):
    payload = {"v": 1, "unit": UNIT, "device": DEVICE, "jwk": JWK, "name": "Tablet", "at_ms": 5}
    return sign_jws(key, CERTIFICATE, {**payload, **changed})


def test_a_certificate_names_unit_device_and_key():
    found = verify_certificate(certificate(), JWK)
    assert (found.unit, found.device, found.jwk, found.name, found.at_ms) == (UNIT, DEVICE, JWK, "Tablet", 5)


@pytest.mark.parametrize(
    "jws",
    [
        certificate(OTHER_KEY),
        certificate(device="another"),
        certificate(jwk=jwk_of(OTHER_KEY)),
        certificate(jwk={**JWK, "crv": "P-384"}),
        certificate(v=2),
        certificate(more=1),
        certificate(at_ms="5"),
        build(KEY, UNIT, DEVICE, 3, PREV, EVENT),
        "",
    ],
)
def test_a_certificate_that_the_server_did_not_sign_for_this_device_is_refused(jws):
    with pytest.raises(HubheldError):
        verify_certificate(jws, JWK)


@pytest.mark.parametrize("changed", [{"jwk": {}}, {"person": "AB"}, {"at_ms": None}, {"more": 1}])
def test_the_certificate_of_a_pin_key_has_its_own_members_and_no_other(changed):
    payload = {"v": 1, "unit": UNIT, "device": DEVICE, "person": {"sha256": "s"}, "jwk": JWK, "at_ms": 5}
    assert read_pin_key(sign_jws(KEY, PIN_KEY, payload), JWK) == payload
    with pytest.raises(InvalidInput):
        read_pin_key(sign_jws(KEY, PIN_KEY, {**payload, **changed}), JWK)


def test_texts_that_fit_their_digests_are_read():
    beside = sealed()
    event = {**EVENT, "value": {"kept_because": {"sha256": beside["sha256"]}}}
    assert sealed_in(event) == {beside["sha256"]}
    assert read_texts([beside], event) == {beside["sha256"]: (beside["salt"], "free text")}
    assert read_texts([], event) == {}


@pytest.mark.parametrize(
    "beside",
    [
        {**sealed(), "text": "another text"},
        {**sealed(), "salt": base64url(bytes(16))},
        {**sealed(salt=bytes(8)), "salt": base64url(bytes(8))},
        {**sealed(), "salt": "not base64url!"},
        sealed("a text that no event names"),
        sealed("a\x00b"),
    ],
)
def test_texts_that_do_not_fit_are_refused(beside):
    named = {"sha256": beside["sha256"]} if "no event" not in beside["text"] else {}
    with pytest.raises(HubheldError):
        read_texts([beside], {**EVENT, "text": named})
