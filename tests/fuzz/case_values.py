"""Random values of steps: mostly as they are in a good case, else at and around every limit, else wild."""

from __future__ import annotations

from dataclasses import dataclass
from random import Random
from typing import Any

from tests.vectors.shared_files import PROTOCOL_FILE, read

Json = dict[str, Any]
PROTOCOL: Json = read(PROTOCOL_FILE)
STEPS: dict[str, Json] = {step["step"]: step for step in PROTOCOL["steps"]}
WHOLE_MAX = 2**53 - 1
WILD = (0, -1, 1, 250, 10**6, -(10**6), WHOLE_MAX, -WHOLE_MAX, WHOLE_MAX - 1, 2**52 + 1)
EDGES = {
    "contact_s": (0, 30, 119, 120, 121, 179, 180),
    "width_um": (1799, 1800, 3000, 3001, 3500, 2500),
    "diameter_um": (4499, 4500, 5500, 5501, 5502, 5600, 5200, 7000),
    "decentration_um": (0, 1, 249, 250, 251, 400),
    "pressure_mmhg": (9, 10, 25, 26, 40, 0),
    "sutures": (0, 0, 1, 2),
}
COMMON = {
    "contact_s": 180,
    "width_um": 2200,
    "diameter_um": 5000,
    "decentration_um": 0,
    "pressure_mmhg": 18,
    "sutures": 0,
}
RATIOS_PERCENT = (0, 20, 79, 80, 81, 100, 119, 120, 121, 200, 300, 301, 500, 899, 900, 1000)
COUNT = {"sharps": 4, "cannulas": 5, "swabs": 2}
CATEGORIES = ("sharps", "cannulas", "swabs", "needles", "__proto__", "constructor", "", "é")
TEXTS = ("", "surgeon is sure", "é", "😀", "__proto__", 'a "quoted" word', "line\nend", "\u2028", "a/b; c")
DRUGS = ("cefuroxime", "moxifloxacin", "vancomycin", "Cefuroxime", "__proto__", "toString", "")
DYES = ("trypan_blue", "brilliant_blue", "methylene_blue", "constructor")
ODD_DILUTIONS = ({"take_ul": 0, "add_ul": 0}, {"take_ul": 1}, {"take_ul": WHOLE_MAX, "add_ul": WHOLE_MAX})
NOTICED: tuple[Json, ...] = ({}, {"noticed": "before_entry"}, {"noticed": "before_entry"}, {"noticed": "after_entry"})
LABELS = ("balanced_salt", "balanced_salt", "cefuroxime", "", "Balanced_salt")


@dataclass
class Surroundings:
    """What the values of a case refer to: its plan, its unit's values, and how careless its team is (0 to 1)."""

    plan: Json
    unit: Json
    careless: float


def value_of(step: str, around: Surroundings, chance: Random) -> Json:
    """A value for one record of `step`; now and then a field is missing or unknown."""
    make = _SPECIAL.get(step)
    value = make(around, chance) if make else _plain(STEPS[step], around, chance)
    if STEPS[step].get("asks_hub"):
        value.update(_hub(around, chance))
    if "kept_because" in {field["name"] for field in STEPS[step]["fields"]} and chance.random() < 0.03:
        value.update({"kept_because": chance.choice(TEXTS), "kept_by": chance.choice(PROTOCOL["roles"])})
    if value and chance.random() < 0.12 * around.careless:
        del value[chance.choice(list(value))]
    if chance.random() < 0.03:
        value[chance.choice(["__proto__", "colour", "in_eye", "hub_held", "constructor"])] = chance.random() < 0.5
    return value


def number(name: str, around: Surroundings, chance: Random) -> int:
    """A whole number for the field `name`."""
    if chance.random() >= around.careless:
        return COMMON[name]
    return chance.choice(WILD) if chance.random() < 0.1 else chance.choice(EDGES[name])


def one_of(good: Any, others: Any, around: Surroundings, chance: Random) -> Any:
    return good if chance.random() >= around.careless else chance.choice(list(others))


def _plain(step: Json, around: Surroundings, chance: Random) -> Json:
    """Values from the kinds of the fields alone; the first button of the screen is the good value."""
    answers = step.get("answers")
    if answers and chance.random() >= around.careless:
        return dict(answers[0]["value"])
    value: Json = {}
    for field in step["fields"]:
        name, kind = field["name"], field["type"]
        if name.startswith("kept_") or (not field["required"] and chance.random() < 0.4):
            continue
        if kind == "boolean":
            value[name] = chance.random() >= around.careless * 0.5
        elif kind == "whole":
            value[name] = number(name, around, chance)
        elif kind == "one_of":
            value[name] = one_of(field["choices"][0], field["choices"], around, chance)
        elif kind == "text":
            value[name] = chance.choice(TEXTS)
    return value


def _hub(around: Surroundings, chance: Random) -> Json:
    if chance.random() >= around.careless:
        return {"lock_checked": True, "hub_held": True}
    value = {
        "lock_checked": chance.random() < 0.8,
        "hub_held": chance.random() < 0.8,
        "detached": chance.random() < 0.25,
        "injury": chance.random() < 0.15,
    }
    for name in list(value):
        if chance.random() < 0.15:
            del value[name]
    return value


def _eye(around: Surroundings, chance: Random) -> Json:
    return {"eye": one_of(around.plan["eye"], ["right", "left"], around, chance)}


def _allergies(around: Surroundings, chance: Random) -> Json:
    if chance.random() < 0.55:
        return {"allergies": ["none"]}
    return {"allergies": chance.sample(PROTOCOL["allergies"], chance.randint(0, 3))}


def _lens(around: Surroundings, chance: Random) -> Json:
    planned = {name: around.plan["lens"][name] for name in ("model", "power_cdpt")}
    if chance.random() >= around.careless * 0.7:
        return planned
    other = chance.choice(
        [{"power_cdpt": -planned["power_cdpt"]}, {"power_cdpt": planned["power_cdpt"] + 25}, {"model": "AURA-3P"}]
    )
    return planned | other


def _lens_box(around: Surroundings, chance: Random) -> Json:
    days = ("2030-01-31", "1970-01-01", "1969-12-31", "2026-11-25", "2000-02-29", "9999-12-31", "0001-01-01")
    value = _lens(around, chance)
    if chance.random() < 0.7:
        value["expiry"] = one_of("2030-01-31", days, around, chance)
    return value


def _lens_with_site(around: Surroundings, chance: Random) -> Json:
    site = one_of("bag", ["bag", "sulcus", "anterior_chamber", "none"], around, chance)
    return {"site": site} | _lens(around, chance)


def _drug(around: Surroundings, chance: Random) -> Json:
    drug = one_of(around.plan["drug"], DRUGS, around, chance)
    listed = around.unit.get("drugs", PROTOCOL["unit_values"]["drugs"])
    planned_ug = listed.get(drug, {}).get("dose_ug", 1000)
    percent = one_of(100, RATIOS_PERCENT, around, chance)
    if chance.random() < 0.05:
        return {"drug": drug, "strength_ug_ml": chance.choice(WILD), "volume_ul": chance.choice(WILD)}
    slip = chance.choice([0, 0, 0, 1, -1]) if chance.random() < around.careless else 0
    return {"drug": drug, "strength_ug_ml": min(planned_ug * 10 + slip, WHOLE_MAX), "volume_ul": percent}


def _drug_check(around: Surroundings, chance: Random) -> Json:
    value = _drug(around, chance)
    if chance.random() < 0.25:
        value["allergy_accepted"] = chance.random() < 0.7
    return _as_chain(value, chance) if chance.random() < 0.3 else value


def _as_chain(value: Json, chance: Random) -> Json:
    """The same strength as a vial, a diluent and a further dilution; now and then a chain without strength."""
    shrink = chance.choice([1, 3, 10])
    vial_ug = value.pop("strength_ug_ml") * shrink
    value["vial_ug"] = max(-WHOLE_MAX, min(WHOLE_MAX, vial_ug))
    value["diluent_ul"] = chance.choice([1000] * 9 + [0, 3])
    if shrink > 1 or chance.random() < 0.2:
        value["then"] = [{"take_ul": 1, "add_ul": shrink - 1}]
    if chance.random() < 0.1:
        value["then"] = [chance.choice(ODD_DILUTIONS)]
    return value


def _drug_given(around: Surroundings, chance: Random) -> Json:
    value = _drug(around, chance)
    if chance.random() < 0.4:
        value["in_eye"] = chance.random() >= around.careless * 0.6
    return value


def _dye(around: Surroundings, chance: Random) -> Json:
    value = {
        "dye": one_of(around.unit.get("dye", "trypan_blue"), DYES, around, chance),
        "strength_ug_ml": 600,
        "volume_ul": 5 * one_of(100, RATIOS_PERCENT, around, chance) + chance.choice([0, 0, 1]),
        "in_eye": chance.random() >= around.careless * 0.6,
    }
    if chance.random() < 0.1:
        del value["volume_ul"]
    return value


def _antiseptic(around: Surroundings, chance: Random) -> Json:
    value: Json = {"contact_s": number("contact_s", around, chance)}
    if chance.random() < 0.4:
        value["agent"] = one_of("povidone_iodine", ["povidone_iodine", "chlorhexidine", "other"], around, chance)
    return value


def _settings(step: str, around: Surroundings, chance: Random) -> Json:
    mode = one_of(chance.choice(STEPS[step]["settings"]["allowed"]), PROTOCOL["modes"], around, chance)
    limits = PROTOCOL["unit_values"]["modes"][mode] | around.unit.get("modes", {}).get(mode, {})
    value: Json = {"mode": mode}
    for name, found in limits.items():
        if name not in ("vacuum_mmhg", "flow_ul_min") or chance.random() < 0.1:
            continue
        low, high = found if isinstance(found, list) else (found * 4 // 5, found * 6 // 5)
        edges = (low - 1, low, low + 1, high - 1, high, high + 1)
        value[name] = max(-WHOLE_MAX, min(WHOLE_MAX, one_of((low + high) // 2, edges, around, chance)))
    if mode not in STEPS[step]["settings"]["allowed"] or chance.random() < 0.05:
        value |= chance.choice(NOTICED)
    return value


def _vitrectomy(around: Surroundings, chance: Random) -> Json:
    vitreous = chance.random() < 0.5
    settings = _settings("vitrectomy-mode", around, chance) if vitreous or chance.random() < 0.3 else {}
    return {"vitreous": vitreous} | settings


def _hydration(around: Surroundings, chance: Random) -> Json:
    value: Json = {}
    if chance.random() < 0.6:
        value["syringe_label"] = one_of("balanced_salt", LABELS, around, chance)
    if chance.random() < 0.25:
        value["sutures"] = number("sutures", around, chance)
    return value


def _opening(around: Surroundings, chance: Random) -> Json:
    return {"items": COUNT | _slip(around, chance)}


def _closing(around: Surroundings, chance: Random) -> Json:
    value: Json = {"added": {}, "out": COUNT | _slip(around, chance)}
    if chance.random() < 0.3:
        value["added"] = {"needles": 2}
        value["out"] = value["out"] | {"needles": 2}
    if chance.random() < 0.15 * around.careless:
        value["found_retained"] = chance.random() < 0.8
    return value


def _slip(around: Surroundings, chance: Random) -> Json:
    if chance.random() >= around.careless * 0.7:
        return {}
    return {chance.choice(CATEGORIES): chance.choice([0, 1, 3, 4, -1, WHOLE_MAX])}


_SPECIAL = {
    **dict.fromkeys(("marked-eye", "block-eye", "time-out"), _eye),
    "allergies": _allergies,
    "lens-plan": _lens,
    "lens-box": _lens_box,
    "lens-placed": _lens_with_site,
    "new-lens-plan": _lens_with_site,
    "drug-check": _drug_check,
    "intracameral-drug": _drug_given,
    "other-medicine": _drug_given,
    "dye": _dye,
    "antiseptic": _antiseptic,
    "wound-hydration": _hydration,
    "opening-count": _opening,
    "closing-count": _closing,
    "vitrectomy-mode": _vitrectomy,
    **{
        step: lambda around, chance, step=step: _settings(step, around, chance)
        for step in ("ultrasound-mode", "cortex-mode", "washout-mode")
    },
}
