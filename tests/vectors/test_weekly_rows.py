"""Every deviation of every shared judge case lands in one row of the weekly counts, within its chances."""

from __future__ import annotations

from collections import Counter

import pytest

from server.core.case_file import read as read_case_file
from server.core.judge.judge import judge
from server.core.protocol import load
from server.core.weekly import HUB, JudgedCase, count, possible
from tests.vectors.shared_files import JUDGE_VECTORS, PROTOCOL_FILE, read

PROTOCOL = load(read(PROTOCOL_FILE))


def judged_cases():
    for file in sorted(JUDGE_VECTORS.glob("*.json")):
        for vector in read(file)["vectors"]:
            if "answer" in vector["expect"] and "case_file" in vector["input"]:
                case_file = read_case_file(vector["input"]["case_file"], PROTOCOL)
                yield judge(case_file, PROTOCOL, is_open=vector["options"]["open"])


@pytest.fixture(scope="module")
def judgements():
    found = list(judged_cases())
    assert len(found) > 500
    return found


def as_counted(found):
    return JudgedCase(
        [(one.step, one.kind, one.grade, one.caught) for one in found.deviations],
        {step: found.injections.get(step, 0) for step in found.steps},
        dict(found.hub_events),
    )


def test_the_judge_raises_only_what_the_weekly_rows_hold(judgements):
    raised = {(one.step, one.kind, one.grade) for found in judgements for one in found.deviations}
    assert raised - set(possible(PROTOCOL)) == set()
    assert len(raised) > 100


def test_no_deviation_is_lost_or_counted_twice(judgements):
    rows = count(map(as_counted, judgements), PROTOCOL)
    counted = Counter({(row.step, row.kind, row.grade): row.events for row in rows if row.kind != HUB and row.events})
    assert counted == Counter(
        (one.step, one.kind, one.grade) for found in judgements for one in found.deviations if one.kind != HUB
    )


def test_injections_are_counted_by_their_own_grade_and_never_past_their_number(judgements):
    rows = [row for row in count(map(as_counted, judgements), PROTOCOL) if row.kind == HUB]
    earned = sum((Counter(found.hub_events) for found in judgements), Counter())
    assert {(row.step, row.grade): row.events for row in rows if row.events} == dict(earned)
    for step in {row.step for row in rows}:
        chances = {row.chances for row in rows if row.step == step}
        assert len(chances) == 1
        assert sum(row.events for row in rows if row.step == step) <= chances.pop()
