"""The protocol file holds the steps, order pairs, grades and unit values that were agreed for cataract operations.

The tables below were written from the agreed rules, not from the file, so that a slip in the file is seen here.
"""

from __future__ import annotations

import itertools

import pytest

from tests.vectors.shared_files import PROTOCOL_FILE, read

PROTOCOL = read(PROTOCOL_FILE)
STEPS = {step["step"]: step for step in PROTOCOL["steps"]}
PROMPT_WORDS_MAX = 9

KEPT = "kept_because:text? kept_by:one_of?"
INJECTION = "lock_checked:boolean hub_held:boolean detached:boolean? injury:boolean?"
DOSE = "drug:text strength_ug_ml:whole volume_ul:whole"
LENS = "model:text power_cdpt:whole"
SETTINGS = "vacuum_mmhg:whole? flow_ul_min:whole? noticed:one_of?"
# step: (code, fields with ? where they may be absent, due: always, never or when)
AGREED_STEPS = {
    "team-brief": ("L1", "", "always"),
    "machine-ready": ("L2", "", "always"),
    "patient-identity": ("S1", f"match:boolean {KEPT}", "always"),
    "marked-eye": ("S2", f"eye:one_of {KEPT}", "always"),
    "allergies": ("S3", "allergies:some_of", "always"),
    "block-eye": ("S4", f"eye:one_of {KEPT}", "when"),
    "antiseptic": ("S5", "contact_s:whole agent:one_of?", "always"),
    "time-out": ("T1", f"eye:one_of {KEPT}", "always"),
    "lens-plan": ("T2", f"{LENS} {KEPT}", "always"),
    "drug-check": (
        "T3",
        f"{DOSE} vial_ug:whole? diluent_ul:whole? then:dilutions? allergy_accepted:boolean? {KEPT}",
        "when",
    ),
    "syringe-labels": ("T4", "labelled:boolean?", "always"),
    "opening-count": ("T5", "items:counts", "always"),
    "main-wound": ("P1", "width_um:whole", "always"),
    "dye": ("P2", f"dye:text strength_ug_ml:whole volume_ul:whole? in_eye:boolean {INJECTION} {KEPT}", "when"),
    "viscoelastic-fill": ("P3", INJECTION, "always"),
    "rhexis": ("P4", "diameter_um:whole continuous:boolean decentration_um:whole?", "always"),
    "hydrodissection": ("P5", INJECTION, "when"),
    "ultrasound-mode": ("P6", f"mode:one_of {SETTINGS}", "always"),
    "cortex-mode": ("P7", f"mode:one_of {SETTINGS}", "always"),
    "posterior-capsule": ("P8", "state:one_of vitreous:boolean?", "always"),
    "viscoelastic-bag": ("P9", INJECTION, "always"),
    "lens-box": ("P10", f"{LENS} expiry:day? {KEPT}", "when"),
    "lens-placed": ("P11", f"site:one_of {LENS}", "always"),
    "washout-mode": ("P12", f"mode:one_of {SETTINGS}", "always"),
    "washout": ("P13", "front:boolean behind:boolean", "always"),
    "wound-hydration": ("C1", f"{INJECTION} syringe_label:text? sutures:whole? {KEPT}", "always"),
    "seal-check": ("C2", "state:one_of method:one_of?", "always"),
    "intracameral-drug": ("C3", f"{DOSE} in_eye:boolean? {INJECTION} {KEPT}", "when"),
    "other-medicine": ("C3b", f"{DOSE} in_eye:boolean? {INJECTION} {KEPT}", "never"),
    "final-look": ("C4", "state:one_of tone:one_of pressure_mmhg:whole? instrument:text?", "always"),
    "closing-count": ("O1", "added:counts out:counts found_retained:boolean?", "always"),
    "sign-out": ("O2", "operation:boolean lens:boolean drug:boolean problems:boolean aftercare:boolean", "always"),
    "surgeon-sign-off": ("O3", "", "always"),
    "tear-hold": ("X1", "", "when"),
    "vitrectomy-mode": ("X2", f"vitreous:boolean mode:one_of? {SETTINGS}", "when"),
    "new-lens-plan": ("X3", f"{LENS} site:one_of", "when"),
    "wounds-swept": ("X4", "", "when"),
    "wound-suture": ("X5", "sutures:whole", "when"),
    "tear-aftercare": ("X6", "review:boolean pressure_plan:boolean retina:boolean patient_told:boolean", "when"),
    "list-debrief": ("L3", "went_well:text? change:text? equipment:text?", "never"),
}

AGREED_ORDER = """
patient-identity marked-eye allergies < time-out
marked-eye allergies < block-eye
antiseptic time-out lens-plan syringe-labels opening-count < main-wound
allergies < drug-check < intracameral-drug
dye viscoelastic-fill < rhexis < ultrasound-mode < cortex-mode < posterior-capsule < lens-box
viscoelastic-bag lens-box < lens-placed < washout
washout-mode < washout < wound-hydration
wound-hydration < seal-check < intracameral-drug < final-look < closing-count < sign-out < surgeon-sign-off
tear-hold < vitrectomy-mode < new-lens-plan
new-lens-plan < viscoelastic-bag lens-box
"""
GRAVE_PAIRS = {
    ("antiseptic", "main-wound"),
    ("time-out", "main-wound"),
    ("lens-plan", "main-wound"),
    ("opening-count", "main-wound"),
    ("lens-box", "lens-placed"),
    ("marked-eye", "block-eye"),
    ("allergies", "block-eye"),
    ("drug-check", "intracameral-drug"),
}
G1_WHEN_OMITTED = {"team-brief", "washout-mode"}
G3_WHEN_OMITTED = {"marked-eye", "time-out", "lens-plan", "lens-box", "intracameral-drug", "closing-count"}
AGREED_ALLOWED_MODES = {
    "ultrasound-mode": {"sculpt", "segment", "epinucleus"},
    "cortex-mode": {"cortex", "polish"},
    "washout-mode": {"ovd_removal"},
    "vitrectomy-mode": {"vitrectomy"},
}
# Ranges of vacuum (mmHg) and flow (mL/min): common practice, see the protocol's sources.
AGREED_MODES = {
    "sculpt": ((30, 120), (15, 40)),
    "segment": ((200, 550), (20, 60)),
    "epinucleus": ((100, 350), (20, 45)),
    "cortex": ((300, 650), (20, 50)),
    "polish": ((5, 50), (4, 15)),
    "ovd_removal": ((300, 650), (25, 60)),
    "vitrectomy": ((100, 350), (8, 25)),
}


def agreed_fields(words: str) -> dict[str, tuple[str, bool]]:
    pairs = ([*word.rstrip("?").split(":"), not word.endswith("?")] for word in words.split())
    return {name: (kind, required) for name, kind, required in pairs}


def pairs_of(text: str) -> set[tuple[str, str]]:
    """Read chains: in `a b < c < d` both a and b stand before c, and c before d."""
    found = set()
    for line in text.strip().splitlines():
        groups = [group.split() for group in line.split("<")]
        found |= {(a, b) for left, right in itertools.pairwise(groups) for a in left for b in right}
    return found


def test_the_steps_are_the_agreed_ones_and_in_walking_order_within_a_phase():
    assert set(STEPS) == set(AGREED_STEPS)
    assert len(PROTOCOL["steps"]) == len(STEPS)
    phases = [phase["phase"] for phase in PROTOCOL["phases"]]
    places = [phases.index(step["phase"]) for step in PROTOCOL["steps"]]
    assert places == sorted(places)


@pytest.mark.parametrize("name", AGREED_STEPS)
def test_each_step_has_the_agreed_code_fields_and_condition(name):
    code, fields, due = AGREED_STEPS[name]
    step = STEPS[name]
    assert step["code"] == code
    assert {field["name"]: (field["type"], field["required"]) for field in step["fields"]} == agreed_fields(fields)
    assert due == {str(["lit", True]): "always", str(["lit", False]): "never"}.get(str(step["due"]), "when")


@pytest.mark.parametrize("name", STEPS)
def test_each_prompt_is_short_enough_to_be_read_at_a_glance(name):
    assert 0 < len(STEPS[name]["prompt"].split()) <= PROMPT_WORDS_MAX


@pytest.mark.parametrize("name", STEPS)
def test_each_step_says_why_it_matters_and_names_a_source_that_exists(name):
    assert STEPS[name]["why"].endswith(".")
    for part in STEPS[name]["source"].split(";"):
        key = part.split(":")[0].strip()
        known = key in PROTOCOL["sources"] or "common practice" in part or "own" in part
        assert known, part


def test_no_source_is_listed_that_nothing_names():
    named = " ".join(step["source"] for step in PROTOCOL["steps"])
    assert [key for key in PROTOCOL["sources"] if key not in named] == []


def test_the_order_pairs_are_complete():
    assert {(pair["before"], pair["after"]) for pair in PROTOCOL["order"]} == pairs_of(AGREED_ORDER)
    assert len(PROTOCOL["order"]) == len(pairs_of(AGREED_ORDER))


def test_the_order_pairs_have_the_agreed_grades():
    grave = {(pair["before"], pair["after"]) for pair in PROTOCOL["order"] if pair["grade"] == "G3"}
    assert grave == GRAVE_PAIRS
    assert {pair["grade"] for pair in PROTOCOL["order"]} == {"G1", "G3"}


def test_only_the_new_lens_plan_pairs_wait_for_a_tear():
    waiting = {(pair["before"], pair["after"]) for pair in PROTOCOL["order"] if pair.get("only_after_tear")}
    assert waiting == {("new-lens-plan", "viscoelastic-bag"), ("new-lens-plan", "lens-box")}


def test_omitted_steps_have_the_agreed_grades():
    grades = {name: step["omitted"]["no_record"] for name, step in STEPS.items() if "omitted" in step}
    agreed = {
        name: "G1" if name in G1_WHEN_OMITTED else "G3" if name in G3_WHEN_OMITTED else "G2"
        for name, (_code, _fields, due) in AGREED_STEPS.items()
        if due != "never"
    }
    assert grades == agreed


def test_the_booleans_that_have_to_be_true_are_the_agreed_ones():
    found = {
        name: set(step["omitted"]["must_be_true"])
        for name, step in STEPS.items()
        if "must_be_true" in step.get("omitted", {})
    }
    assert found == {
        "syringe-labels": {"labelled"},
        "washout": {"front", "behind"},
        "sign-out": {"operation", "lens", "drug", "problems", "aftercare"},
        "tear-aftercare": {"review", "pressure_plan", "retina", "patient_told"},
    }


def test_the_steps_asked_for_the_hub_are_the_seven_injections():
    assert {name for name, step in STEPS.items() if step.get("asks_hub")} == {
        "dye",
        "viscoelastic-fill",
        "hydrodissection",
        "viscoelastic-bag",
        "wound-hydration",
        "intracameral-drug",
        "other-medicine",
    }
    assert all(
        set(agreed_fields(INJECTION)) <= {f["name"] for f in step["fields"]}
        for step in STEPS.values()
        if step.get("asks_hub")
    )


def test_settings_steps_allow_the_agreed_modes_and_accept_all_seven():
    allowed = {name: set(step["settings"]["allowed"]) for name, step in STEPS.items() if "settings" in step}
    assert allowed == AGREED_ALLOWED_MODES
    for name in allowed:
        [mode] = [field for field in STEPS[name]["fields"] if field["name"] == "mode"]
        assert set(mode["choices"]) == set(AGREED_MODES) == set(PROTOCOL["modes"])


def test_the_unit_values_are_the_agreed_defaults():
    values = dict(PROTOCOL["unit_values"])
    modes = values.pop("modes")
    assert values == {
        "drugs": {
            "cefuroxime": {"dose_ug": 1000, "barred_by": ["cephalosporin", "penicillin_severe"]},
            "moxifloxacin": {"dose_ug": 500, "barred_by": ["fluoroquinolone"]},
        },
        "dyes": {"trypan_blue": {"max_ug": 300}},
        "dye": "trypan_blue",
        "main_wound_um": [1800, 3000],
        "rhexis_um": [4500, 5500],
        "overlap_um": 250,
        "pressure_mmhg": [10, 25],
        "time_limit_s": 1200,
        "late_s": 60,
        "antiseptic_s": 120,
    }
    millilitres = {
        mode: (tuple(limits["vacuum_mmhg"]), tuple(flow / 1000 for flow in limits["flow_ul_min"]))
        for mode, limits in modes.items()
    }
    assert millilitres == AGREED_MODES


def test_what_no_unit_can_change_is_as_agreed():
    fixed = PROTOCOL["fixed"]
    assert (fixed["suture_wound_um"], fixed["burst_records"], fixed["burst_span_ms"]) == (3000, 4, 10_000)
    assert fixed["card_tolerance_percent"] == 20
    ratios = [fixed[f"dose_ratio_{cut}"] for cut in ("low", "high", "g3_over", "g4_from")]
    assert [top / bottom for top, bottom in ratios] == [0.8, 1.2, 3, 9]


def test_the_words_of_plan_roles_and_allergies_are_the_agreed_ones():
    assert PROTOCOL["plan"] == {
        "eye": ["right", "left"],
        "anaesthesia": ["topical", "block", "general"],
        "red_reflex": ["good", "poor"],
    }
    assert PROTOCOL["roles"] == ["scrub", "circulating", "surgeon", "anaesthetist"]
    assert PROTOCOL["allergies"] == [
        "none",
        "penicillin_mild",
        "penicillin_severe",
        "cephalosporin",
        "fluoroquinolone",
        "iodine",
        "latex",
        "other",
    ]


def test_what_is_refused_at_entry_lies_outside_what_has_really_been_given():
    """Cefuroxime 10 to 100 mg has been injected (product information): it is recorded, never refused."""
    bounds = {field["name"]: field["refuse"] for field in STEPS["intracameral-drug"]["fields"] if "refuse" in field}
    assert bounds["strength_ug_ml"]["above"] * bounds["volume_ul"]["above"] >= 100_000 * 1000
    assert bounds["strength_ug_ml"]["above"] == 500_000
    assert bounds["volume_ul"]["above"] == 2000
