"""An upload that was changed anywhere on its way is refused or taken as it was signed: no bug, no partial write."""

from __future__ import annotations

import copy
import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support.rows import LOG, PROJECTED, rows
from tests.support.served_unit import served_unit
from tests.support.tablet import Tablet

NINE_MS = 1_795_597_200_000
HELD = 2
PATH = "/api/v1/logs/entries"


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    with served_unit(tmp_path_factory.mktemp("unit")) as unit:
        yield unit


@pytest.fixture(scope="module")
def body(served):
    """Brings the rest of a log of which the server holds the first entries."""
    tablet = Tablet(served)
    case = tablet.open_case("2026-11-25", "AB12", NINE_MS)
    tablet.room(case, "patient_in", NINE_MS)
    tablet.add({"type": "fault", "case": case, "stage": "during"}, NINE_MS, text="the pedal stuck")
    tablet.step(case, "seal-check", {"state": "leak"}, NINE_MS)
    first = {"certificate": tablet.certificate, "from": 0, "entries": tablet.entries[:HELD]}
    assert served.app.test_client().post(PATH, json=first).status_code == 200
    return {**first, "from": HELD, "entries": tablet.entries[HELD:]}


def places(value, path=()):
    """The path of every value inside `value`."""
    children = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for name, child in children:
        yield (*path, name)
        yield from places(child, (*path, name))


junk = st.none() | st.booleans() | st.integers(-1, 600) | st.text(max_size=8) | st.just([]) | st.just({})


@st.composite
def changed(draw, body):
    """The body with one value replaced, left out, repeated, or one character of a text exchanged."""
    body = copy.deepcopy(body)
    *way, last = draw(st.sampled_from(sorted(places(body), key=repr)))
    holder = body
    for name in way:
        holder = holder[name]
    found = holder[last]
    how = draw(st.sampled_from(["replace", "leave out", "repeat", "character"]))
    if how == "leave out":
        del holder[last]
    elif how == "repeat" and isinstance(holder, list):
        holder.insert(last, copy.deepcopy(found))
    elif how == "character" and isinstance(found, str) and found:
        at = draw(st.integers(0, len(found) - 1))
        holder[last] = found[:at] + draw(st.sampled_from("AZaz09-_.= \x00é")) + found[at + 1 :]
    else:
        holder[last] = draw(junk)
    return body


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_a_changed_upload_meets_no_bug_and_leaves_no_partial_write(served, body, data):
    before = rows(served, *LOG, *PROJECTED)
    sent = data.draw(changed(body))
    answer = served.app.test_client().post(PATH, data=json.dumps(sent).encode(), content_type="application/json")
    after = rows(served, *LOG, *PROJECTED)
    assert answer.status_code in (200, 409, 422), answer.text
    if answer.status_code != 200:
        before.pop("log_fork")
        after.pop("log_fork")
        assert after == before
        assert answer.mimetype == "application/problem+json"
    else:
        signed = {entry["jws"] for entry in body["entries"]}
        new = [row[4] for row in after["log_entry"] if row not in before["log_entry"]]
        assert set(new) <= signed
