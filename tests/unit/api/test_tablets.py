"""The tablet's calls over HTTP: from the one-time code to a receipt, and each refusal as the problem it is."""

from __future__ import annotations

import json

import pytest
from cryptography.hazmat.primitives.asymmetric import ec

from server.core.crypto import digest, jwk_of, sign_jws, thumbprint, verify_jws
from server.core.entry import RECEIPT, REQUEST, build
from server.flows import enrol, units
from tests.support.served_unit import UNIT, served_unit
from tests.support.tablet import Tablet

NINE_MS = 1_795_597_200_000
API = "/api/v1"


@pytest.fixture
def served(tmp_path):
    with served_unit(tmp_path) as unit:
        yield unit


@pytest.fixture
def client(served):
    return served.app.test_client()


@pytest.fixture
def tablet(served):
    tablet = Tablet(served)
    for number in range(3):
        tablet.add({"type": "breach", "case": "c", "reached_eye": False}, NINE_MS + number)
    return tablet


def send(client, tablet, first=0, entries=None, **more):
    sent = tablet.entries[first:] if entries is None else entries
    return client.post(
        f"{API}/logs/entries", json={"certificate": tablet.certificate, "from": first, "entries": sent, **more}
    )


def problem(response, status, kind):
    assert (response.status_code, response.mimetype) == (status, "application/problem+json")
    assert response.json["type"] == f"urn:hubheld:problem:{kind}"
    return response.json


def receipt(served, response):
    assert response.status_code == 200, response.text
    return json.loads(verify_jws(response.json["receipt"], RECEIPT, served.authority.jwk))


def test_a_tablet_enrols_uploads_asks_and_pulls(served, client):
    key = ec.generate_private_key(ec.SECP256R1())
    jwk, now = jwk_of(key), enrol.VALID_MS
    code = enrol.new_code(UNIT, 4_000_000_000_000 - now)
    said = {"v": 1, "purpose": "enrol", "code": code, "device": thumbprint(jwk)}
    body = {"code": code, "name": "Tablet 9", "jwk": jwk, "proof": sign_jws(key, REQUEST, said)}
    enrolled = client.post(f"{API}/enrolments", json=body)
    assert enrolled.status_code == 201, enrolled.text
    assert (enrolled.json["server_jwk"], enrolled.json["unit"]) == (served.authority.jwk, UNIT)
    certificate = enrolled.json["certificate"]
    event = {"id": "e", "type": "breach", "case": "c", "clock": {}}
    entry = build(key, UNIT, thumbprint(jwk), 0, digest(certificate), event)
    body = {"certificate": certificate, "from": 0, "entries": [{"jws": entry, "texts": []}]}
    assert receipt(served, client.post(f"{API}/logs/entries", json=body))["n"] == 1
    assert receipt(served, client.post(f"{API}/logs/status", json={"certificate": certificate}))["head"] == digest(
        entry
    )
    request = sign_jws(key, REQUEST, {"v": 1, "purpose": "pull", "wall_ms": 1})
    pulled = client.post(f"{API}/pull", json={"certificate": certificate, "request": request})
    assert pulled.status_code == 200
    assert pulled.json["unit_values"]["number"] == 1


def test_a_gap_is_a_conflict_that_says_where_to_send_from(served, client, tablet):
    assert receipt(served, send(client, tablet, entries=tablet.entries[:1]))["n"] == 1
    assert problem(send(client, tablet, first=2), 409, "log-gap")["n"] == 1


def test_a_second_history_is_a_conflict_of_its_own(client, tablet):
    send(client, tablet)
    other = Tablet.__new__(Tablet)
    other.__dict__.update(tablet.__dict__, entries=[], head=digest(tablet.certificate))
    other.add({"type": "breach", "case": "d"}, NINE_MS)
    assert problem(send(client, other), 409, "log-fork")["n"] == 3


def test_an_entry_that_does_not_fit_is_named(client, tablet):
    tablet.entries[1]["jws"] = tablet.entries[1]["jws"][:-1]
    said = problem(send(client, tablet), 422, "entry-refused")
    assert said["seq"] == 1
    assert said["detail"].startswith("entry 1: ")
    assert ", expected " in said["detail"]


def test_a_certificate_that_does_not_fit_is_no_fault_of_an_entry(client, tablet):
    header, payload, signature = tablet.certificate.split(".")
    tablet.certificate = f"{header}.{payload}.{signature[:-4]}AAAA"
    problem(send(client, tablet), 422, "does-not-fit")


def test_an_old_receipt_lets_a_log_go_on_that_the_server_lost(served, client, tablet):
    head = digest(tablet.entries[1]["jws"])
    said = {"v": 1, "unit": UNIT, "device": tablet.device, "n": 2, "head": head, "epoch": 1, "at_ms": 1}
    old = sign_jws(served.authority.key, RECEIPT, said)
    assert receipt(served, send(client, tablet, first=2, receipt=old))["n"] == 3


def test_a_wrong_code_is_not_allowed(client, served):
    key = ec.generate_private_key(ec.SECP256R1())
    jwk = jwk_of(key)
    said = {"v": 1, "purpose": "enrol", "code": "AAAAA-AAAAA", "device": thumbprint(jwk)}
    body = {"code": "AAAAA-AAAAA", "name": "Tablet", "jwk": jwk, "proof": sign_jws(key, REQUEST, said)}
    problem(client.post(f"{API}/enrolments", json=body), 403, "not-allowed")


def test_guessing_a_pin_is_closed_with_the_time_to_wait(client, served, tablet):
    units.add_person(served.authority, UNIT, units.NewPerson("SU1", "surgeon", "271828"), NINE_MS)
    jwk = jwk_of(ec.generate_private_key(ec.SECP256R1()))
    said = {"v": 1, "purpose": "pin-key", "person": "SU1", "pin": "000000", "key": thumbprint(jwk), "wall_ms": 1}
    request = sign_jws(tablet.key, REQUEST, said)
    body = {"certificate": tablet.certificate, "request": request, "jwk": jwk}
    for _ in range(5):
        problem(client.post(f"{API}/pin-keys", json=body), 403, "not-allowed")
    closed = client.post(f"{API}/pin-keys", json=body)
    problem(closed, 429, "too-many-tries")
    assert 0 < int(closed.headers["Retry-After"]) <= 60


def test_health_says_how_many_units_there_are(client):
    assert client.get(f"{API}/health").json == {"status": "answers", "units": 1}


def test_the_openapi_document_names_every_call_and_its_problems(served, client):
    document = client.get(f"{API}/openapi.json").json
    assert document["openapi"] == "3.1.0"
    routes = {rule.rule.replace("<string:", "{").replace(">", "}") for rule in served.app.url_map.iter_rules()}
    api = {route for route in routes if route.startswith(API)} - {f"{API}/openapi.json"}
    assert set(document["paths"]) == api
    for path, calls in document["paths"].items():
        for method, call in calls.items():
            if method != "parameters":
                assert call["summary"], path
                assert "default" in call["responses"], path
    errors = document["components"]["responses"]["DEFAULT_ERROR"]["content"]
    assert list(errors) == ["application/problem+json"]
