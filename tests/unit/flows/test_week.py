"""The weekly counts of a unit follow from what its tablets uploaded, and from nothing else."""

from __future__ import annotations

import csv
import io
import zipfile

import pytest

from server.core import export
from server.core.errors import InvalidInput
from server.flows import week
from server.flows.rebuild import rebuild_unit
from tests.support.clean_case import DOSE, HELD, STEPS
from tests.support.served_unit import UNIT, served_unit
from tests.support.tablet import STEP_MS, Tablet

DAY = "2026-11-25"
NINE_MS = 1_795_597_200_000  # 2026-11-25 09:00 in London
HOUR_MS = 3_600_000
WEEK = "2026-W48"


@pytest.fixture
def served(tmp_path):
    with served_unit(tmp_path) as unit:
        yield unit


@pytest.fixture
def tablet(served):
    return Tablet(served)


def report(served, name=WEEK):
    return week.report(served.authority, UNIT, name)


def with_events(found):
    return {(row.step, row.kind, row.grade): row.events for row in found.rows if row.events}


def row(found, step, kind, grade):
    return next(row for row in found.rows if (row.step, row.kind, row.grade) == (step, kind, grade))


def test_a_week_of_clean_operations_has_rows_with_chances_and_no_events(served, tablet):
    for number in range(3):
        tablet.operation(DAY, f"AB{number}C", NINE_MS + number * HOUR_MS)
    tablet.send(NINE_MS)
    found = report(served)
    assert with_events(found) == {}
    assert {row.chances for row in found.rows if row.kind == "omitted"} == {3}
    assert {row.step for row in found.rows} == {step for step, _value in STEPS} | {"surgeon-sign-off", "case"}
    assert found.quality["cases_received"] == 3
    assert found.quality["unsigned"] == found.quality["judged_open"] == 0


def test_deviations_are_counted_in_their_step_kind_and_grade(served, tablet):
    tablet.operation(DAY, "AB1C", NINE_MS)
    tablet.operation(DAY, "AB2C", NINE_MS + HOUR_MS, {"main-wound": {"width_um": 3200}, "sign-out": None})
    tablet.send(NINE_MS)
    found = report(served)
    assert with_events(found) == {("main-wound", "out_of_tolerance", "G1"): 1, ("sign-out", "omitted", "G2"): 1}
    counted = row(found, "main-wound", "out_of_tolerance", "G1")
    assert (counted.cases_with, counted.chances, counted.caught, counted.rate_per_100) == (1, 2, 0, 50)


def test_caught_deviations_are_counted_as_caught(served, tablet):
    case = tablet.operation(DAY, "AB1C", NINE_MS)
    tablet.step(case, "drug-check", {**DOSE, "strength_ug_ml": 100_000}, NINE_MS + 9 * STEP_MS - 5000)
    tablet.send(NINE_MS)
    counted = row(report(served), "drug-check", "dose", "G2")
    assert (counted.events, counted.caught) == (1, 1)


def test_hub_events_are_injections_each_by_its_own_grade(served, tablet):
    case = tablet.operation(DAY, "AB1C", NINE_MS, {"wound-hydration": {**HELD, "hub_held": False}})
    seconds_later = NINE_MS + 24 * STEP_MS
    tablet.step(case, "wound-hydration", {**HELD, "hub_held": False}, seconds_later + 1000)
    tablet.step(case, "wound-hydration", {**HELD, "detached": True}, seconds_later + 2000)
    tablet.step(case, "wound-hydration", HELD, seconds_later + 3000)
    tablet.operation(DAY, "AB2C", NINE_MS + HOUR_MS)
    tablet.send(NINE_MS)
    found = report(served)
    not_held = row(found, "wound-hydration", "hub_not_held", "G2")
    detached = row(found, "wound-hydration", "hub_not_held", "G3")
    injured = row(found, "wound-hydration", "hub_not_held", "G4")
    assert [(r.events, r.cases_with, r.chances) for r in (not_held, detached, injured)] == [
        (2, 1, 5), (1, 1, 5), (0, 0, 5),
    ]  # fmt: skip
    assert not_held.rate_per_100 == 40


def test_faults_of_one_case_are_events_each_and_one_case_with(served, tablet):
    case = tablet.operation(DAY, "AB1C", NINE_MS)
    for _ in range(3):
        tablet.add({"type": "fault", "case": case, "stage": "during"}, NINE_MS + HOUR_MS, text="foot pedal")
    tablet.operation(DAY, "AB2C", NINE_MS + HOUR_MS)
    tablet.send(NINE_MS)
    counted = row(report(served), "case", "equipment", "G2")
    assert (counted.events, counted.cases_with, counted.chances, counted.rate_per_100) == (3, 1, 2, 50)


def test_a_case_belongs_to_the_week_of_its_patient_in_time_in_the_units_zone(served, tablet):
    sunday_last_ms = 1_774_825_140_000  # 2026-03-29 22:59 UTC: 23:59 in London, whose summer began that day
    tablet.operation("2026-03-29", "AB1C", sunday_last_ms)
    tablet.operation("2026-03-30", "AB2C", sunday_last_ms + 60_000)
    late = tablet.open_case("2026-03-30", "AB3C", sunday_last_ms - HOUR_MS)
    tablet.room(late, "patient_in", sunday_last_ms + 120_000)
    tablet.send(NINE_MS)
    assert week.weeks(UNIT) == ["2026-W14", "2026-W13"]
    assert report(served, "2026-W13").quality["cases_received"] == 1
    assert report(served, "2026-W14").quality["cases_received"] == 2


def test_an_operation_still_going_on_is_judged_open(served, tablet):
    case = tablet.open_case(DAY, "AB1C", NINE_MS)
    tablet.step(case, "main-wound", {"width_um": 3200}, NINE_MS + STEP_MS)
    tablet.send(NINE_MS)
    found = report(served)
    assert (found.quality["judged_open"], found.quality["unsigned"]) == (1, 1)
    assert with_events(found) == {("main-wound", "out_of_tolerance", "G1"): 1}
    tablet.room(case, "patient_out", NINE_MS + HOUR_MS)
    tablet.send(NINE_MS + HOUR_MS)
    found = report(served)
    assert (found.quality["judged_open"], found.quality["unsigned"]) == (0, 1)
    assert ("sign-out", "omitted", "G2") in with_events(found)


def test_what_was_put_off_is_not_counted_as_missing_and_what_happened_is_kept(served, tablet):
    put_off = tablet.open_case(DAY, "AB1C", NINE_MS)
    tablet.add({"type": "not_operated", "case": put_off, "reason": "not_available"}, NINE_MS + STEP_MS)
    begun = tablet.open_case(DAY, "AB2C", NINE_MS)
    tablet.step(begun, "marked-eye", {"eye": "left"}, NINE_MS + STEP_MS)
    tablet.add({"type": "not_operated", "case": begun, "reason": "refused"}, NINE_MS + 2 * STEP_MS)
    tablet.room(begun, "patient_out", NINE_MS + 3 * STEP_MS)
    tablet.send(NINE_MS)
    found = report(served)
    assert with_events(found) == {("marked-eye", "readback_mismatch", "G3"): 1}
    assert {row.step: row.chances for row in found.rows} == {"marked-eye": 1, "case": 1}
    assert (found.quality["not_operated"], found.quality["unsigned"], found.quality["judged_open"]) == (2, 0, 0)


def test_practice_is_in_no_figure_and_makes_no_week(served, tablet):
    tablet.operation(DAY, "AB1C", NINE_MS, {"sign-out": None}, practice=True)
    tablet.send(NINE_MS)
    found = report(served)
    assert found.rows == []
    assert found.quality["cases_received"] == 0
    assert week.weeks(UNIT) == []


def test_quality_figures_say_how_it_was_recorded(served, tablet):
    case = tablet.operation(DAY, "AB1C", NINE_MS, slot=None, list=None)
    tablet.step(case, "seal-check", {"state": "dry"}, NINE_MS + 25 * STEP_MS, ago_ms=61_000)
    tablet.step(case, "dye", {"dye": "trypan_blue", "strength_ug_ml": 600, "in_eye": True}, NINE_MS + 13 * STEP_MS)
    tablet.add({"type": "step", "case": case, "step": "new-step", "value": {}}, NINE_MS)
    left = tablet.open_case(DAY, "AB2C", NINE_MS)
    tablet.room(left, "patient_out", NINE_MS + HOUR_MS)
    for second in range(4):
        tablet.step(left, "machine-ready", {}, NINE_MS + second * 1000)
    tablet.sign(left, NINE_MS + HOUR_MS + 1)
    tablet.send(NINE_MS)
    quality = report(served).quality
    assert quality == {
        "cases_listed": 0,
        "cases_received": 2,
        "listed_not_received": 0,
        "without_plan": 0,
        "not_operated": 0,
        "not_on_the_list": 1,
        "unsigned": 0,
        "judged_open": 0,
        "with_unread_entries": 1,
        "records": 36,
        "live_pct": quality["live_pct"],
        "late_pct": quality["late_pct"],
        "burst_cases_pct": 50,
        "hub_not_asked": 1,
        "signed_after_patient_left": 1,
    }
    assert (export.shown(quality["live_pct"]), export.shown(quality["late_pct"])) == ("97.22", "2.78")


def test_entries_whose_plan_is_still_on_another_tablet_are_told_apart(served, tablet):
    first, second = tablet, Tablet(served, "Tablet 2")
    case = first.open_case(DAY, "AB1C", NINE_MS)
    second.step(case, "main-wound", {"width_um": 3200}, NINE_MS + STEP_MS)
    second.send(NINE_MS)
    quality = report(served).quality
    assert (quality["cases_received"], quality["without_plan"]) == (1, 1)
    assert report(served).rows == []
    first.send(NINE_MS)
    quality = report(served).quality
    assert (quality["cases_received"], quality["without_plan"]) == (1, 0)
    assert with_events(report(served)) == {("main-wound", "out_of_tolerance", "G1"): 1}


def test_a_case_that_was_opened_on_the_wrong_slot_counts_once_where_it_belongs(served, tablet):
    wrong = tablet.open_case(DAY, "AB1C", NINE_MS)
    tablet.step(wrong, "main-wound", {"width_um": 3200}, NINE_MS + STEP_MS)
    right = tablet.open_case(DAY, "AB2C", NINE_MS + 2 * STEP_MS)
    tablet.add({"type": "case_moved", "case": wrong, "to": right}, NINE_MS + 3 * STEP_MS)
    tablet.send(NINE_MS)
    found = report(served)
    assert found.quality["cases_received"] == 1
    assert with_events(found) == {("main-wound", "out_of_tolerance", "G1"): 1}
    assert row(found, "main-wound", "out_of_tolerance", "G1").chances == 1


def test_a_week_without_cases_has_no_rows_and_no_shares(served):
    found = report(served, "2026-W01")
    assert found.rows == []
    assert found.quality["live_pct"] is None
    assert week.files(found)[f"counts_{UNIT}_2026-W01_INTERNAL.csv"].count(b"\r\n") == 1


def test_week_53_of_a_year_without_one_is_refused(served):
    with pytest.raises(InvalidInput, match="2027 has 52 weeks"):
        report(served, "2027-W53")


def test_files_hold_no_person_no_staff_code_and_no_free_text(served, tablet):
    case = tablet.operation(DAY, "AB1C", NINE_MS)
    tablet.add({"type": "fault", "case": case, "stage": "before", "staff": "SRG9"}, NINE_MS, text="Nurse Smith said so")
    tablet.add({"type": "complication", "case": case, "what": "a story with a name"}, NINE_MS)
    tablet.send(NINE_MS)
    files = week.files(report(served))
    for name, content in files.items():
        for told in (b"SRG9", b"Smith", b"story", b"AB1C"):
            assert told not in content, name
    assert list(files) == [
        f"readme_{UNIT}_{WEEK}.txt", f"counts_{UNIT}_{WEEK}_INTERNAL.csv", f"quality_{UNIT}_{WEEK}_INTERNAL.csv",
    ]  # fmt: skip


def test_the_readme_begins_with_whether_the_week_can_be_believed(served, tablet):
    tablet.operation(DAY, "AB1C", NINE_MS)
    tablet.send(NINE_MS + HOUR_MS)
    lines = week.files(report(served))[f"readme_{UNIT}_{WEEK}.txt"].decode().split("\r\n")
    assert lines[0] == f"hubheld weekly counts, unit {UNIT}, {WEEK}, INTERNAL".replace(WEEK, f"week {WEEK}")
    assert lines[3].startswith("Counted from what had come in by 2026-11-25 10:00 +00:00.")
    figures = lines[4 : lines.index("Cautions") - 1]
    assert {line.partition(":")[0] for line in figures} >= {"late_pct", "burst_cases_pct", "listed_not_received"}
    assert "Limits in force: phaco-cataract@1, unit values number 1 (cases: 1)" in lines
    assert "main_wound_um: 1.8 mm to 3.0 mm" in lines
    assert "late_s: 1:00 min" in lines
    assert "segment vacuum_mmhg: 200 mmHg to 550 mmHg" in lines
    assert "cefuroxime: dose 1 mg, barred by cephalosporin, penicillin_severe" in lines


def test_the_same_entries_give_the_same_bytes_after_a_rebuild_too(served, tablet):
    tablet.operation(DAY, "AB1C", NINE_MS, {"main-wound": {"width_um": 3200}})
    tablet.send(NINE_MS)
    first = week.zipped(report(served))
    assert week.zipped(report(served)) == first
    assert rebuild_unit(served.authority, UNIT) == 1
    assert week.zipped(report(served)) == first
    with zipfile.ZipFile(io.BytesIO(first)) as archive:
        assert {member.date_time for member in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        counts = list(csv.DictReader(io.StringIO(archive.read(f"counts_{UNIT}_{WEEK}_INTERNAL.csv").decode())))
    assert [r["kind"] for r in counts if r["events"] != "0"] == ["out_of_tolerance"]
    assert {r["protocol"] for r in counts} == {"phaco-cataract@1"}
