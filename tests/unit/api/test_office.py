"""The office's own calls: the passphrase, the weeks, their download, and theatre lists."""

from __future__ import annotations

import io
import zipfile

import pytest

from server.core.theatre_list import HEADER
from tests.support.served_unit import PHRASE, UNIT, served_unit
from tests.support.tablet import Tablet

OFFICE = "/api/v1/office"
OWN = {"X-Hubheld": "1"}
NINE_MS = 1_795_597_200_000  # 2026-11-25 09:00 in London
ROW = "theatre-2,2026-11-25,1,right,topical,good,AURA-1,21.50,6.0,no,cefuroxime,AB1C\r\n"
WRONG = "another phrase altogether"


@pytest.fixture
def served(tmp_path):
    with served_unit(tmp_path) as unit:
        yield unit


@pytest.fixture
def client(served):
    return served.app.test_client()


@pytest.fixture
def office(client):
    assert sign_in(client).status_code == 201
    return client


def sign_in(client, phrase=PHRASE, unit=UNIT, headers=OWN):
    return client.post(f"{OFFICE}/session", json={"unit": unit, "passphrase": phrase}, headers=headers)


def send_list(client, text, content_type="text/csv"):
    return client.post(f"{OFFICE}/lists", data=text.encode(), content_type=content_type, headers=OWN)


def problem(response, status, kind):
    assert response.status_code == status
    assert response.mimetype == "application/problem+json"
    assert response.json["type"].endswith(kind)
    return response.json


def test_the_passphrase_opens_the_office_with_a_cookie_that_only_this_site_sends(client):
    answer = sign_in(client)
    assert answer.status_code == 201
    assert answer.json["unit"] == UNIT
    cookie = answer.headers["Set-Cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=Strict" in cookie
    assert PHRASE not in cookie
    assert client.get(f"{OFFICE}/session").json["unit"] == UNIT


def test_the_cookie_is_marked_secure_over_https(client):
    answer = client.post(
        f"{OFFICE}/session", json={"unit": UNIT, "passphrase": PHRASE}, headers=OWN, base_url="https://hubheld.test"
    )
    assert "; Secure" in answer.headers["Set-Cookie"]


@pytest.mark.parametrize(("unit", "phrase"), [(UNIT, WRONG), ("nowhere", PHRASE)])
def test_a_wrong_passphrase_and_an_unknown_unit_get_the_same_answer(client, unit, phrase):
    said = problem(sign_in(client, phrase, unit), 403, "not-allowed")
    assert said["detail"] == "the code, the PIN or the passphrase does not fit"
    assert client.get(f"{OFFICE}/weeks").status_code == 403


def test_guessing_the_passphrase_is_closed_after_five_wrong_ones(client):
    for _ in range(5):
        assert "does not fit" in sign_in(client, WRONG).json["detail"]
    refused = sign_in(client)
    assert "try again in 60 seconds" in problem(refused, 429, "too-many-tries")["detail"]
    assert refused.headers["Retry-After"] == "60"


@pytest.mark.parametrize(
    ("method", "path"),
    [("GET", "/session"), ("GET", "/weeks"), ("GET", "/weeks/2026-W48"), ("GET", "/weeks/2026-W48/download"),
     ("POST", "/lists"), ("GET", "/lists/2026-11-25"), ("DELETE", "/session")],
)  # fmt: skip
def test_nothing_is_shown_without_the_passphrase(client, method, path):
    problem(client.open(OFFICE + path, method=method, headers=OWN), 403, "not-allowed")


def test_a_made_up_token_opens_nothing(client):
    client.set_cookie("hubheld_office", f"{UNIT}.made-up", path=OFFICE)
    problem(client.get(f"{OFFICE}/weeks"), 403, "not-allowed")


def test_a_closed_office_stays_closed_for_the_old_cookie(office):
    token = office.get_cookie("hubheld_office", path=OFFICE).value
    assert office.delete(f"{OFFICE}/session", headers=OWN).status_code == 204
    office.set_cookie("hubheld_office", token, path=OFFICE)
    problem(office.get(f"{OFFICE}/weeks"), 403, "not-allowed")


def test_what_changes_something_needs_the_header_that_other_sites_cannot_send(office):
    problem(sign_in(office, headers={}), 403, "not-allowed")
    problem(office.delete(f"{OFFICE}/session"), 403, "not-allowed")
    problem(office.post(f"{OFFICE}/lists", data=b"", content_type="text/csv"), 403, "not-allowed")


def test_a_list_goes_in_and_is_shown(office):
    answer = send_list(office, ",".join(HEADER) + "\r\n" + ROW)
    assert answer.status_code == 201
    assert answer.json == {
        "lists": [
            {"list": f"{UNIT}_2026-11-25_theatre-2", "date": "2026-11-25", "theatre": "theatre-2",
             "added": 1, "changed": 0, "withdrawn": 0, "unchanged": 0},
        ]
    }  # fmt: skip
    (shown,) = office.get(f"{OFFICE}/lists/2026-11-25").json["lists"]
    assert [(row["reference"], row["eye"], row["lens"]["power_cdpt"]) for row in shown["rows"]] == [
        ("AB1C", "right", 2150)
    ]
    assert office.get(f"{OFFICE}/lists/2026-11-26").json == {"lists": []}


def test_a_refused_list_names_every_bad_cell(office):
    bad = ROW.replace("right", "R").replace("21.50", "21.3")
    said = problem(send_list(office, ",".join(HEADER) + "\r\n" + ROW + bad), 422, "list-refused")
    assert [(error["line"], error["column"], error["found"]) for error in said["errors"]] == [
        (3, "eye", '"R"'), (3, "power_d", '"21.3"'), (3, "order", "1, as in line 2"),
    ]  # fmt: skip
    assert all(error["expected"] for error in said["errors"])
    assert office.get(f"{OFFICE}/lists/2026-11-25").json == {"lists": []}


def test_a_list_under_another_content_type_is_refused(office):
    assert send_list(office, ROW, "text/plain").status_code == 415


def test_a_body_over_the_limit_is_refused(office):
    assert send_list(office, "x" * (1024 * 1024 + 1)).status_code == 413


def test_a_week_is_shown_with_its_cautions_and_no_floats(office, served):
    tablet = Tablet(served)
    tablet.operation("2026-11-25", "AB1C", NINE_MS, {"main-wound": {"width_um": 3200}})
    tablet.send(NINE_MS)
    assert office.get(f"{OFFICE}/weeks").json == {"weeks": ["2026-W48"]}
    shown = office.get(f"{OFFICE}/weeks/2026-W48").json
    (row,) = [row for row in shown["rows"] if row["events"]]
    assert row == {
        "step": "main-wound", "kind": "out_of_tolerance", "grade": "G1", "events": 1, "cases_with": 1, "chances": 1,
        "caught": 0, "rate_per_100": "100.00", "ci95_low": "20.65", "ci95_high": "100.00",
    }  # fmt: skip
    assert any("not a measure of any person" in caution for caution in shown["cautions"])
    assert shown["quality"]["late_pct"] == "0.00"


def test_the_download_holds_the_three_files_of_the_week(office, served):
    answer = office.get(f"{OFFICE}/weeks/2026-W48/download")
    assert answer.mimetype == "application/zip"
    assert answer.headers["Content-Disposition"] == f'attachment; filename="week_{UNIT}_2026-W48_INTERNAL.zip"'
    with zipfile.ZipFile(io.BytesIO(answer.data)) as archive:
        assert archive.namelist() == [
            f"readme_{UNIT}_2026-W48.txt",
            f"counts_{UNIT}_2026-W48_INTERNAL.csv",
            f"quality_{UNIT}_2026-W48_INTERNAL.csv",
        ]


@pytest.mark.parametrize("name", ["2027-W53", "2026-48", "last"])
def test_a_week_that_does_not_exist_is_refused(office, name):
    problem(office.get(f"{OFFICE}/weeks/{name}"), 422, "invalid-input")
    problem(office.get(f"{OFFICE}/weeks/{name}/download"), 422, "invalid-input")
