"""A tablet is enrolled by a one-time code and the proof that it holds its key; what it gets is pinned for good."""

from __future__ import annotations

import pytest
from cryptography.hazmat.primitives.asymmetric import ec

from server.core.crypto import jwk_of, sign_jws, thumbprint
from server.core.entry import REQUEST, verify_certificate
from server.core.errors import HubheldError, InvalidInput, NotAllowed, TamperedRecord
from server.flows import enrol
from server.store import log
from server.store.scope import reading
from tests.support.rows import rows
from tests.support.served_unit import FOUNDED_MS, UNIT, served_unit

NOW_MS = FOUNDED_MS + 1000
KEY = ec.derive_private_key(21, ec.SECP256R1())
DEVICE = thumbprint(jwk_of(KEY))


@pytest.fixture
def served(tmp_path):
    with served_unit(tmp_path) as unit:
        yield unit


def proof(code, key=KEY, /, **changed):
    said = {"v": 1, "purpose": "enrol", "code": code, "device": thumbprint(jwk_of(key)), **changed}
    return sign_jws(key, REQUEST, said)


def redeem(served, code, *, key=KEY, signed=None, name="Tablet 1", now_ms=NOW_MS):
    signed = proof(code, key) if signed is None else signed
    return enrol.enrol(served.authority, code, name, jwk_of(key), signed, now_ms)


def office_entries(served):
    return [row for row in rows(served, "log_entry")["log_entry"] if row[1] == served.authority.device]


def test_a_code_gives_a_certificate_and_the_key_to_pin_and_stands_in_the_office_log(served):
    before = len(office_entries(served))
    answer = redeem(served, enrol.new_code(UNIT, NOW_MS))
    assert (answer["server_jwk"], answer["unit"]) == (served.authority.jwk, UNIT)
    certificate = verify_certificate(answer["certificate"], served.authority.jwk)
    assert (certificate.unit, certificate.device, certificate.name) == (UNIT, DEVICE, "Tablet 1")
    assert len(office_entries(served)) == before + 1
    with reading(UNIT) as scope:
        assert log.device(scope, DEVICE).certificate == answer["certificate"]


@pytest.mark.parametrize(
    "typed", [str.lower, lambda code: code.replace("-", ""), lambda code: f" {code[:3]} {code[3:]}"]
)
def test_a_code_may_be_typed_in_any_spelling(served, typed):
    assert redeem(served, typed(enrol.new_code(UNIT, NOW_MS)))["unit"] == UNIT


def test_letters_that_look_like_digits_are_taken_as_those(served, monkeypatch):
    monkeypatch.setattr("server.flows.enrol.secrets.choice", lambda _letters: "0")
    assert enrol.new_code(UNIT, NOW_MS) == "00000-00000"
    assert redeem(served, "OOOOO-ooooo")["unit"] == UNIT


def test_a_code_has_fifty_bits_and_is_kept_as_a_verifier_only(served):
    code = enrol.new_code(UNIT, NOW_MS)
    plain = code.replace("-", "")
    assert len(plain) == 10
    assert set(plain) <= set(enrol.CROCKFORD)
    assert len(enrol.CROCKFORD) == 32
    assert plain not in repr(rows(served, "enrolment_code"))
    assert plain[4:] not in repr(rows(served, "enrolment_code"))


def test_a_code_works_once(served):
    code = enrol.new_code(UNIT, NOW_MS)
    redeem(served, code)
    with pytest.raises(NotAllowed):
        redeem(served, code, key=ec.derive_private_key(22, ec.SECP256R1()))


@pytest.mark.parametrize(("later_ms", "works"), [(enrol.VALID_MS, True), (enrol.VALID_MS + 1, False)])
def test_a_code_is_in_force_for_ten_minutes(served, later_ms, works):
    code = enrol.new_code(UNIT, NOW_MS)
    if works:
        assert redeem(served, code, now_ms=NOW_MS + later_ms)
    else:
        with pytest.raises(NotAllowed):
            redeem(served, code, now_ms=NOW_MS + later_ms)


@pytest.mark.parametrize(("wrong", "works"), [(4, True), (5, False)])
def test_a_code_bears_five_tries(served, wrong, works):
    code = enrol.new_code(UNIT, NOW_MS)
    other = code[:-1] + ("0" if code[-1] != "0" else "1")
    for _ in range(wrong):
        with pytest.raises(NotAllowed):
            redeem(served, other)
    if works:
        assert redeem(served, code)
    else:
        with pytest.raises(NotAllowed):
            redeem(served, code)


def test_an_unknown_code_gets_the_same_answer_as_a_wrong_one(served):
    code = enrol.new_code(UNIT, NOW_MS)
    answers = set()
    for tried in (code[:-1] + ("0" if code[-1] != "0" else "1"), "ZZZZZ-ZZZZZ", "", "Ü", "0" * 40):
        with pytest.raises(NotAllowed) as refused:
            redeem(served, tried)
        answers.add(str(refused.value))
    assert len(answers) == 1


@pytest.mark.parametrize(
    "changed", [{"code": "00000-00000"}, {"device": "another"}, {"purpose": "pull"}, {"more": 1}, {"v": 2}]
)
def test_a_proof_of_something_else_costs_no_try(served, changed):
    code = enrol.new_code(UNIT, NOW_MS)
    before = rows(served)
    with pytest.raises(InvalidInput):
        redeem(served, code, signed=proof(code, **changed))
    assert rows(served) == before


def test_a_proof_by_another_key_is_refused(served):
    code = enrol.new_code(UNIT, NOW_MS)
    other = ec.derive_private_key(22, ec.SECP256R1())
    with pytest.raises(TamperedRecord):
        redeem(served, code, signed=proof(code, other, device=DEVICE))


@pytest.mark.parametrize("name", ["", "x" * 41, " ", "a\x00b", "a\nb", "a\u202eb"])
def test_a_tablet_has_a_name_that_fits_on_a_screen_and_can_be_read(served, name):
    with pytest.raises(HubheldError):
        redeem(served, enrol.new_code(UNIT, NOW_MS), name=name)


def test_a_tablet_whose_answer_was_lost_gets_the_same_certificate_with_another_code(served):
    first = redeem(served, enrol.new_code(UNIT, NOW_MS))
    before = len(office_entries(served))
    again = redeem(served, enrol.new_code(UNIT, NOW_MS), name="Tablet 2", now_ms=NOW_MS + 5)
    assert again["certificate"] == first["certificate"]
    assert len(office_entries(served)) == before


def test_codes_that_are_out_of_force_are_forgotten(served):
    for _ in range(3):
        enrol.new_code(UNIT, NOW_MS)
    enrol.new_code(UNIT, NOW_MS + enrol.VALID_MS + 1)
    assert len(rows(served, "enrolment_code")["enrolment_code"]) == 1


def test_a_new_code_never_takes_the_place_of_one_in_force(served, monkeypatch):
    letters = iter("A" * 10 + "A" * 10 + "B" * 10)
    monkeypatch.setattr("server.flows.enrol.secrets.choice", lambda _letters: next(letters))
    assert [enrol.new_code(UNIT, NOW_MS) for _ in range(2)] == ["AAAAA-AAAAA", "BBBBB-BBBBB"]
