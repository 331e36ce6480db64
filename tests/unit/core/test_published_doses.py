"""Doses agree with the published ones, to the microgram; the source stands beside each."""

from __future__ import annotations

from fractions import Fraction

import pytest

from server.core import protocol as protocol_file
from server.core.case_file import Record, read
from server.core.judge.dose import dose_ug
from server.core.judge.judge import judge
from server.core.quantity import mass
from tests.vectors.shared_files import PROTOCOL_FILE
from tests.vectors.shared_files import read as read_json

PROTOCOL = protocol_file.load(read_json(PROTOCOL_FILE))
HUB = {"lock_checked": True, "hub_held": True}
SHOWN_MG_OF_PERCENT = 10
"""x % weight in volume is 10 x mg/mL."""


def ug_ml(percent: str) -> int:
    strength = Fraction(percent) * SHOWN_MG_OF_PERCENT * 1000
    assert strength.denominator == 1
    return int(strength)


def vial(vial_mg: int, diluent_ml: str, volume_ul: int, *then_ml: tuple[int, int]) -> dict[str, object]:
    chain = [{"take_ul": take * 1000, "add_ul": add * 1000} for take, add in then_ml]
    diluent_ul = int(Fraction(diluent_ml) * 1000)
    return {"vial_ug": vial_mg * 1000, "diluent_ul": diluent_ul, "then": chain, "volume_ul": volume_ul}


def strength(strength_ug_ml: int, volume_ul: int) -> dict[str, object]:
    return {"strength_ug_ml": strength_ug_ml, "volume_ul": volume_ul}


# what was mixed and given, the published dose in mg, and where it is published
PUBLISHED = [
    ("cefuroxime", vial(50, "5", 100), "1", "SPC-CEF: 50 mg in 5 mL, 0.1 mL is 1 mg"),
    ("cefuroxime", vial(750, "7.5", 100, (1, 9)), "1", "NGUY13: 750 mg in 7.5 mL, then tenfold"),
    ("cefuroxime", strength(10_000, 120), "1.2", "VOL19: average volume really given 0.12 mL"),
    ("trypan_blue", strength(ug_ml("0.06"), 500), "0.3", "TRY: at most 0.3 mg of 0.06 %"),
    ("moxifloxacin", strength(ug_ml("0.5"), 100), "0.5", "MOX17, MOX-A: 500 ug in 0.1 mL of 0.5 %"),
    ("moxifloxacin", strength(ug_ml("0.1"), 500), "0.5", "SHOR: 0.5 mL of 0.1 %"),
    ("moxifloxacin", vial(15, "3", 400, (3, 7)), "0.6", "common practice: 3 mL of 5 mg/mL with 7 mL, 0.4 mL"),
    ("tropicamide", strength(200, 200), "0.04", "MYD: 0.2 mL of 0.2 mg/mL"),
    ("phenylephrine", strength(3_100, 200), "0.62", "MYD: 0.2 mL of 3.1 mg/mL"),
    ("lidocaine", strength(10_000, 200), "2", "MYD: 0.2 mL of 10 mg/mL"),
    ("moxifloxacin", strength(5_450, 50), "0.2725", "MOX-B: 0.05 mL of 5.45 mg/mL"),
    ("cefuroxime", vial(750, "7.5", 100), "10", "WONG15: second dilution forgotten"),
    ("moxifloxacin", strength(ug_ml("0.5"), 500), "2.5", "FDA20, ADV22: 0.5 mL of the 0.5 % bottle"),
    ("moxifloxacin", strength(ug_ml("0.1"), 100), "0.1", "FDA20: 0.1 mL of the 0.1 % bottle"),
    ("moxifloxacin", strength(ug_ml("0.5"), 300), "1.5", "FDA20: warns above 0.3 mL of 0.5 %"),
    ("gentamicin", strength(40_000, 500), "20", "KJO06: 20 mg in 0.5 mL"),
]

# mg of cefuroxime in the eye, grade or none, and what was seen in patients
CEFUROXIME_IN_EYE = [
    ("1", None, "SPC-CEF: the labelled dose"),
    ("1.17", None, "LOCK10: median of the first protocol, intended 1 mg"),
    ("2.05", "G2", "LOCK10: median of the second protocol"),
    ("0.52", "G2", "LOCK10: lowest of the second protocol"),
    ("7.25", "G3", "LOCK10: highest of the second protocol"),
    ("3", "G2", "SPC-CEF: three times the dose, six patients, no detectable effect"),
    ("9", "G4", "WONG15: 9 mg in 13 eyes, macular oedema in 6"),
    ("10", "G4", "SPC-CEF: 10 to 100 mg, some with permanent loss"),
    ("40", "G4", "SPC-CEF: 40 to 50 times the dose in six patients"),
    ("100", "G4", "SPC-CEF: 10 to 100 mg, some with permanent loss"),
]


@pytest.mark.parametrize(("drug", "given", "published_mg", "source"), PUBLISHED, ids=lambda value: str(value)[:40])
def test_a_dose_is_the_published_one(drug, given, published_mg, source):
    record = Record("e1", PROTOCOL.steps["drug-check"], 0, 0, {"drug": drug, **given})
    assert dose_ug(record) == Fraction(published_mg) * 1000, source
    assert mass(dose_ug(record)) == f"{published_mg} mg"


@pytest.mark.parametrize(("mg", "grade", "source"), CEFUROXIME_IN_EYE)
def test_cefuroxime_in_the_eye_has_the_grade_of_what_was_seen_in_patients(mg, grade, source):
    value = {"drug": "cefuroxime", **strength(int(Fraction(mg) * 10_000), 100), **HUB}
    assert grades("intracameral-drug", value, "dose") == ([grade] if grade else []), source


def test_the_forgotten_dilution_is_found_at_the_check_before_it_reaches_the_eye():
    value = {"drug": "cefuroxime", **vial(750, "7.5", 100)}
    assert grades("drug-check", value, "dose") == ["G2"]


def grades(step: str, value: dict[str, object], kind: str) -> list[str]:
    lens = {"model": "AURA-1", "power_cdpt": 2150, "optic_um": 6000, "dry_state_hydrophilic": False}
    plan = {"eye": "right", "anaesthesia": "topical", "red_reflex": "good", "lens": lens, "drug": "cefuroxime"}
    event = {"id": "e1", "type": "step", "step": step, "at_ms": 0, "entered_ms": 0, "value": value}
    judgement = judge(read({"plan": plan, "events": [event]}, PROTOCOL), PROTOCOL, is_open=True)
    return [row.grade for row in judgement.deviations if row.kind == kind]
