"""A body is strict JSON of the documented shape, or it is refused with the place named, before anything reads it."""

from __future__ import annotations

import json

import pytest

from server.config import BODY_BYTES_MAX, ENTRIES_MAX
from server.core.errors import RetryLater
from tests.support.rows import rows
from tests.support.served_unit import served_unit

STATUS, ENTRIES = "/api/v1/logs/status", "/api/v1/logs/entries"
JSON = "application/json"
ENTRY = {"jws": "a", "texts": []}


@pytest.fixture
def served(tmp_path):
    with served_unit(tmp_path) as unit:
        yield unit


@pytest.fixture
def client(served):
    return served.app.test_client()


def refused(response, status, kind):
    assert response.status_code == status, response.text
    assert response.mimetype == "application/problem+json"
    body = response.json
    assert body.keys() >= {"type", "title", "status"}
    assert body["status"] == status
    assert body["type"] == kind or body["type"] == f"urn:hubheld:problem:{kind}"
    return body


def nested(depth):
    return b'{"certificate":' + b"[" * (depth - 1) + b"]" * (depth - 1) + b"}"


@pytest.mark.parametrize(
    ("body", "where"),
    [
        (b"", "line 1 column 1"),
        (b"{", "line 1 column 2"),
        (b'{"certificate":"a","certificate":"b"}', "line 1 column 20"),
        (b'{"certificate":NaN}', "line 1 column 16"),
        (b'{"certificate":Infinity}', "line 1 column 16"),
        (b'{"certificate":1.0}', "line 1 column 16"),
        (b'{"certificate":1e3}', "line 1 column 16"),
        (b'{"certificate":9007199254740992}', "line 1 column 16"),
        (b'{"certificate":"\\ud800"}', "line 1 column 16"),
        (b'\xef\xbb\xbf{"certificate":"a"}', "line 1 column 1"),
        (b'{"certificate":"\xff"}', "byte 16"),
        ('{"certificate":"a"}'.encode("utf-16"), "byte 0"),
        (nested(13), "line 1 column 27"),
        (b'{"certificate":' + b"[" * 100_000, "line 1 column 27"),
        (b'{"certificate":"a"} {}', "line 1 column 21"),
        (b'{"certificate":"a",}', "line 1 column 20"),
        (b"{'certificate':'a'}", "line 1 column 2"),
        (b"[]", "body"),
        (b'"certificate"', "body"),
        (b"null", "body"),
    ],
)
def test_what_is_no_strict_json_object_is_refused_at_its_place(client, body, where):
    said = refused(client.post(STATUS, data=body, content_type=JSON), 422, "invalid-input")
    assert said["detail"].startswith(f"{where}: found ")
    assert ", expected " in said["detail"]


@pytest.mark.parametrize(
    "content_type", ["text/plain", "application/x-www-form-urlencoded", "multipart/form-data", "application/jsonp", ""]
)
def test_another_content_type_is_refused(client, content_type):
    refused(client.post(STATUS, data=b'{"certificate":"a"}', content_type=content_type), 415, "about:blank")


@pytest.mark.parametrize("path", [STATUS, ENTRIES, "/api/v1/enrolments", "/api/v1/pull", "/api/v1/pin-keys"])
def test_a_body_over_one_mebibyte_is_refused(client, path):
    body = json.dumps({"certificate": "a" * BODY_BYTES_MAX}).encode()
    refused(client.post(path, data=body, content_type=JSON), 413, "about:blank")


@pytest.mark.parametrize(
    ("path", "body", "field"),
    [
        (STATUS, {}, "certificate"),
        (STATUS, {"certificate": 1}, "certificate"),
        (STATUS, {"certificate": None}, "certificate"),
        (STATUS, {"certificate": ""}, "certificate"),
        (STATUS, {"certificate": "a", "admin": True}, "admin"),
        (ENTRIES, {"certificate": "a", "from": 0}, "entries"),
        (ENTRIES, {"certificate": "a", "from": -1, "entries": []}, "from"),
        (ENTRIES, {"certificate": "a", "from": True, "entries": []}, "from"),
        (ENTRIES, {"certificate": "a", "from": "0", "entries": []}, "from"),
        (ENTRIES, {"certificate": "a", "from": 0, "entries": {}}, "entries"),
        (ENTRIES, {"certificate": "a", "from": 0, "entries": [{"jws": "a"}]}, "entries"),
        (ENTRIES, {"certificate": "a", "from": 0, "entries": [{"jws": "a", "texts": [], "x": 1}]}, "entries"),
        (ENTRIES, {"certificate": "a", "from": 0, "entries": [{"jws": "a", "texts": [{}]}]}, "entries"),
        (ENTRIES, {"certificate": "a", "from": 0, "entries": [ENTRY] * (ENTRIES_MAX + 1)}, "entries"),
        ("/api/v1/enrolments", {"code": "a", "name": "b", "proof": "c", "jwk": {"kty": "RSA"}}, "jwk"),
    ],
)  # fmt: skip
def test_a_body_of_another_shape_is_refused_with_the_member_named(served, client, path, body, field):
    before = rows(served)
    said = refused(client.post(path, json=body), 422, "about:blank")
    assert field in said["errors"]["json"]
    assert rows(served) == before


@pytest.mark.parametrize(
    ("method", "path"), [("get", "/api/v1/nothing"), ("post", "/api/v1/nothing"), ("put", "/api/x")]
)
def test_an_address_that_the_api_does_not_have_is_not_found_whatever_the_method(client, method, path):
    refused(client.open(path, method=method), 404, "about:blank")


@pytest.mark.parametrize(("method", "path", "allowed"), [("get", STATUS, "POST"), ("delete", "/api/v1/health", "GET")])
def test_a_method_that_an_address_does_not_take_is_refused_and_the_right_one_named(client, method, path, allowed):
    response = client.open(path, method=method)
    refused(response, 405, "about:blank")
    assert allowed in response.headers["Allow"]


def test_a_bug_is_answered_as_a_problem_that_tells_nothing_of_the_inside(served, client, monkeypatch, caplog):
    def broken(*_):
        raise KeyError("a secret of the inside")

    monkeypatch.setattr("server.flows.intake.status", broken)
    said = refused(client.post(STATUS, json={"certificate": "a"}), 500, "about:blank")
    assert "secret" not in json.dumps(said)
    assert "nothing was appended" in said["detail"]
    assert "a secret of the inside" in caplog.text


def test_a_database_that_cannot_now_is_answered_with_when_to_come_again(served, client, monkeypatch):
    def busy(*_):
        raise RetryLater("the database did not take it now")

    monkeypatch.setattr("server.flows.intake.status", busy)
    response = client.post(STATUS, json={"certificate": "a"})
    refused(response, 503, "retry-later")
    assert int(response.headers["Retry-After"]) > 0
