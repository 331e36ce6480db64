"""What may not change the answer does not: order, repeats, pieces, unknown members, a constant error of the clock."""

from __future__ import annotations

import copy
import json
from random import Random
from typing import Any

import pytest

from server.core import protocol as protocol_file
from server.core import strict_json
from server.core.case_file import read
from server.core.judge.deviation import Judgement
from server.core.judge.judge import judge
from tests.fuzz.case_generator import valid_case
from tests.fuzz.case_values import PROTOCOL, WHOLE_MAX

SEED = 31
CASES = 200
SHIFTS_MS = (1, -1, 86_400_000, -3_600_123)
LOADED = protocol_file.load(PROTOCOL)


def judged(case: dict[str, Any], *, is_open: bool = False, without_sign_off: bool = False) -> Judgement:
    content = json.dumps(case).encode()
    case_file = read(strict_json.parse(content), LOADED)
    return judge(case_file, LOADED, is_open=is_open, without_sign_off=without_sign_off)


@pytest.fixture(scope="module")
def cases():
    chance = Random(SEED)
    return [valid_case(chance) for _ in range(CASES)]


def test_the_order_of_events_in_the_file_changes_nothing(cases):
    chance = Random(SEED)
    for case in cases:
        shuffled = case | {"events": chance.sample(case["events"], len(case["events"]))}
        assert judged(shuffled) == judged(case)


def test_repeats_change_nothing(cases):
    chance = Random(SEED)
    for case in cases:
        repeated = chance.choices(case["events"], k=5) if case["events"] else []
        assert judged(case | {"events": [*repeated, *case["events"], *repeated]}) == judged(case)


def test_a_case_that_came_in_two_overlapping_pieces_is_the_same_case(cases):
    chance = Random(SEED)
    for case in cases:
        events = case["events"]
        start, end = sorted(chance.choices(range(len(events) + 1), k=2))
        assert judged(case | {"events": events[start:] + events[:end]}) == judged(case)


def test_unknown_members_change_nothing(cases):
    for case in cases:
        changed = copy.deepcopy(case)
        changed["colour"] = changed["plan"]["colour"] = changed["plan"]["lens"]["colour"] = [{"a": 1}]
        for event in changed["events"]:
            event["colour"] = "red"
            if isinstance(event.get("value"), dict):
                event["value"]["colour"] = {"strength": 3}
        assert judged(changed) == judged(case)


def test_a_constant_error_of_the_clock_changes_nothing_but_expiry(cases):
    for case in cases:
        for shift_ms in SHIFTS_MS:
            still, shifted = without_expiry(case), without_expiry(case)
            for event in shifted["events"]:
                event["at_ms"] += shift_ms
                event["entered_ms"] += shift_ms
            if all(abs(event[name]) <= WHOLE_MAX for event in shifted["events"] for name in ("at_ms", "entered_ms")):
                assert judged(shifted) == judged(still)


def without_expiry(case: dict[str, Any]) -> dict[str, Any]:
    copied = copy.deepcopy(case)
    for event in copied["events"]:
        if isinstance(event.get("value"), dict):
            event["value"].pop("expiry", None)
    return copied


def test_an_open_case_is_the_closed_case_without_what_was_omitted(cases):
    for case in cases:
        closed, still_open = judged(case), judged(case, is_open=True)
        assert still_open.deviations == tuple(row for row in closed.deviations if row.kind != "omitted")
        assert (still_open.flags, still_open.unread) == (closed.flags, closed.unread)


def test_the_sign_off_screen_leaves_out_only_the_rows_of_the_sign_off(cases):
    for case in cases:
        closed, screen = judged(case), judged(case, without_sign_off=True)
        assert screen.deviations == tuple(row for row in closed.deviations if row.step != "surgeon-sign-off")


def test_voiding_everything_leaves_an_empty_case(cases):
    for case in cases:
        targets = {event["id"] for event in case["events"] if event["type"] != "correct"}
        voids = [
            {"id": f"v{at}", "type": "correct", "corrects": target, "at_ms": 0, "entered_ms": WHOLE_MAX, "void": True}
            for at, target in enumerate(sorted(targets))
        ]
        empty = case | {"events": []}
        assert judged(case | {"events": case["events"] + voids}) == judged(empty)


def test_each_row_has_its_own_key_and_the_rows_are_sorted(cases):
    for case in cases:
        rows = [(row.step, row.kind, row.key) for row in judged(case).deviations]
        assert rows == sorted(set(rows))
        assert len({key for _step, _kind, key in rows}) == len(rows)
