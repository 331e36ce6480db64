"""The weekly rows are those that the protocol makes possible, and each count has the meaning of contract section 5."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from server.core import protocol as protocol_file
from server.core import strict_json
from server.core.weekly import JudgedCase, count, possible

FILE = Path(__file__).parents[3] / "shared" / "protocol" / "phaco-cataract.json"
PROTOCOL = protocol_file.load(strict_json.parse(FILE.read_bytes(), 64))

# Contract section 5, written out by hand: which kind can befall which step, and how gravely.
SETTINGS = ("ultrasound-mode", "cortex-mode", "washout-mode", "vitrectomy-mode")
INJECTIONS = (
    "dye", "viscoelastic-fill", "hydrodissection", "viscoelastic-bag", "wound-hydration", "intracameral-drug",
    "other-medicine",
)  # fmt: skip
READ_BACK = (
    "patient-identity", "marked-eye", "block-eye", "time-out", "lens-plan", "lens-box", "dye", "wound-hydration",
)  # fmt: skip
OMITTED_G1 = ("team-brief", "washout-mode")
OMITTED_G3 = ("marked-eye", "time-out", "lens-plan", "lens-box", "intracameral-drug", "closing-count")
NEVER_DUE = ("other-medicine", "list-debrief")
OUT_OF_ORDER = {
    "time-out": "G1", "block-eye": "G3", "main-wound": "G1 G3", "drug-check": "G1", "intracameral-drug": "G1 G3",
    "rhexis": "G1", "ultrasound-mode": "G1", "cortex-mode": "G1", "posterior-capsule": "G1", "lens-box": "G1",
    "lens-placed": "G1 G3", "washout": "G1", "wound-hydration": "G1", "seal-check": "G1", "final-look": "G1 G2",
    "closing-count": "G1 G2", "sign-out": "G1 G2", "surgeon-sign-off": "G1", "vitrectomy-mode": "G1",
    "new-lens-plan": "G1", "viscoelastic-bag": "G1",
}  # fmt: skip
BY_KIND = {
    "out_of_order": OUT_OF_ORDER,
    "out_of_tolerance": {
        "antiseptic": "G2", "main-wound": "G1", "rhexis": "G1 G2", "seal-check": "G3", "final-look": "G2 G3",
        **dict.fromkeys(SETTINGS, "G1"),
    },
    "dose": {"drug-check": "G2", "intracameral-drug": "G2 G3 G4", "dye": "G2 G3 G4"},
    "contraindicated": {
        "drug-check": "G2", "intracameral-drug": "G2 G3", "other-medicine": "G2 G3", "dye": "G2 G3",
        "antiseptic": "G3",
    },
    "readback_mismatch": dict.fromkeys(READ_BACK, "G2 G3"),
    "wrong_setting": dict.fromkeys(SETTINGS, "G1 G2"),
    "hub_not_held": dict.fromkeys(INJECTIONS, "G2 G3 G4"),
    "substitution": {
        "intracameral-drug": "G1 G2 G4", "dye": "G2 G4", "antiseptic": "G1 G2", "lens-placed": "G1 G3 G4",
    },
    "count": {"closing-count": "G2 G3 G4"},
    "time_overrun": {"case": "G1"},
    "equipment": {"case": "G1 G2"},
    "contamination": {"case": "G2 G3"},
    "complication": {"posterior-capsule": "G4", "rhexis": "G3", "case": "G3 G4"},
}  # fmt: skip


def expected_cells():
    cells = {
        (step, kind, grade)
        for kind, steps in BY_KIND.items()
        for step, grades in steps.items()
        for grade in grades.split()
    }
    for step in PROTOCOL.steps:
        if step not in NEVER_DUE:
            cells.add((step, "omitted", "G1" if step in OMITTED_G1 else "G3" if step in OMITTED_G3 else "G2"))
        if step not in ("team-brief", "list-debrief"):
            cells.add((step, "late_entry", "G1"))
    return cells


def case(*deviations, steps=None, hub=None):
    return JudgedCase(list(deviations), steps or {}, hub or {})


def cell(rows, step, kind, grade):
    return next((row for row in rows if (row.step, row.kind, row.grade) == (step, kind, grade)), None)


def test_rows_are_all_that_the_contract_makes_possible_and_no_other():
    assert set(possible(PROTOCOL)) == expected_cells()


def test_rows_are_sorted_and_each_stands_once():
    cells = possible(PROTOCOL)
    assert cells == sorted(set(cells))


def test_a_step_without_chances_has_no_row_and_one_with_chances_has_a_row_of_zeros():
    rows = count([case(steps={"rhexis": 0})], PROTOCOL)
    assert {row.step for row in rows} == {"rhexis", "case"}
    zero = cell(rows, "rhexis", "late_entry", "G1")
    assert (zero.events, zero.cases_with, zero.chances, zero.caught, zero.rate_per_100) == (0, 0, 1, 0, 0)
    assert cell(rows, "case", "time_overrun", "G1").chances == 1


def test_a_week_without_cases_has_no_rows():
    assert count([], PROTOCOL) == []


def test_deviations_of_one_case_count_each_and_as_one_case_with():
    faults = [("case", "equipment", "G2", False)] * 3
    row = cell(count([case(*faults), case()], PROTOCOL), "case", "equipment", "G2")
    assert (row.events, row.cases_with, row.chances, row.rate_per_100) == (3, 1, 2, 50)


def test_grades_of_one_kind_are_counted_apart():
    rows = count(
        [
            case(("seal-check", "late_entry", "G1", False), ("final-look", "out_of_order", "G2", False),
                 steps={"seal-check": 0, "final-look": 0}),
            case(("final-look", "out_of_order", "G1", False), steps={"final-look": 0}),
        ],
        PROTOCOL,
    )  # fmt: skip
    assert cell(rows, "final-look", "out_of_order", "G1").events == 1
    assert cell(rows, "final-look", "out_of_order", "G2").events == 1
    assert cell(rows, "final-look", "out_of_order", "G2").chances == 2
    assert cell(rows, "seal-check", "late_entry", "G1").chances == 1


def test_caught_deviations_are_counted_beside_the_events():
    box = ("lens-box", "readback_mismatch", "G2")
    rows = count([case((*box, True), steps={"lens-box": 0}), case((*box, False), steps={"lens-box": 0})], PROTOCOL)
    assert (cell(rows, *box).events, cell(rows, *box).caught) == (2, 1)


def test_chances_of_the_hub_are_injections_and_its_events_are_not_its_deviations():
    hub = ("wound-hydration", "hub_not_held")
    rows = count(
        [
            case((*hub, "G4", False), steps={"wound-hydration": 4}, hub={(hub[0], "G2"): 2, (hub[0], "G4"): 1}),
            case(steps={"wound-hydration": 1}),
            case(steps={"wound-hydration": 0}),
        ],
        PROTOCOL,
    )
    weak, worst = cell(rows, *hub, "G2"), cell(rows, *hub, "G4")
    assert (weak.events, weak.cases_with, weak.chances, weak.rate_per_100) == (2, 1, 5, 40)
    assert (worst.events, worst.cases_with, worst.chances, worst.rate_per_100) == (1, 1, 5, 20)
    assert cell(rows, hub[0], "omitted", "G2").chances == 3
    # Newcombe's score method: 2 of 5 is 0.1176 to 0.7693, 1 of 3 is 0.0615 to 0.7923 (recomputed with scipy).
    assert [round(limit / 100, 4) for limit in weak.interval] == [Decimal("0.1176"), Decimal("0.7693")]


def test_the_interval_of_other_kinds_is_on_cases_with():
    faults = [("case", "equipment", "G1", False)] * 5
    row = cell(count([case(*faults), case(), case()], PROTOCOL), "case", "equipment", "G1")
    assert [round(limit / 100, 4) for limit in row.interval] == [Decimal("0.0615"), Decimal("0.7923")]


def test_a_deviation_that_this_protocol_cannot_raise_is_counted_all_the_same():
    rows = count([case(("rhexis", "dose", "G4", False), steps={"rhexis": 0})], PROTOCOL)
    assert cell(rows, "rhexis", "dose", "G4").events == 1


STEPS = st.sampled_from(sorted(PROTOCOL.steps))
CASES = st.builds(
    lambda steps, faults: case(
        *[("case", "equipment", "G1", True)] * faults,
        *[(step, "late_entry", "G1", False) for step in steps if step not in ("team-brief", "list-debrief")],
        steps=dict.fromkeys(steps, 1),
    ),
    st.sets(STEPS),
    st.integers(0, 3),
)


@given(st.lists(CASES, max_size=8))
def test_every_rate_lies_in_its_interval_and_no_count_passes_its_chances(cases):
    for row in count(cases, PROTOCOL):
        assert 0 <= row.interval[0] <= row.rate_per_100 <= row.interval[1] <= 100
        assert 0 <= row.cases_with <= row.chances
        assert 0 <= row.caught <= row.events
        assert row.cases_with <= row.events


@given(st.lists(CASES, max_size=6), st.randoms())
def test_the_order_of_the_cases_changes_nothing(cases, chance):
    mixed = list(cases)
    chance.shuffle(mixed)
    assert count(mixed, PROTOCOL) == count(cases, PROTOCOL)
