"""The API keeps to its own OpenAPI document under generated requests, good and bad: no bug, no undocumented answer."""

from __future__ import annotations

import subprocess

from tests.support.real_server import BIN, RealServer

# Every check of the tool but one: a document cannot say that a signature must verify, so that valid data is refused.
WORDS = ("--max-examples", "12", "--seed", "1", "--generation-database", "none")
LEFT_OUT = ("--exclude-checks", "positive_data_acceptance")
# Besides the tool's own list of refusals, a body that is too large is refused as that.
SETTINGS = """
[checks.negative_data_rejection]
expected-statuses = [400, 401, 403, 404, 405, 406, 409, 411, 413, 415, 422, 428, 429]
"""


def test_no_generated_request_meets_a_bug_or_an_answer_that_is_not_documented(tmp_path):
    server = RealServer(tmp_path)
    server.hubheld("migrate")
    words = ("unit", "found", "--unit", "testunit", "--name", "Test theatre (invented)", "--time-zone", "UTC")
    server.hubheld(*words, typed="plain-words-for-tests\n")
    (tmp_path / "schemathesis.toml").write_text(SETTINGS)
    server.start()
    try:
        command = [str(BIN / "st"), "run", f"http://127.0.0.1:{server.port}/api/v1/openapi.json", *WORDS, *LEFT_OUT]
        done = subprocess.run(command, capture_output=True, text=True, check=False, cwd=tmp_path)
    finally:
        server.stop()
    start = done.stdout.find("FAILURES")
    assert done.returncode == 0, done.stdout[max(start, 0) :][:3000]
