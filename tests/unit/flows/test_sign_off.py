"""A signature is checked when it comes in and never refused: kept is whether it proves its statement, or why not."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import pytest
from cryptography.hazmat.primitives.asymmetric import ec

from server.core.canonical import canonical
from server.core.case_file import read
from server.core.case_fold import fold
from server.core.crypto import jwk_of, seal, sign_jws, sign_raw, thumbprint
from server.core.entry import REQUEST
from server.core.judge.judge import judge
from server.core.statement import answers_of, statement
from server.flows import pin_keys, units
from server.store import log, projections
from server.store.scope import reading
from tests.support.served_unit import UNIT, served_unit
from tests.support.tablet import Tablet

NINE_MS = 1_795_597_200_000  # 2026-11-25 09:00 in London
DAY, WEEK = "2026-11-25", "2026-W48"
CODE, PIN = "SU1", "271828"
KEY = ec.derive_private_key(11, ec.SECP256R1())


@pytest.fixture
def served(tmp_path):
    with served_unit(tmp_path) as unit:
        units.add_person(unit.authority, UNIT, units.NewPerson(CODE, "surgeon", PIN), NINE_MS)
        yield unit


@dataclass
class Signing:
    """A case on a tablet, received by the server, with a surgeon's key on that tablet."""

    served: Any
    tablet: Tablet
    case: str
    certificate: str

    def statement(self):
        """What the surgeon would sign now."""
        with reading(UNIT) as scope:
            entries = log.events_about(scope, {self.case})
        protocol = self.served.authority.protocol
        folded = fold(entries, self.case, protocol)
        judgement = judge(read(folded.case_file, protocol), protocol, without_sign_off=True)
        return statement(UNIT, folded.meta, judgement, answers_of(folded.case_file["events"]), protocol.name)

    def sign(self, said, key=KEY, staff=None, **changed):
        """Records the signature, sends it, and returns what the server made of it."""
        who = {} if staff is None else {"staff": staff}
        proof = {"kind": "pin", "certificate": self.certificate, "signature": sign_raw(key, canonical(said)), **changed}
        event = {"type": "sign_off", "case": self.case, "statement": said, "proof": proof, **who}
        self.tablet.add(event, NINE_MS + 9_000_000)
        return self.sent()

    def sent(self):
        self.tablet.send(NINE_MS)
        with reading(UNIT) as scope:
            return next(c for c in projections.cases_of_week(scope, WEEK) if c.case == self.case).sign_off


def certified(served, tablet, key=KEY, now_ms=NINE_MS):
    said = {"v": 1, "purpose": "pin-key", "person": CODE, "pin": PIN, "key": thumbprint(jwk_of(key)), "wall_ms": now_ms}
    request = sign_jws(tablet.key, REQUEST, said)
    answer = pin_keys.certify(served.authority, tablet.certificate, request, jwk_of(key), bytes(16), now_ms)
    return answer["certificate"]


@pytest.fixture
def signing(served):
    tablet = Tablet(served)
    case = tablet.open_case(DAY, "AB12", NINE_MS, list=None, slot=None)
    tablet.room(case, "patient_in", NINE_MS)
    tablet.step(case, "seal-check", {"state": "leak"}, NINE_MS + 1000)
    tablet.add({"type": "answer", "case": case, "deviation": "seal-check/out_of_tolerance", "grade": "G3"}, NINE_MS)
    tablet.send(NINE_MS)
    return Signing(served, tablet, case, certified(served, tablet))


def test_a_signature_over_the_statement_by_the_surgeons_key_is_proven(signing):
    kept = signing.sign(signing.statement())
    assert (kept["problem"], kept["is_before_later"]) == (None, False)


def test_the_statement_names_the_digest_of_every_entry_and_every_deviation_with_its_answer(signing):
    said = signing.statement()
    assert len(said["entries"]) == len(signing.tablet.entries)
    leak = next(row for row in said["deviations"] if row["key"] == "seal-check/out_of_tolerance")
    assert leak["answer"] == {"grade": "G3"}
    assert {row["step"] for row in said["deviations"]} >= {"machine-ready", "seal-check"}
    assert not any(row["step"] == "surgeon-sign-off" for row in said["deviations"])


def test_a_later_entry_is_shown_and_a_later_answer_stands_for_itself(signing):
    signing.sign(signing.statement())
    answer = {"type": "answer", "case": signing.case, "deviation": "machine-ready/omitted", "grade": "G2"}
    signing.tablet.add(answer, NINE_MS)
    assert signing.sent()["is_before_later"] is False
    signing.tablet.step(signing.case, "final-look", {"state": "dry"}, NINE_MS + 2000)
    kept = signing.sent()
    assert (kept["problem"], kept["is_before_later"]) == (None, True)


@pytest.mark.parametrize(
    ("changed", "why"),
    [
        ({"unit": "south-eye"}, "another unit"),
        ({"case": f"{UNIT}_{DAY}_CD34_right"}, "another case"),
        ({"entries": ["nobody-holds-this"]}, "not held here"),
        ({"v": 2}, "another form"),
        ({"type": "other"}, "another form"),
        ({"entries": "all"}, "another form"),
        ({"more": 1}, "another form"),
    ],
)
def test_a_statement_about_something_else_does_not_fit(signing, changed, why):
    assert why in signing.sign({**signing.statement(), **changed})["problem"]


def test_a_statement_that_was_changed_after_it_was_signed_does_not_fit(signing):
    said = signing.statement()
    signature = sign_raw(KEY, canonical(said))
    changed = {**said, "deviations": []}
    assert "the signature does not fit" in signing.sign(changed, signature=signature)["problem"]


def test_a_signature_by_another_key_does_not_fit(signing):
    other = ec.derive_private_key(12, ec.SECP256R1())
    assert "the signature does not fit" in signing.sign(signing.statement(), key=other)["problem"]


def test_a_key_that_the_server_did_not_certify_does_not_fit(signing):
    payload = {"v": 1, "unit": UNIT, "device": signing.tablet.device, "person": {"sha256": "s"}, "jwk": jwk_of(KEY)}
    forged = sign_jws(KEY, "hubheld-pin-key", {**payload, "at_ms": NINE_MS})
    assert "the signature does not fit" in signing.sign(signing.statement(), certificate=forged)["problem"]


def test_a_signature_names_the_person_whose_key_it_is(signing):
    person = {"sha256": seal(bytes(16), CODE)}
    assert signing.sign(signing.statement(), staff=person)["problem"] is None
    other = {"sha256": seal(bytes(16), "SU2")}
    assert "another person" in signing.sign(signing.statement(), staff=other)["problem"]


def test_a_key_of_another_tablet_does_not_fit(served, signing):
    signing.certificate = certified(served, Tablet(served, "Tablet 2"))
    assert "another tablet" in signing.sign(signing.statement())["problem"]


@pytest.mark.parametrize("proof", [{"kind": "later"}, {"certificate": None}, {"signature": 1}])
def test_a_proof_of_a_form_that_is_not_known_does_not_fit(signing, proof):
    assert signing.sign(signing.statement(), **proof)["problem"]


@pytest.mark.parametrize("said", [None, [], {}, {"v": 1}])
def test_a_sign_off_without_a_statement_counts_as_one_and_proves_nothing(signing, said):
    signing.tablet.add({"type": "sign_off", "case": signing.case, "statement": said, "proof": {"kind": "pin"}}, NINE_MS)
    assert signing.sent()["problem"]
