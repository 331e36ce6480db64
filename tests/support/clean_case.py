"""An operation in which nothing deviates: its plan, and what is recorded at which step, in order."""

from __future__ import annotations

from typing import Any

Json = dict[str, Any]

PLAN: Json = {
    "eye": "right",
    "anaesthesia": "topical",
    "red_reflex": "good",
    "lens": {"model": "AURA-1", "power_cdpt": 2150, "optic_um": 6000, "dry_state_hydrophilic": False},
    "drug": "cefuroxime",
}
HELD: Json = {"lock_checked": True, "hub_held": True}
LENS: Json = {"model": "AURA-1", "power_cdpt": 2150}
DOSE: Json = {"drug": "cefuroxime", "strength_ug_ml": 10_000, "volume_ul": 100}
COUNT: Json = {"sharps": 4, "cannulas": 5}

STEPS: tuple[tuple[str, Json], ...] = (
    ("team-brief", {}),
    ("machine-ready", {}),
    ("patient-identity", {"match": True}),
    ("marked-eye", {"eye": "right"}),
    ("allergies", {"allergies": ["none"]}),
    ("antiseptic", {"contact_s": 180}),
    ("time-out", {"eye": "right"}),
    ("lens-plan", LENS),
    ("drug-check", DOSE),
    ("syringe-labels", {}),
    ("opening-count", {"items": COUNT}),
    ("main-wound", {"width_um": 2200}),
    ("viscoelastic-fill", HELD),
    ("rhexis", {"diameter_um": 5000, "continuous": True}),
    ("hydrodissection", HELD),
    ("ultrasound-mode", {"mode": "segment", "vacuum_mmhg": 350, "flow_ul_min": 35_000}),
    ("cortex-mode", {"mode": "cortex", "vacuum_mmhg": 450, "flow_ul_min": 35_000}),
    ("posterior-capsule", {"state": "intact"}),
    ("viscoelastic-bag", HELD),
    ("lens-box", LENS),
    ("lens-placed", {**LENS, "site": "bag"}),
    ("washout-mode", {"mode": "ovd_removal", "vacuum_mmhg": 450, "flow_ul_min": 45_000}),
    ("washout", {"front": True, "behind": True}),
    ("wound-hydration", {**HELD, "syringe_label": "balanced_salt"}),
    ("seal-check", {"state": "dry"}),
    ("intracameral-drug", {**DOSE, **HELD}),
    ("final-look", {"state": "dry", "tone": "normal"}),
    ("closing-count", {"added": {}, "out": COUNT}),
    ("sign-out", {"operation": True, "lens": True, "drug": True, "problems": True, "aftercare": True}),
)
"""Everything but the surgeon's signature."""
