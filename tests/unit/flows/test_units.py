"""Units, their values and their people are founded, published and added whole, and stand in the office log."""

from __future__ import annotations

import base64
import sqlite3
from contextlib import closing

import pytest

from server.core.errors import InvalidInput
from server.flows import units
from server.flows.secret import fits
from server.store import log
from server.store import units as kept
from server.store.scope import reading
from tests.support.served_unit import FOUNDED_MS, PHRASE, TIME_ZONE, UNIT, served_unit

LATER_MS = FOUNDED_MS + 1000


@pytest.fixture
def served(tmp_path):
    with served_unit(tmp_path) as unit:
        yield unit


def office_entries(served):
    with reading(UNIT) as scope:
        row = log.device(scope, served.authority.device)
        return row.entries_held, row.head


def values_in_force():
    with reading(UNIT) as scope:
        return kept.latest_values(scope)


def test_a_founded_unit_has_first_values_and_settings_and_a_secret_kept_only_as_a_verifier(served):
    with reading(UNIT) as scope:
        unit = kept.unit(scope)
        assert unit.time_zone == TIME_ZONE
        assert PHRASE not in unit.passphrase_verifier
        assert fits(PHRASE, unit.passphrase_verifier)
        assert kept.latest_values(scope) == (1, {})
        assert kept.latest_settings(scope)[0] == 1
    assert office_entries(served)[0] == 2


@pytest.mark.parametrize(
    ("name", "zone", "said"),
    [
        (UNIT, TIME_ZONE, "is there already"),
        ("North", TIME_ZONE, "1 to 32 of a-z"),
        ("north_eye", TIME_ZONE, "1 to 32 of a-z"),
        ("n" * 33, TIME_ZONE, "1 to 32 of a-z"),
        ("", TIME_ZONE, "1 to 32 of a-z"),
        ("south", "Mars/Olympus", "IANA"),
    ],
)
def test_a_unit_that_cannot_be_founded_is_refused_with_the_reason(served, name, zone, said):
    with pytest.raises(InvalidInput, match=said):
        units.found_unit(served.authority, name, "Name", zone, PHRASE, LATER_MS)


def test_values_are_published_whole_under_the_next_number(served):
    values = {"late_s": 90, "main_wound_um": [2000, 2800]}
    assert units.publish_values(served.authority, UNIT, values, "agreed at the meeting", LATER_MS) == 2
    assert values_in_force() == (2, values)
    assert office_entries(served)[0] == 3


@pytest.mark.parametrize("values", [{"late_s": "60"}, {"main_wound_um": [1]}, {"modes": {"turbo": {}}}])
def test_values_that_could_not_be_judged_by_are_refused_and_nothing_is_kept(served, values):
    with pytest.raises(InvalidInput, match=r"^unit\."):
        units.publish_values(served.authority, UNIT, values, "a slip", LATER_MS)
    assert values_in_force() == (1, {})
    assert office_entries(served)[0] == 2


def test_reasons_and_staff_codes_stand_in_the_office_log_by_their_digest_only(served):
    units.publish_values(served.authority, UNIT, {"late_s": 90}, "Nurse Smith asked for it", LATER_MS)
    units.add_person(served.authority, UNIT, units.NewPerson("RN01", "recorder", None), LATER_MS)
    raw = sqlite3.connect(served.config.data_folder / "hubheld.sqlite")
    with closing(raw):
        signed = [
            base64.urlsafe_b64decode(jws.split(".")[1] + "==") for (jws,) in raw.execute("select jws from log_entry")
        ]
        beside = {text for (text,) in raw.execute("select text from sealed_text")}
    assert len(signed) == 4
    assert not any(b"Smith" in payload or b"RN01" in payload for payload in signed)
    assert {"Nurse Smith asked for it", "RN01"} <= beside


def test_people_are_kept_by_code_and_their_pin_as_a_verifier(served):
    units.add_person(served.authority, UNIT, units.NewPerson("SRG1", "surgeon", "493817"), LATER_MS)
    units.add_person(served.authority, UNIT, units.NewPerson("RN01", "recorder", None), LATER_MS)
    with reading(UNIT) as scope:
        assert [(person.code, person.role) for person in kept.people(scope)] == [
            ("RN01", "recorder"), ("SRG1", "surgeon"),
        ]  # fmt: skip
        surgeon = kept.person(scope, "SRG1")
        assert "493817" not in surgeon.pin_verifier
        assert fits("493817", surgeon.pin_verifier)
        assert not fits("493818", surgeon.pin_verifier)
    assert office_entries(served)[0] == 4


@pytest.mark.parametrize(
    ("code", "role", "pin", "said"),
    [
        ("srg1", "surgeon", "493817", "never a name"),
        ("A", "recorder", None, "2 to 8"),
        ("SMITH JOHN", "recorder", None, "never a name"),
        ("SRG1", "boss", "493817", "one of recorder"),
        ("SRG1", "surgeon", None, "surgeons sign"),
        ("SRG1", "surgeon", "12345", "6 to 12 digits"),
        ("SRG1", "surgeon", "secret", "6 to 12 digits"),
    ],
)
def test_people_that_cannot_be_added_are_refused_with_the_reason(served, code, role, pin, said):
    with pytest.raises(InvalidInput, match=said) as refused:
        units.add_person(served.authority, UNIT, units.NewPerson(code, role, pin), LATER_MS)
    assert pin is None or pin not in str(refused.value)
    assert office_entries(served)[0] == 2


def test_a_code_stands_for_one_person(served):
    person = units.NewPerson("RN01", "recorder", None)
    units.add_person(served.authority, UNIT, person, LATER_MS)
    with pytest.raises(InvalidInput, match="RN01, which is there already"):
        units.add_person(served.authority, UNIT, person, LATER_MS)
