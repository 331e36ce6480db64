"""Whatever signed events a log holds, the fold gives a case file that reads, and the same one for the same events."""

from __future__ import annotations

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from server.core import strict_json
from server.core.canonical import canonical
from server.core.case_file import read
from server.core.case_fold import WITHHELD, fold
from server.core.judge.judge import judge
from server.core.log_events import LogEvent
from server.core.protocol import load
from tests.support.clean_case import HELD, PLAN
from tests.support.shared_vectors import FOLDER, vectors

PROTOCOL = load(strict_json.parse((FOLDER.parent / "protocol" / "phaco-cataract.json").read_bytes(), 32))
CASES = ("a", "b", "c")
LIST = "monday"
OPENING = {
    "type": "case_opened", "list": LIST, "slot": {"theatre": "t", "order": 1}, "date": "2026-11-25",
    "reference": "AB12", "plan": PLAN, "protocol": PROTOCOL.name, "unit_values": {"number": 1, "values": {}},
    "unit": "north-eye", "time_zone": "Europe/London", "practice": False,
}  # fmt: skip


def log(*events, device="d", texts=None):
    """Entries of one device, ten seconds apart, each with the clock that it has not got itself."""
    return [
        LogEvent(
            device, seq, f"{device}{seq}", {"id": f"{device}-{seq}", "clock": clock(10_000 * seq), **event}, texts or {}
        )
        for seq, event in enumerate(events)
    ]


def clock(wall_ms, ago_ms=0, offset_ms=0):
    return {"wall_ms": wall_ms, "ago_ms": ago_ms, "offset_ms": offset_ms}


def opened(case="a", **changed):
    return {**OPENING, "case": case, **changed}


def step(name, value, case="a", **more):
    return {"type": "step", "case": case, "step": name, "value": value, **more}


def brief(**more):
    return {"type": "step", "list": LIST, "step": "team-brief", "value": {}, **more}


def folded(entries, case="a"):
    return fold(entries, case, PROTOCOL)


def shown(entries, case):
    """The whole answer as one text, the names being those of the shared vectors."""
    found = folded(entries, case)
    meta = {{"list_name": "list"}.get(name, name): getattr(found.meta, name) for name in found.meta.__slots__}
    return json.dumps({"case_file": found.case_file, "meta": meta}, sort_keys=True)


def recorded(found):
    return [(event["id"], event.get("step", event["type"])) for event in found.case_file["events"]]


def test_a_sealed_text_is_opened_and_one_that_was_erased_is_shown_as_withheld():
    note = {"type": "breach", "case": "a", "text": {"sha256": "s"}, "reached_eye": False}
    with_text = folded(log(opened(), note, texts={"s": "glove torn"})).case_file["events"]
    without = folded(log(opened(), note)).case_file["events"]
    assert (with_text[0]["text"], without[0]["text"]) == ("glove torn", WITHHELD)


def test_the_team_brief_of_the_list_is_copied_into_its_case_under_an_id_of_its_own():
    void = {"type": "correct", "list": LIST, "corrects": "d-0", "void": True}
    found = folded(log(brief(), opened(), step("main-wound", {"width_um": 2200})))
    assert recorded(found) == [("list-d-0", "team-brief"), ("d-2", "main-wound")]
    assert folded(log(brief(list="tuesday"), opened())).case_file["events"] == []
    assert not read(folded(log(brief(), opened(), void)).case_file, PROTOCOL).records


def test_the_first_opening_decides_and_a_different_one_is_flagged():
    other = {**PLAN, "eye": "left"}
    found = folded(log(opened(), opened(plan=other)))
    assert found.case_file["plan"] == PLAN
    assert (found.meta.opened_count, found.meta.flags) == (2, ["opened_differently"])
    assert folded(log(opened(), opened())).meta.flags == []


def test_a_moved_case_keeps_its_own_plan_and_takes_the_events_along():
    wrong = {**PLAN, "eye": "left"}
    entries = log(
        opened("b", plan=wrong), step("main-wound", {"width_um": 2200}, "b"), opened("a"),
        {"type": "case_moved", "case": "b", "to": "a"},
    )  # fmt: skip
    assert folded(entries).case_file["plan"] == PLAN
    assert recorded(folded(entries)) == [("d-1", "main-wound")]
    assert (folded(entries, "b").meta.moved_to, folded(entries, "b").case_file) == ("a", None)


def test_a_voided_move_moves_nothing():
    entries = log(
        opened("b"),
        {"type": "case_moved", "case": "b", "to": "a"},
        {"type": "correct", "case": "b", "corrects": "d-1", "void": True},
    )
    assert folded(entries, "b").meta.moved_to is None
    assert folded(entries, "b").case_file is not None


@pytest.mark.parametrize("to", ["a", "b"])
def test_a_move_that_leads_back_to_where_it_began_is_ignored_and_flagged(to):
    entries = log(
        opened("a"),
        opened("b"),
        {"type": "case_moved", "case": "a", "to": to},
        {"type": "case_moved", "case": "b", "to": "a"},
    )
    found = folded(entries)
    assert found.meta.moved_to is None
    assert "move_ignored" in found.meta.flags
    assert found.case_file is not None


def test_of_two_contents_under_one_id_the_first_device_counts_and_the_other_is_unread():
    entries = log(opened(), step("main-wound", {"width_um": 2200}, id="same"), device="d")
    entries += log(step("main-wound", {"width_um": 2400}, id="same"), device="e")
    found = folded(entries)
    assert [event["value"] for event in found.case_file["events"]] == [{"width_um": 2200}]
    assert (found.meta.flags, found.meta.unread) == (["conflicting_id"], 1)


def test_one_is_not_true():
    entries = log(opened(), step("patient-identity", {"match": True}, id="same", clock=clock(5)), device="d")
    entries += log(step("patient-identity", {"match": 1}, id="same", clock=clock(5)), device="e")
    assert folded(entries).meta.flags == ["conflicting_id"]


@pytest.mark.parametrize(
    "event",
    [
        step("main-wound", {"width_um": "2200"}),
        step("main-wound", {"width_um": 2200}, id="no blanks"),
        step("main-wound", {"width_um": 2200}, said_by="a visitor"),
        step("main-wound", {"width_um": 2200}, clock={"wall_ms": "now"}),
        step("main-wound", {"width_um": 2200}, clock=None),
        {"type": "correct", "case": "a", "corrects": "d-1", "value": {"width_um": None}},
        {"type": "correct", "case": "a", "corrects": "d-1"},
        opened(plan={}),
        opened(protocol="phaco-cataract@9"),
    ],
)
def test_what_a_case_file_cannot_hold_is_left_out_flagged_and_unread(event):
    found = folded(log(opened(), step("main-wound", {"width_um": 2100}), event))
    assert (found.meta.flags, found.meta.unread) == (["unreadable_event"], 1)
    assert [event["value"] for event in found.case_file["events"]] == [{"width_um": 2100}]


def test_a_sign_off_is_the_surgeons_step_and_no_part_of_the_digests_that_it_signs():
    found = folded(log(opened(), {"type": "sign_off", "case": "a", "statement": {}, "proof": {}}))
    assert recorded(found) == [("d-1", "surgeon-sign-off")]
    assert found.meta.entries == ["d0"]
    assert (found.meta.sign_off["id"], found.meta.sign_off["device"]) == ("d-1", "d")


def test_instants_come_from_the_clock_at_the_tap():
    tapped = step("main-wound", {"width_um": 2200}, clock=clock(wall_ms=100_000, ago_ms=30_000, offset_ms=-2_000))
    event = folded(log(opened(), tapped)).case_file["events"][0]
    assert (event["entered_ms"], event["at_ms"]) == (98_000, 68_000)
    assert "clock" not in event


def test_a_case_that_was_never_opened_is_kept_and_not_judged():
    found = folded(log(step("main-wound", {"width_um": 2200})))
    assert found.case_file is None
    assert found.meta.opened_count == 0
    assert found.meta.first_ms == 0


@pytest.mark.parametrize("vector", vectors("fold"), ids=lambda vector: vector["id"])
def test_the_fold_gives_what_the_shared_vectors_say(vector):
    assert vector.keys() == {"id", "reason", "source", "input", "expect"}
    entries = [LogEvent(**entry) for entry in vector["input"]["entries"]]
    assert json.loads(shown(entries, vector["input"]["case"])) == vector["expect"]


# Hostile logs: every member is at times missing, of another type, or about something else.
words = st.sampled_from(["a", "b", "c", LIST, "d-0", "d-1", "list-d-0", "x y", "", "é"])
junk = st.none() | st.booleans() | st.integers(-3, 3) | words | st.lists(words, max_size=2) | st.just({"sha256": "s"})
small = st.integers(0, 40).map(lambda tens: 10_000 * tens)
clocks = st.builds(clock, small, small, st.none() | small) | junk
values = st.sampled_from([{}, HELD, {"width_um": 2200}, {"state": "torn"}, {"match": False}, {"sutures": 0}]) | junk
member = {
    "type": st.sampled_from(
        ["step", "not_done", "correct", "room", "fault", "breach", "complication", "answer", "case_opened",
         "case_moved", "not_operated", "sign_off", "device_enrolled", "later"]
    ),
    "id": words,
    "clock": clocks,
}  # fmt: skip
optional = {
    "case": st.sampled_from(CASES) | junk,
    "list": st.just(LIST) | junk,
    "to": st.sampled_from(CASES) | junk,
    "step": st.sampled_from(["team-brief", "main-wound", "posterior-capsule", "wound-hydration", "no-such-step"])
    | junk,
    "value": values,
    "corrects": words | junk,
    "void": st.just(True) | junk,
    "reason": words | junk,
    "moment": st.sampled_from(["patient_in", "patient_out"]) | junk,
    "stage": st.sampled_from(["before", "during"]) | junk,
    "what": words | junk,
    "text": junk,
    "reached_eye": junk,
    "deviation": words | junk,
    "grade": st.sampled_from(["G1", "G4"]) | junk,
    "said_by": st.just("surgeon") | junk,
    "plan": st.just(PLAN) | junk,
    "protocol": st.just(PROTOCOL.name) | junk,
    "unit_values": st.just({"number": 1, "values": {}}) | junk,
    "slot": junk,
    "statement": junk,
    "proof": junk,
}
events = st.fixed_dictionaries(member, optional=optional) | st.builds(
    opened, st.sampled_from(CASES), id=words, clock=clocks
)
devices = st.sampled_from("de")


@st.composite
def logs(draw):
    entries: list[LogEvent] = []
    for event in draw(st.lists(events, max_size=12)):
        device = draw(devices)
        seq = sum(entry.device == device for entry in entries)
        entries.append(LogEvent(device, seq, f"{device}{seq}", event, draw(st.sampled_from([{}, {"s": "text"}]))))
    return entries


@settings(max_examples=150, deadline=None)
@given(logs(), st.sampled_from(CASES))
def test_any_log_folds_into_a_case_file_that_reads_and_can_be_judged(entries, case):
    found = folded(entries, case)
    if found.case_file is not None:
        again = strict_json.parse(canonical(found.case_file))
        assert again == found.case_file
        judge(read(again, PROTOCOL), PROTOCOL)


@settings(max_examples=100, deadline=None)
@given(logs(), st.sampled_from(CASES), st.randoms(use_true_random=False))
def test_order_and_repeats_of_entries_change_nothing(entries, case, chance):
    again = entries + chance.sample(entries, k=len(entries) // 2)
    chance.shuffle(again)
    assert shown(again, case) == shown(entries, case)


@settings(max_examples=100, deadline=None)
@given(logs(), st.sampled_from(CASES))
def test_entries_about_other_cases_change_nothing(entries, case):
    far = log(
        opened("z"), step("main-wound", {"width_um": 1}, "z", id="far"), {"type": "case_moved", "case": "z", "to": "y"}
    )
    assert shown([*entries, *far], case) == shown(entries, case)
