"""Judged cases follow from the logs alone: however the entries came in, and as often as they are made again."""

from __future__ import annotations

import tempfile
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import update

from server.core.errors import OutOfStep
from server.flows import intake
from server.flows.rebuild import rebuild_unit
from server.store import projections
from server.store.scope import reading, writing
from server.store.tables import ProjectedCase, ProjectedDeviation
from tests.support.clean_case import PLAN
from tests.support.rows import PROJECTED, rows
from tests.support.served_unit import UNIT, served_unit
from tests.support.tablet import Tablet

NINE_MS = 1_795_597_200_000  # 2026-11-25 09:00 in London
DAY = "2026-11-25"
WEEK = "2026-W48"
LIST = f"{UNIT}_{DAY}_theatre-2"


@pytest.fixture
def served(tmp_path):
    with served_unit(tmp_path) as unit:
        yield unit


@pytest.fixture
def tablet(served):
    return Tablet(served)


def cases():
    with reading(UNIT) as scope:
        return {case.case: case for case in projections.cases_of_week(scope, WEEK)}


def deviations():
    with reading(UNIT) as scope:
        return {found.key: found for found in projections.deviations_of_week(scope, WEEK)}


def of_case(found, reference):
    return [row for row in found if name(reference) in row]


def name(reference, eye="right"):
    return f"{UNIT}_{DAY}_{reference}_{eye}"


def test_a_new_entry_changes_its_case_and_no_other(served, tablet):
    tablet.operation(DAY, "AB12", NINE_MS)
    other = tablet.operation(DAY, "CD34", NINE_MS)
    tablet.send(NINE_MS)
    before = rows(served, *PROJECTED)
    tablet.add({"type": "breach", "case": other, "reached_eye": True}, NINE_MS)
    tablet.send(NINE_MS)
    assert [(found.case, found.kind) for found in deviations().values()] == [(other, "contamination")]
    after = rows(served, *PROJECTED)
    assert {table: of_case(found, "AB12") for table, found in after.items()} == {
        table: of_case(found, "AB12") for table, found in before.items()
    }


def test_the_brief_of_a_list_reaches_the_cases_that_were_judged_before_it_came(served, tablet):
    tablet.operation(DAY, "AB12", NINE_MS, {"team-brief": None})
    tablet.send(NINE_MS)
    assert list(deviations()) == ["team-brief/omitted"]
    tablet.add({"type": "step", "list": LIST, "step": "team-brief", "value": {}}, NINE_MS - 60_000)
    tablet.send(NINE_MS)
    assert deviations() == {}


def test_a_moved_case_is_judged_under_its_new_name_also_when_more_comes_under_the_old_one(served, tablet):
    old = tablet.operation(DAY, "AB12", NINE_MS)
    new = tablet.open_case(DAY, "CD34", NINE_MS)
    tablet.add({"type": "case_moved", "case": old, "to": new}, NINE_MS)
    tablet.send(NINE_MS)
    assert list(cases()) == [new]
    tablet.add({"type": "breach", "case": old, "reached_eye": False}, NINE_MS)
    tablet.send(NINE_MS)
    assert [(found.case, found.kind) for found in deviations().values()] == [(new, "contamination")]


def test_a_move_to_a_case_that_nobody_opened_takes_the_plan_along_and_is_made_again_the_same(served, tablet):
    old = tablet.operation(DAY, "AB12", NINE_MS)
    tablet.add({"type": "case_moved", "case": old, "to": name("EF56")}, NINE_MS)
    tablet.send(NINE_MS)
    before = rows(served, *PROJECTED)
    assert list(cases()) == [name("EF56")]
    assert rebuild_unit(served.authority, UNIT) == 2
    assert rows(served, *PROJECTED) == before


@pytest.mark.parametrize("list_name", [["a"], {"a": 1}, 1])
def test_an_opening_whose_list_is_no_name_is_kept_and_judged_without_a_list(served, tablet, list_name):
    case = tablet.operation(DAY, "AB12", NINE_MS, list=list_name)
    tablet.send(NINE_MS)
    assert (cases()[case].list, cases()[case].judged) == (None, True)


def test_a_rebuild_throws_away_what_no_log_says(served, tablet):
    tablet.operation(DAY, "AB12", NINE_MS, {"seal-check": {"state": "leak"}})
    tablet.send(NINE_MS)
    before = rows(served, *PROJECTED)
    with writing(UNIT) as scope:
        columns = ProjectedCase.__table__.columns.keys()
        scope.add(ProjectedCase, [{**dict(zip(columns, before["projected_case"][0], strict=True)), "case": "stray"}])
        scope.change(update(ProjectedDeviation).values(grade="G1"))
    assert rows(served, *PROJECTED) != before
    rebuild_unit(served.authority, UNIT)
    assert rows(served, *PROJECTED) == before
    assert [row[5] for row in before["projected_deviation"]] == ["G3"]


@pytest.mark.parametrize(
    ("ending", "judged_open"), [(None, True), ("patient_out", False), ("sign_off", False), ("voided sign_off", True)]
)
def test_a_case_is_judged_closed_once_it_is_signed_or_the_patient_has_left(served, tablet, ending, judged_open):
    case = tablet.open_case(DAY, "AB12", NINE_MS)
    if ending == "patient_out":
        tablet.room(case, "patient_out", NINE_MS)
    elif ending is not None:
        signed = tablet.sign(case, NINE_MS)
        if ending == "voided sign_off":
            tablet.add({"type": "correct", "case": case, "corrects": signed, "void": True}, NINE_MS)
    tablet.send(NINE_MS)
    assert cases()[case].judged_open is judged_open
    assert ("machine-ready/omitted" in deviations()) is not judged_open


def test_the_week_is_that_of_the_first_patient_in_and_else_of_the_earliest_time(served, tablet):
    week_ms = 7 * 24 * 3_600_000
    late = tablet.open_case(DAY, "AB12", NINE_MS - week_ms)
    tablet.room(late, "patient_in", NINE_MS + week_ms)
    tablet.room(late, "patient_in", NINE_MS)
    without = tablet.open_case(DAY, "CD34", NINE_MS)
    tablet.step(without, "machine-ready", {}, NINE_MS + week_ms)
    tablet.send(NINE_MS)
    assert list(cases()) == [late, without]


def test_the_answer_that_stands_is_kept_beside_its_deviation_and_a_voided_one_is_not(served, tablet):
    case = tablet.operation(DAY, "AB12", NINE_MS, {"seal-check": {"state": "leak"}, "final-look": {"state": "leak"}})
    said = {"type": "answer", "case": case, "grade": "G3", "harm": "none"}
    tablet.add({**said, "deviation": "seal-check/out_of_tolerance"}, NINE_MS)
    tablet.add({**said, "deviation": "final-look/out_of_tolerance", "grade": "G2"}, NINE_MS)
    tablet.send(NINE_MS)
    found = deviations()
    assert found["seal-check/out_of_tolerance"].answer == {"grade": "G3", "harm": "none"}
    assert found["final-look/out_of_tolerance"].answer is None  # given for a lower grade: asked again


# Any split, repeat and order of batches


def told(tablet, other):
    """Two tablets, one case between them, a moved case, a list's brief, a fault with free text, one id twice."""
    shared = tablet.open_case(DAY, "AB12", NINE_MS)
    tablet.add({"type": "step", "list": LIST, "step": "team-brief", "value": {}}, NINE_MS)
    tablet.step(shared, "rhexis", {"diameter_um": 6000, "continuous": True}, NINE_MS + 1000)
    wrong = tablet.open_case(DAY, "CD34", NINE_MS)
    tablet.step(wrong, "main-wound", {"width_um": 3500}, NINE_MS + 2000)
    tablet.add({"type": "case_moved", "case": wrong, "to": shared}, NINE_MS + 3000)
    tablet.add({"type": "fault", "case": shared, "stage": "during"}, NINE_MS, text="the pedal stuck")
    tablet.add({"type": "breach", "case": shared, "reached_eye": True, "id": "same"}, NINE_MS)
    other.add({"type": "breach", "case": shared, "reached_eye": False, "id": "same"}, NINE_MS)
    other.open_case(DAY, "AB12", NINE_MS + 500, plan={**PLAN, "red_reflex": "poor"})
    other.step(wrong, "seal-check", {"state": "leak"}, NINE_MS + 4000)
    other.add({"type": "correct", "list": LIST, "corrects": f"{tablet.device[:8]}-1", "void": True}, NINE_MS + 9000)
    other.room(shared, "patient_out", NINE_MS + 5000)
    other.sign(shared, NINE_MS + 6000)


@cache
def two_logs():
    with tempfile.TemporaryDirectory() as folder, served_unit(Path(folder)) as served:
        tablets = (Tablet(served), Tablet(served, "Tablet 2"))
        told(*tablets)
        return tablets


def take(served, tablet, first, count):
    sent = tablet.entries[first : first + count]
    try:
        intake.take_in(served.authority, intake.Upload(tablet.certificate, first, sent), NINE_MS)
    except OutOfStep:
        return  # the device then sends from where the server stands


@cache
def in_one_piece():
    with tempfile.TemporaryDirectory() as folder, served_unit(Path(folder)) as served:
        for tablet in two_logs():
            take(served, tablet, 0, len(tablet.entries))
        return rows(served)


batches = st.lists(st.tuples(st.integers(0, 1), st.integers(0, 8), st.integers(0, 9)), max_size=8)


@settings(max_examples=20, deadline=None)
@given(batches, st.booleans(), st.booleans())
def test_any_split_repeat_and_order_of_batches_gives_the_same_log_and_the_same_judged_cases(sent, turned, rebuilt):
    whole = in_one_piece()
    with tempfile.TemporaryDirectory() as folder, served_unit(Path(folder)) as served:
        for which, first, count in sent:
            take(served, two_logs()[which], first, count)
        for tablet in reversed(two_logs()) if turned else two_logs():
            take(served, tablet, 0, len(tablet.entries))
        if rebuilt:
            rebuild_unit(served.authority, UNIT)
        assert rows(served) == whole


def test_the_two_logs_hold_what_the_property_is_about():
    case, moved = in_one_piece()["projected_case"]
    assert "conflicting_id" in repr(case)
    assert "opened_differently" in repr(case)
    assert case[0:2] == (UNIT, name("AB12"))
    assert name("AB12") in moved[2:]
    kinds = {row[4] for row in in_one_piece()["projected_deviation"]}
    assert {"out_of_tolerance", "equipment", "contamination", "omitted"} <= kinds
