"""What a device uploads is kept whole and once, or refused with the entry named; only a receipt says so."""

from __future__ import annotations

import json
import threading
from contextlib import contextmanager

import pytest
from cryptography.hazmat.primitives.asymmetric import ec

from server.core.crypto import base64url, digest, jwk_of, seal, sign_jws, thumbprint, verify_jws
from server.core.entry import ENTRY, RECEIPT, build
from server.core.errors import Fork, HubheldError, InvalidInput, OutOfStep, RefusedEntry, TamperedRecord
from server.flows import intake
from tests.support.rows import LOG, PROJECTED, rows
from tests.support.served_unit import FOUNDED_MS, UNIT, served_unit
from tests.support.tablet import Tablet

NINE_MS = 1_795_597_200_000  # 2026-11-25 09:00 in London
DAY = "2026-11-25"


@pytest.fixture
def served(tmp_path):
    with served_unit(tmp_path) as unit:
        yield unit


@pytest.fixture
def tablet(served):
    tablet = Tablet(served)
    case = tablet.open_case(DAY, "AB12", NINE_MS)
    tablet.room(case, "patient_in", NINE_MS)
    tablet.step(case, "marked-eye", {"eye": "left"}, NINE_MS)
    tablet.add({"type": "fault", "case": case, "stage": "during"}, NINE_MS, text="the pedal stuck")
    return tablet


def upload(served, tablet, entries=None, first=0, receipt=None):
    sent = tablet.entries[first:] if entries is None else entries
    answer = intake.take_in(served.authority, intake.Upload(tablet.certificate, first, sent, receipt), NINE_MS)
    return said(served, answer)


def receipt_for(served, tablet, count):
    """The receipt for the tablet's first `count` entries."""
    return intake.take_in(served.authority, intake.Upload(tablet.certificate, 0, tablet.entries[:count]), NINE_MS)


def said(served, receipt):
    return json.loads(verify_jws(receipt, RECEIPT, served.authority.jwk))


def status(served, tablet):
    return said(served, intake.status(served.authority, tablet.certificate, NINE_MS))


def signed(tablet, event, seq, prev, texts=()):
    """An entry of the tablet's own key at any place."""
    whole = {"id": f"again-{seq}", "clock": {}, **event}
    return {"jws": build(tablet.key, UNIT, tablet.device, seq, prev, whole), "texts": list(texts)}


# The receipt


def test_the_receipt_names_unit_device_number_head_epoch_and_time(served, tablet):
    assert upload(served, tablet) == {
        "v": 1, "unit": UNIT, "device": tablet.device, "n": 4, "head": digest(tablet.entries[3]["jws"]),
        "epoch": FOUNDED_MS, "at_ms": NINE_MS,
    }  # fmt: skip
    assert status(served, tablet)["n"] == 4


def test_of_an_empty_log_the_certificate_is_the_head(served, tablet):
    assert (status(served, tablet)["n"], status(served, tablet)["head"]) == (0, digest(tablet.certificate))
    assert upload(served, tablet, [])["n"] == 0


def test_a_certificate_of_another_server_is_refused(served, tablet):
    payload = {"v": 1, "unit": UNIT, "device": tablet.device, "jwk": jwk_of(tablet.key), "name": "x", "at_ms": 1}
    tablet.certificate = sign_jws(tablet.key, "hubheld-certificate", payload)
    for call in (lambda: upload(served, tablet), lambda: status(served, tablet)):
        with pytest.raises(TamperedRecord):
            call()


# Twice, in pieces, after a lost answer


def test_the_same_upload_twice_changes_nothing(served, tablet):
    first = upload(served, tablet)
    before = rows(served)
    assert upload(served, tablet) == first
    assert rows(served) == before


@pytest.mark.parametrize(("first", "count"), [(0, 2), (1, 1), (2, 2), (0, 4), (3, 0)])
def test_a_piece_that_is_held_already_changes_nothing(served, tablet, first, count):
    upload(served, tablet)
    before = rows(served)
    assert upload(served, tablet, tablet.entries[first : first + count], first)["n"] == 4
    assert rows(served) == before


def test_a_piece_that_is_partly_held_adds_the_rest(served, tablet):
    upload(served, tablet, tablet.entries[:3])
    assert upload(served, tablet, tablet.entries[1:], 1)["n"] == 4


def test_a_gap_is_refused_with_the_number_to_send_from(served, tablet):
    upload(served, tablet, tablet.entries[:1])
    with pytest.raises(OutOfStep) as refused:
        upload(served, tablet, tablet.entries[2:], 2)
    assert refused.value.n == 1
    assert not isinstance(refused.value, Fork)
    assert status(served, tablet)["n"] == 1


def test_the_bytes_are_kept_as_they_came_and_the_text_beside_them(served, tablet):
    upload(served, tablet)
    held = rows(served, "log_entry", "sealed_text")
    assert {entry["jws"] for entry in tablet.entries} <= {jws for row in held["log_entry"] for jws in row}
    assert any("the pedal stuck" in row for row in held["sealed_text"])


# Entries that do not fit: the attack by its name


def attacks(tablet):
    """Each is an upload from entry 2 on, of which the first two are held; the number is that of the bad entry."""
    two, three = tablet.entries[2:]
    header, payload, signature = two["jws"].split(".")
    other_key = ec.generate_private_key(ec.SECP256R1())
    event, prev = {"type": "room", "case": "c"}, digest(tablet.entries[1]["jws"])
    whole = {"id": "x", "clock": {}, **event}
    salt = base64url(bytes(16))
    text = {"sha256": seal(bytes(16), "stray"), "salt": salt, "text": "stray"}
    entry = {"v": 1, "unit": UNIT, "device": tablet.device, "seq": 2, "prev": prev, "event": whole}
    yield "forged by another key", [{"jws": build(other_key, UNIT, tablet.device, 2, prev, whole), "texts": []}], 2
    yield (
        "another device's entry",
        [{"jws": build(tablet.key, UNIT, thumbprint(jwk_of(other_key)), 2, prev, whole), "texts": []}],
        2,
    )
    yield (
        "another unit's entry",
        [{"jws": build(tablet.key, "south-eye", tablet.device, 2, prev, whole), "texts": []}],
        2,
    )
    yield "payload changed", [{"jws": f"{header}.{payload[:-4]}AAAA.{signature}", "texts": []}], 2
    yield "signature cut", [{"jws": two["jws"][:-1], "texts": []}], 2
    yield "reordered", [three, two], 2
    yield "one left out", [three], 2
    yield "replayed at a later place", [two, two], 3
    yield "second one bad", [two, {**three, "jws": three["jws"][:-1]}], 3
    yield "second stands behind another", [two, signed(tablet, event, 3, prev)], 3
    yield "text of another digest", [two, {**three, "texts": [{**three["texts"][0], "text": "the lamp"}]}], 3
    yield "text that is not named", [{**two, "texts": [text]}], 2
    yield (
        "unknown member beside the event",
        [{"jws": sign_jws(tablet.key, ENTRY, {**entry, "more": 1}), "texts": []}],
        2,
    )
    yield "no event", [{"jws": sign_jws(tablet.key, ENTRY, {**entry, "event": {}}), "texts": []}], 2
    yield "a receipt in the place of an entry", [{"jws": sign_jws(tablet.key, RECEIPT, entry), "texts": []}], 2
    yield "rubbish", [{"jws": "rubbish", "texts": []}], 2


ATTACKS = (
    "forged by another key", "another device's entry", "another unit's entry", "payload changed", "signature cut",
    "reordered", "one left out", "replayed at a later place", "second one bad", "second stands behind another",
    "text of another digest", "text that is not named", "unknown member beside the event", "no event",
    "a receipt in the place of an entry", "rubbish",
)  # fmt: skip


def test_every_attack_is_tried(tablet):
    assert tuple(name for name, _entries, _seq in attacks(tablet)) == ATTACKS


@pytest.mark.parametrize("attack", ATTACKS)
def test_an_entry_that_does_not_fit_is_refused_by_its_number_and_nothing_is_appended(served, tablet, attack):
    upload(served, tablet, tablet.entries[:2])
    before = rows(served)
    entries, seq = next((entries, seq) for name, entries, seq in attacks(tablet) if name == attack)
    with pytest.raises(RefusedEntry) as refused:
        upload(served, tablet, entries, 2)
    assert refused.value.seq == seq
    assert f"entry {seq}" in str(refused.value)
    assert rows(served) == before
    assert upload(served, tablet)["n"] == 4


# Two histories of one log


def forked(tablet, seq=1):
    """The tablet's log with another entry at `seq`, and one behind it."""
    prev = digest(tablet.entries[seq - 1]["jws"])
    other = signed(tablet, {"type": "room", "case": "c"}, seq, prev)
    return [*tablet.entries[:seq], other, signed(tablet, {"type": "room", "case": "c"}, seq + 1, digest(other["jws"]))]


def test_a_cloned_profile_is_refused_and_both_histories_are_kept(served, tablet):
    upload(served, tablet)
    before = rows(served, *LOG, *PROJECTED)
    other = forked(tablet)
    with pytest.raises(Fork) as refused:
        upload(served, tablet, other)
    assert refused.value.n == 4
    kept = rows(served, *LOG, *PROJECTED)
    evidence = kept.pop("log_fork")
    assert {row[5] for row in evidence} == {entry["jws"] for entry in other[1:]}
    assert {row[4] for row in evidence} == {digest(entry["jws"]) for entry in tablet.entries[1:3]}
    before.pop("log_fork")
    assert kept == before


def test_a_history_that_goes_on_behind_another_entry_than_the_last_one_held_is_a_fork_too(served, tablet):
    upload(served, tablet, tablet.entries[:2])
    other = forked(tablet)
    with pytest.raises(Fork):
        upload(served, tablet, other[2:], 2)
    assert [row[5] for row in rows(served, "log_fork")["log_fork"]] == [other[2]["jws"]]
    assert upload(served, tablet)["n"] == 4


def test_the_same_evidence_twice_is_kept_once(served, tablet):
    upload(served, tablet)
    other = forked(tablet)[:2]
    for _ in range(2):
        with pytest.raises(Fork):
            upload(served, tablet, other)
    assert len(rows(served, "log_fork")["log_fork"]) == 1


def test_other_bytes_at_a_held_place_that_nobody_signed_are_no_fork(served, tablet):
    upload(served, tablet)
    with pytest.raises(RefusedEntry) as refused:
        upload(served, tablet, [tablet.entries[0], {"jws": "rubbish", "texts": []}])
    assert refused.value.seq == 1
    assert rows(served, "log_fork") == {"log_fork": []}


def test_own_entries_sent_again_at_another_place_are_no_fork(served, tablet):
    upload(served, tablet)
    with pytest.raises(RefusedEntry) as refused:
        upload(served, tablet, [tablet.entries[0], tablet.entries[3]])
    assert refused.value.seq == 1
    assert rows(served, "log_fork") == {"log_fork": []}


# A server that lost its records


@contextmanager
def set_back(folder):
    """The same server with the same key, as it was before any device enrolled."""
    (folder / "again").mkdir()
    with served_unit(folder / "again") as unit:
        yield unit


def test_a_server_that_lost_its_records_takes_a_device_back(tmp_path, served, tablet):
    upload(served, tablet)
    whole = rows(served, *LOG, *PROJECTED)
    with set_back(tmp_path) as again:
        assert status(again, tablet)["n"] == 0
        assert upload(again, tablet)["n"] == 4
        kept = rows(again, *LOG, *PROJECTED)
    own = {name: [row for row in found if tablet.device in row] for name, found in whole.items() if name in LOG}
    assert {name: [row for row in kept[name] if tablet.device in row] for name in own} == own
    assert {name: kept[name] for name in PROJECTED} == {name: whole[name] for name in PROJECTED}


def test_a_device_that_holds_its_oldest_entries_no_more_goes_on_from_an_old_receipt(tmp_path, served, tablet):
    old = receipt_for(served, tablet, 3)
    with set_back(tmp_path) as again:
        assert upload(again, tablet, first=3, receipt=old)["n"] == 4
        assert status(again, tablet)["head"] == digest(tablet.entries[3]["jws"])
        assert upload(again, tablet, first=3)["n"] == 4


def test_a_receipt_that_is_not_for_these_entries_begins_nothing(tmp_path, served, tablet):
    old = receipt_for(served, tablet, 2)
    forged = sign_jws(tablet.key, RECEIPT, {**said(served, old), "n": 3})
    other = Tablet(served, "Tablet 2")
    others = receipt_for(served, other, 0)
    with set_back(tmp_path) as again:
        for receipt in (old, others, forged, tablet.certificate, "rubbish"):
            with pytest.raises((InvalidInput, TamperedRecord)):
                upload(again, tablet, first=3, receipt=receipt)
        assert status(again, tablet)["n"] == 0


def test_an_old_receipt_changes_nothing_while_entries_are_held(served, tablet):
    old = receipt_for(served, tablet, 1)
    with pytest.raises(OutOfStep) as refused:
        upload(served, tablet, first=3, receipt=old)
    assert refused.value.n == 1


# Several at once


def at_once(served, calls):
    """Runs the calls in threads that start together; returns what each gave or raised."""
    together = threading.Barrier(len(calls))
    answers = [None] * len(calls)

    def run(place, call):
        with served.app.app_context():
            together.wait()
            try:
                answers[place] = call()
            except HubheldError as problem:
                answers[place] = problem

    threads = [threading.Thread(target=run, args=(place, call)) for place, call in enumerate(calls)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return answers


def test_two_uploads_of_one_device_at_once_keep_every_entry_once(served, tablet):
    answers = at_once(served, [lambda: upload(served, tablet)] * 6)
    assert [answer["n"] for answer in answers] == [4] * 6
    assert len([row for row in rows(served, "log_entry")["log_entry"] if tablet.device in row]) == 4


def test_two_devices_at_once_are_both_in_the_case_that_they_share(served, tablet):
    other = Tablet(served, "Tablet 2")
    for place in range(10):
        other.add({"type": "breach", "case": f"{UNIT}_{DAY}_AB12_right", "reached_eye": False}, NINE_MS + place)
    at_once(served, [lambda: upload(served, tablet), lambda: upload(served, other)])
    kinds = [row[4] for row in rows(served, "projected_deviation")["projected_deviation"]]
    assert kinds.count("contamination") == 10
    assert kinds.count("equipment") == 1


def test_two_histories_at_once_give_one_log_and_one_fork(served, tablet):
    upload(served, tablet, tablet.entries[:1])
    sides = [tablet.entries[1:2], forked(tablet)[1:2]]
    answers = at_once(served, [lambda side=side: upload(served, tablet, side, 1) for side in sides])
    assert sorted(type(answer) for answer in answers if isinstance(answer, Exception)) == [Fork]
    assert len(rows(served, "log_fork")["log_fork"]) == 1
    assert status(served, tablet)["n"] == 2
