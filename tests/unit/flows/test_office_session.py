"""An office session opens with the passphrase, closes by itself, and belongs to one unit."""

from __future__ import annotations

import sqlite3
from contextlib import closing

import pytest

from server.core.errors import NotAllowed
from server.flows import office_session, units
from tests.support.served_unit import FOUNDED_MS, PHRASE, UNIT, served_unit

HOUR_MS = 3_600_000
NOW_MS = FOUNDED_MS + HOUR_MS


@pytest.fixture
def served(tmp_path):
    with served_unit(tmp_path) as unit:
        yield unit


def test_a_session_lasts_eight_hours(served):
    token = office_session.open_office(UNIT, PHRASE, NOW_MS)
    assert office_session.unit_of(token, NOW_MS) == UNIT
    assert office_session.unit_of(token, NOW_MS + 8 * HOUR_MS - 1) == UNIT
    with pytest.raises(NotAllowed, match="passphrase"):
        office_session.unit_of(token, NOW_MS + 8 * HOUR_MS)


def test_a_token_opens_no_other_unit(served):
    units.found_unit(served.authority, "south", "South", "Europe/London", "a brass bell rings", NOW_MS)
    token = office_session.open_office(UNIT, PHRASE, NOW_MS)
    with pytest.raises(NotAllowed):
        office_session.unit_of(token.replace(UNIT, "south"), NOW_MS)


@pytest.mark.parametrize("token", [None, "", UNIT, f"{UNIT}.", "nowhere.token", "."])
def test_no_token_and_half_a_token_open_nothing(served, token):
    with pytest.raises(NotAllowed):
        office_session.unit_of(token, NOW_MS)


def test_the_database_holds_a_digest_and_never_the_token(served):
    token = office_session.open_office(UNIT, PHRASE, NOW_MS)
    with closing(sqlite3.connect(served.config.data_folder / "hubheld.sqlite")) as raw:
        (kept,) = raw.execute("select token_sha256 from office_session").fetchall()
    assert kept[0] not in token
    assert token not in kept[0]


def test_another_passphrase_takes_the_place_of_the_old_one(served):
    token = office_session.open_office(UNIT, PHRASE, NOW_MS)
    units.set_passphrase(UNIT, "a copper kettle sings")
    with pytest.raises(NotAllowed):
        office_session.unit_of(token, NOW_MS)
    with pytest.raises(NotAllowed):
        office_session.open_office(UNIT, PHRASE, NOW_MS)
    assert office_session.open_office(UNIT, "a copper kettle sings", NOW_MS)


def test_guessing_stays_closed_longer_each_time_and_opens_again(served):
    now_ms = NOW_MS
    for _ in range(5):
        with pytest.raises(NotAllowed, match="does not fit"):
            office_session.open_office(UNIT, "wrong", now_ms)
    with pytest.raises(NotAllowed, match="60 seconds"):
        office_session.open_office(UNIT, PHRASE, now_ms)
    now_ms += 60_000
    with pytest.raises(NotAllowed, match="does not fit"):
        office_session.open_office(UNIT, "wrong", now_ms)
    with pytest.raises(NotAllowed, match="120 seconds"):
        office_session.open_office(UNIT, PHRASE, now_ms)
    assert office_session.open_office(UNIT, PHRASE, now_ms + 120_000)
    assert office_session.open_office(UNIT, PHRASE, now_ms + 120_001)
