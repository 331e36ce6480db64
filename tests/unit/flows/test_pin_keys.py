"""A surgeon's key on a tablet is certified for code and PIN, for that tablet alone; guessing is closed for a while."""

from __future__ import annotations

import pytest
from cryptography.hazmat.primitives.asymmetric import ec

from server.core.crypto import from_base64url, jwk_of, seal, sign_jws, thumbprint
from server.core.entry import REQUEST, read_pin_key
from server.core.errors import HubheldError, InvalidInput, NotAllowed, TamperedRecord, TooManyTries
from server.flows import pin_keys, units
from tests.support.rows import rows
from tests.support.served_unit import UNIT, served_unit
from tests.support.tablet import Tablet

NOW_MS = 1_795_597_200_000
CODE, PIN, WRONG = "SU1", "271828", "314159"
KEY = ec.derive_private_key(31, ec.SECP256R1())
SALT = bytes(range(16))


@pytest.fixture
def served(tmp_path):
    with served_unit(tmp_path) as unit:
        units.add_person(unit.authority, UNIT, units.NewPerson(CODE, "surgeon", PIN), NOW_MS)
        units.add_person(unit.authority, UNIT, units.NewPerson("NU1", "recorder", PIN), NOW_MS)
        yield unit


@pytest.fixture
def tablet(served):
    return Tablet(served)


def certify(served, tablet, pin=PIN, code=CODE, now_ms=NOW_MS, jwk=None, **changed):
    said = {"v": 1, "purpose": "pin-key", "person": code, "pin": pin, "key": thumbprint(jwk_of(KEY)), "wall_ms": 1}
    request = sign_jws(tablet.key, REQUEST, {**said, **changed})
    jwk = jwk_of(KEY) if jwk is None else jwk
    return pin_keys.certify(served.authority, tablet.certificate, request, jwk, SALT, now_ms)


def test_the_certificate_names_person_and_tablet_and_the_code_stands_beside_it_sealed(served, tablet):
    answer = certify(served, tablet)
    certificate = read_pin_key(answer["certificate"], served.authority.jwk)
    sealed = seal(SALT, CODE)
    assert (certificate["unit"], certificate["device"], certificate["jwk"]) == (UNIT, tablet.device, jwk_of(KEY))
    assert certificate["person"] == {"sha256": sealed}
    assert (answer["person"]["sha256"], answer["person"]["text"]) == (sealed, CODE)
    assert from_base64url(answer["person"]["salt"]) == SALT
    assert any(sealed in row and CODE in row for row in rows(served, "sealed_text")["sealed_text"])


def test_neither_pin_nor_code_stands_in_what_is_signed(served, tablet):
    certificate = read_pin_key(certify(served, tablet)["certificate"], served.authority.jwk)
    assert CODE not in repr(certificate)
    assert PIN not in repr(rows(served))


def test_asking_again_after_a_lost_answer_gives_another_certificate_for_the_same_key(served, tablet):
    certify(served, tablet)
    certify(served, tablet, now_ms=NOW_MS + 1)
    assert len(rows(served, "pin_key")["pin_key"]) == 1


@pytest.mark.parametrize(("code", "pin"), [(CODE, WRONG), ("NOBODY", PIN), ("NU1", PIN), (CODE, "")])
def test_a_wrong_pin_an_unknown_code_and_a_nurses_code_get_the_same_answer(served, tablet, code, pin):
    with pytest.raises(NotAllowed) as refused:
        certify(served, tablet, pin, code)
    assert str(refused.value) == "the code, the PIN or the passphrase does not fit"


def test_five_wrong_pins_close_this_tablet_for_this_person_and_nobody_else(served, tablet):
    for _ in range(5):
        with pytest.raises(NotAllowed):
            certify(served, tablet, WRONG)
    with pytest.raises(TooManyTries) as closed:
        certify(served, tablet)
    assert closed.value.wait_s == 60
    assert certify(served, Tablet(served, "Tablet 2"))
    assert certify(served, tablet, now_ms=NOW_MS + 60_000)


@pytest.mark.parametrize(
    "changed",
    [{"purpose": "pull"}, {"key": "another"}, {"more": 1}, {"jwk": jwk_of(ec.derive_private_key(32, ec.SECP256R1()))}],
)
def test_a_request_about_something_else_is_refused_and_costs_no_try(served, tablet, changed):
    before = rows(served)
    with pytest.raises(InvalidInput):
        certify(served, tablet, **changed)
    assert rows(served) == before


def test_a_request_that_another_device_signed_is_refused(served, tablet):
    other = Tablet(served, "Tablet 2")
    other.certificate = tablet.certificate
    with pytest.raises(TamperedRecord):
        certify(served, other)


def test_a_key_that_is_none_is_refused(served, tablet):
    with pytest.raises(HubheldError):
        certify(served, tablet, jwk={"kty": "EC"})
