"""Which steps, kinds and grades a judge can ever say together, and how often they were met."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from tests.fuzz.case_values import PROTOCOL, STEPS

Triple = tuple[str, str, str]
UNTIMED = ("team-brief", "list-debrief")
HUB_GRADES = "G2 G3 G4"
BY_RULES = {
    "out_of_tolerance": {
        "antiseptic": "G2",
        "main-wound": "G1",
        "rhexis": "G1 G2",
        "ultrasound-mode": "G1",
        "cortex-mode": "G1",
        "washout-mode": "G1",
        "vitrectomy-mode": "G1",
        "seal-check": "G3",
        "final-look": "G2 G3",
    },
    "dose": {"drug-check": "G2", "dye": "G2 G3 G4", "intracameral-drug": "G2 G3 G4"},
    "contraindicated": {
        "drug-check": "G2",
        "dye": "G2 G3",
        "intracameral-drug": "G2 G3",
        "other-medicine": "G2 G3",
        "antiseptic": "G3",
    },
    "readback_mismatch": dict.fromkeys(
        (
            "patient-identity",
            "marked-eye",
            "block-eye",
            "time-out",
            "lens-plan",
            "lens-box",
            "dye",
            "wound-hydration",
        ),
        "G2 G3",
    ),
    "wrong_setting": dict.fromkeys(("ultrasound-mode", "cortex-mode", "washout-mode", "vitrectomy-mode"), "G1 G2"),
    "substitution": {
        "intracameral-drug": "G1 G2 G4",
        "dye": "G2 G4",
        "antiseptic": "G1 G2",
        "lens-placed": "G1 G3 G4",
    },
    "count": {"closing-count": "G2 G3 G4"},
    "time_overrun": {"case": "G1"},
    "equipment": {"case": "G1 G2"},
    "contamination": {"case": "G2 G3"},
    "complication": {"case": "G3 G4", "posterior-capsule": "G4", "rhexis": "G3"},
}
MORE_ORDER = (("final-look", "G2"), ("closing-count", "G2"), ("sign-out", "G2"))


def possible() -> set[Triple]:
    """Every (step, kind, grade) that the rules allow."""
    found = {
        (step, kind, grade)
        for kind, steps in BY_RULES.items()
        for step, grades in steps.items()
        for grade in grades.split()
    }
    for name, step in STEPS.items():
        if "omitted" in step:
            found.add((name, "omitted", step["omitted"]["no_record"]))
        if name not in UNTIMED:
            found.add((name, "late_entry", "G1"))
        if step.get("asks_hub"):
            found |= {(name, "hub_not_held", grade) for grade in HUB_GRADES.split()}
    found |= {(pair["after"], "out_of_order", pair["grade"]) for pair in PROTOCOL["order"]}
    return found | {(step, "out_of_order", grade) for step, grade in MORE_ORDER}


def met(judgements: Iterable[dict[str, object]]) -> Counter[Triple]:
    """How often each (step, kind, grade) stands in these output lines; lines of refused files hold none."""
    counted: Counter[Triple] = Counter()
    for line in judgements:
        rows = line.get("deviations", [])
        assert isinstance(rows, list)
        counted.update((row["step"], row["kind"], row["grade"]) for row in rows)
    return counted


def table(counted: Counter[Triple]) -> str:
    """Coverage as lines, rarest first within each kind."""
    lines = []
    for kind in sorted({triple[1] for triple in possible()}):
        mine = sorted((counted[triple], triple) for triple in possible() if triple[1] == kind)
        cells = [f"{step} {grade} {times}" for times, (step, _kind, grade) in mine]
        lines.append(f"  {kind}: " + ", ".join(cells))
    return "\n".join(lines)
