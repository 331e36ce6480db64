"""The web client is served whole, under headers that let nothing else in, and kept by browsers as far as is safe."""

from __future__ import annotations

from dataclasses import replace

import pytest

from server.app import create_app
from tests.support.served_unit import served_unit

PAGE = "<!doctype html><title>hubheld</title>"


@pytest.fixture
def client(tmp_path):
    web = tmp_path / "dist"
    (web / "assets").mkdir(parents=True)
    (web / "index.html").write_text(PAGE)
    (web / "sw.js").write_text("// worker")
    (web / "assets" / "main-1a2b.js").write_text("// script")
    (tmp_path / "secret.txt").write_text("not for the network")
    with served_unit(tmp_path) as served:
        yield create_app(replace(served.config, web_folder=web)).test_client()


@pytest.mark.parametrize("path", ["/", "/index.html", "/governance", "/case/north-eye_2026-11-25_AB12_right"])
def test_every_screen_is_the_one_page_and_is_asked_for_again_each_time(client, path):
    answer = client.get(path, buffered=True)
    assert (answer.status_code, answer.text) == (200, PAGE)
    assert answer.headers["Cache-Control"] == "no-cache"


def test_an_asset_has_its_digest_in_its_name_and_is_kept_for_ever(client):
    assert "immutable" in client.get("/assets/main-1a2b.js", buffered=True).headers["Cache-Control"]
    assert client.get("/sw.js", buffered=True).headers["Cache-Control"] == "no-cache"


def test_a_page_that_has_not_changed_is_not_sent_again(client):
    tag = client.get("/", buffered=True).headers["ETag"]
    assert client.get("/", headers={"If-None-Match": tag}, buffered=True).status_code == 304


@pytest.mark.parametrize(
    "path",
    [
        "/assets/missing.js",
        "/missing.png",
        "/../secret.txt",
        "/%2e%2e/secret.txt",
        "/assets/../../secret.txt",
        f"/{'x' * 3000}.js",
    ],
)
def test_a_file_that_is_not_there_or_not_below_the_client_is_not_found(client, path):
    answer = client.get(path, buffered=True)
    assert answer.status_code == 404
    assert answer.mimetype == "application/problem+json"
    assert "not for the network" not in answer.text


@pytest.mark.parametrize("path", ["/", "/sw.js", "/missing.png", "/api/v1/health", "/api/v1/nothing"])
def test_every_answer_carries_the_security_headers(client, path):
    headers = client.get(path, buffered=True).headers
    policy = dict(part.split(" ", 1) for part in headers["Content-Security-Policy"].split("; "))
    assert policy["default-src"] == "'none'"
    assert policy["script-src"] == policy["connect-src"] == "'self'"
    assert policy["frame-ancestors"] == policy["base-uri"] == "'none'"
    assert policy["require-trusted-types-for"] == "'script'"
    assert "unsafe" not in headers["Content-Security-Policy"]
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Referrer-Policy"] == "no-referrer"
    assert headers["Cross-Origin-Opener-Policy"] == "same-origin"
    assert "Access-Control-Allow-Origin" not in headers
    assert ("no-store" in headers.get("Cache-Control", "")) is path.startswith("/api/")


def test_a_client_that_is_not_built_says_how_to_build_it(tmp_path):
    with served_unit(tmp_path) as served:
        answer = create_app(replace(served.config, web_folder=tmp_path / "none")).test_client().get("/")
    assert answer.status_code == 404
    assert "seed_demo" in answer.json["detail"]
