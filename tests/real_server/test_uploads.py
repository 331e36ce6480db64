"""Over HTTP, to a real gunicorn on a real file: what was acknowledged is there after kill -9, and nothing twice."""

from __future__ import annotations

import http.client
import json
import threading
import time
from contextlib import closing
from random import Random

import pytest

from seed_demo.tablet import Refused, Tablet
from server.config import BODY_BYTES_MAX
from tests.support.real_server import RealServer

UNIT = "testunit"
NOW_MS = 1_795_597_200_000
ENTRIES = 300


@pytest.fixture(scope="module")
def server(tmp_path_factory):
    """A running server with one unit; each test enrols tablets of its own, and leaves it running."""
    server = RealServer(tmp_path_factory.mktemp("data"))
    server.hubheld("migrate")
    words = ("unit", "found", "--unit", UNIT, "--name", "Test theatre (invented)", "--time-zone", "UTC")
    server.hubheld(*words, typed="plain-words-for-tests\n")
    server.start()
    try:
        yield server
    finally:
        server.stop()


def enrolled(server):
    tablet = Tablet(server.address, Random(1))
    tablet.enrol(server.hubheld("enrol-code").strip(), "Tablet 1")
    return tablet


def told(tablet, count=ENTRIES):
    for number in range(count):
        event = {"type": "breach", "case": f"case-{number // 30}", "reached_eye": False}
        tablet.record(event, NOW_MS + number, text="glove torn" if number % 10 == 0 else None)


def status(tablet):
    answer = tablet.post("/api/v1/logs/status", {"certificate": tablet.certificate})
    return tablet.take_receipt(answer["receipt"])


def test_a_log_that_was_acknowledged_is_there_after_kill_9_and_the_next_upload_goes_on(server):
    tablet = enrolled(server)
    told(tablet)
    tablet.upload()
    before = status(tablet)
    server.kill()
    server.start()
    after = status(tablet)
    assert (after["n"], after["head"], after["epoch"]) == (ENTRIES, before["head"], before["epoch"])
    told(tablet, 3)
    tablet.upload()
    assert status(tablet)["n"] == ENTRIES + 3


def test_a_server_killed_in_the_middle_of_an_upload_keeps_all_of_it_or_nothing(server):
    tablet = enrolled(server)
    told(tablet)
    body = {"certificate": tablet.certificate, "from": 0, "entries": tablet.sent}
    for delay_ms in (5, 40, 160):
        sending = threading.Thread(target=lambda: post_and_ignore(tablet, body))
        sending.start()
        time.sleep(delay_ms / 1000)
        server.kill()
        sending.join()
        server.start()
        assert status(tablet)["n"] in (0, ENTRIES)
    tablet.received = 0
    tablet.upload()
    assert status(tablet)["n"] == ENTRIES


def post_and_ignore(tablet, body):
    try:
        tablet.post("/api/v1/logs/entries", body)
    except (OSError, http.client.HTTPException):
        return  # the answer was lost, as meant


def test_two_tablets_and_repeats_at_once_give_each_log_once(server):
    tablets = [enrolled(server), enrolled(server)]
    for tablet in tablets:
        told(tablet)
    bodies = [(t, {"certificate": t.certificate, "from": 0, "entries": t.sent}) for t in tablets for _ in range(4)]
    answers = []
    threads = [
        threading.Thread(target=lambda t=t, body=body: answers.append(t.post("/api/v1/logs/entries", body)))
        for t, body in bodies
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(answers) == len(bodies)
    assert [status(tablet)["n"] for tablet in tablets] == [ENTRIES, ENTRIES]


def test_a_refusal_is_a_problem_over_http_too(server):
    tablet = enrolled(server)
    told(tablet, 2)
    body = {"certificate": tablet.certificate, "from": 1, "entries": tablet.sent[1:]}
    with pytest.raises(Refused) as refused:
        tablet.post("/api/v1/logs/entries", body)
    assert (refused.value.status, refused.value.problem["n"]) == (409, 0)


@pytest.mark.parametrize(
    ("length", "status"),
    [(("Content-Length", str(BODY_BYTES_MAX + 1)), 413), (("Transfer-Encoding", "chunked"), 411)],
)
def test_a_body_that_is_too_large_is_refused_before_it_comes_and_so_is_one_that_does_not_say_its_length(
    server, length, status
):
    # Nothing of the body is sent: the server answers by the headers and closes, and what was still being written
    # then would break the connection before its answer was read.
    with closing(http.client.HTTPConnection("127.0.0.1", server.port, timeout=30)) as connection:
        connection.putrequest("POST", "/api/v1/logs/status")
        connection.putheader("Content-Type", "application/json")
        connection.putheader(*length)
        connection.endheaders()
        answer = connection.getresponse()
        assert answer.status == status
        assert json.loads(answer.read())["status"] == status
