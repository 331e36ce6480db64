"""A tablet that asks is given what it works with, of its own unit, with a receipt for its log."""

from __future__ import annotations

import json

import pytest

from server.core.crypto import sign_jws, verify_jws
from server.core.entry import RECEIPT, REQUEST
from server.core.errors import InvalidInput, TamperedRecord
from server.flows import pull, units
from tests.support.served_unit import FOUNDED_MS, PHRASE, TIME_ZONE, UNIT, served_unit
from tests.support.tablet import Tablet

NOW_MS = FOUNDED_MS + 1000


@pytest.fixture
def served(tmp_path):
    with served_unit(tmp_path) as unit:
        yield unit


@pytest.fixture
def tablet(served):
    return Tablet(served)


def ask(served, tablet, key=None, **changed):
    said = {"v": 1, "purpose": "pull", "wall_ms": NOW_MS, **changed}
    request = sign_jws(key or tablet.key, REQUEST, said)
    return pull.pull(served.authority, tablet.certificate, request, NOW_MS)


def test_it_gets_values_settings_people_time_zone_and_its_receipt(served, tablet):
    units.add_person(served.authority, UNIT, units.NewPerson("SU1", "surgeon", "271828"), NOW_MS)
    units.publish_values(served.authority, UNIT, {"late_s": 90}, "our clock is slow", NOW_MS)
    answer = ask(served, tablet)
    assert answer["unit_values"] == {"number": 2, "values": {"late_s": 90}}
    assert answer["settings"]["number"] == 1
    assert answer["people"] == [{"code": "SU1", "role": "surgeon"}]
    assert (answer["time_zone"], answer["lists"]) == (TIME_ZONE, [])
    receipt = json.loads(verify_jws(answer["receipt"], RECEIPT, served.authority.jwk))
    assert (receipt["device"], receipt["n"]) == (tablet.device, 0)


def test_no_secret_is_given_away(served, tablet):
    units.add_person(served.authority, UNIT, units.NewPerson("SU1", "surgeon", "271828"), NOW_MS)
    shown = json.dumps(ask(served, tablet))
    assert "271828" not in shown
    assert "verifier" not in shown
    assert PHRASE not in shown


def test_another_units_people_are_not_given(served, tablet):
    units.found_unit(served.authority, "south-eye", "South", TIME_ZONE, PHRASE, NOW_MS)
    units.add_person(served.authority, "south-eye", units.NewPerson("SU9", "surgeon", "271828"), NOW_MS)
    assert ask(served, tablet)["people"] == []


def test_a_request_that_the_device_did_not_sign_is_refused(served, tablet):
    with pytest.raises(TamperedRecord):
        ask(served, tablet, key=Tablet(served, "Tablet 2").key)


def test_a_request_for_something_else_is_refused(served, tablet):
    with pytest.raises(InvalidInput):
        ask(served, tablet, purpose="pin-key")
