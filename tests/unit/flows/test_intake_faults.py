"""Whatever fails while an upload is taken in, all of it is kept or nothing, and the same upload again completes it.

The matrix: {not persisted, persisted but answer lost} x {tried again, server started again}. Each row states whether
the log has moved on, which error came, and that in the end log and projections are those of an undisturbed upload.
"""

from __future__ import annotations

import json

import pytest

from server.app import create_app
from server.core.crypto import verify_jws
from server.core.entry import RECEIPT
from server.core.errors import RetryLater
from server.flows import intake
from server.store.database import db
from tests.support.faulty_database import failing_commit, failing_statement
from tests.support.rows import LOG, PROJECTED, rows
from tests.support.served_unit import served_unit
from tests.support.tablet import Tablet

NINE_MS = 1_795_597_200_000  # 2026-11-25 09:00 in London


@pytest.fixture
def served(tmp_path):
    with served_unit(tmp_path) as unit:
        yield unit


@pytest.fixture
def tablet(served):
    tablet = Tablet(served)
    tablet.operation("2026-11-25", "AB12", NINE_MS)
    tablet.add({"type": "breach", "case": "never-opened", "reached_eye": True}, NINE_MS, text="glove torn")
    return tablet


def upload(served, tablet):
    answer = intake.take_in(served.authority, intake.Upload(tablet.certificate, 0, tablet.entries), NINE_MS)
    return json.loads(verify_jws(answer, RECEIPT, served.authority.jwk))["n"]


def kept(served):
    return rows(served, *LOG, *PROJECTED)


def of_tablet(served, tablet):
    """The rows that follow from the tablet's upload: its entries, their texts, and every judged case."""
    found = kept(served)
    entries = [row for row in found["log_entry"] if tablet.device in row]
    texts = [row for row in found["sealed_text"] if "glove torn" in row]
    return entries, texts, [found[name] for name in PROJECTED]


def undisturbed(tablet, folder):
    """What a server holds that never failed: the same one before the tablet enrolled, in a folder of its own."""
    folder.mkdir()
    with served_unit(folder) as other:
        upload(other, tablet)
        return of_tablet(other, tablet)


@pytest.mark.parametrize("again", ["tried again", "started again"])
@pytest.mark.parametrize("persists", [False, True])
def test_a_commit_that_fails_keeps_all_or_nothing(served, tablet, tmp_path, persists, again):
    before = kept(served)
    with failing_commit(db.engine, persists), pytest.raises(RetryLater):
        upload(served, tablet)
    assert (kept(served) == before) is not persists
    assert len(of_tablet(served, tablet)[0]) == (len(tablet.entries) if persists else 0)
    if again == "started again":
        db.engine.dispose()
        with create_app(served.config).app_context():
            assert upload(served, tablet) == len(tablet.entries)
            db.engine.dispose()
    else:
        assert upload(served, tablet) == len(tablet.entries)
    assert of_tablet(served, tablet) == undisturbed(tablet, tmp_path / "undisturbed")


def test_an_upload_that_fails_at_any_statement_keeps_nothing_and_can_be_sent_again(served, tablet, tmp_path):
    before = kept(served)
    number = 0
    while True:
        with failing_statement(db.engine, number) as seen:
            try:
                upload(served, tablet)
                break
            except RetryLater:
                assert kept(served) == before, seen[-1]
        number += 1
    assert number > len(PROJECTED) + len(LOG)
    assert of_tablet(served, tablet) == undisturbed(tablet, tmp_path / "undisturbed")
