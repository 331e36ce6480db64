"""Kind `dose`: what was drawn up or given against the planned dose of that drug, in exact fractions."""

from fractions import Fraction
from typing import Any

from server.core.case_file import Record
from server.core.judge.deviation import Deviation, deviation
from server.core.judge.facts import Facts
from server.core.quantity import mass, rounded

Earned = list[tuple[str, bool, str]]


def dose_ug(record: Record) -> Fraction | None:
    """Strength times volume in micrograms, exact; through the dilution chain where there is one. None if not known."""
    strength, volume_ul = _strength_ug_ul(record), record.get("volume_ul")
    return None if strength is None or volume_ul is None else strength * volume_ul


def dose(facts: Facts) -> list[Deviation]:
    found = []
    for code, records in facts.by_step.items():
        rule = records[0].step.rules.get("dose")
        if rule is not None:
            may_be_in_eye = rule["place"] == "in_eye"
            outside = [record for record in records if not (may_be_in_eye and record.in_eye)]
            inside = [record for record in records if may_be_in_eye and record.in_eye]
            earned = _each(outside, rule["of"], facts) + _summed(inside, rule["of"], facts)
            found += deviation(code, "dose", earned)
    return found


def _strength_ug_ul(record: Record) -> Fraction | None:
    value = record.value
    if "strength_ug_ml" in value:
        return Fraction(value["strength_ug_ml"], 1000)
    vial_ug, diluent_ul = value.get("vial_ug"), value.get("diluent_ul")
    if vial_ug is None or not diluent_ul:
        return None
    strength = Fraction(vial_ug, diluent_ul)
    for part in value.get("then", ()):
        take_ul, add_ul = part.get("take_ul"), part.get("add_ul")
        if take_ul is None or add_ul is None or take_ul + add_ul == 0:
            return None
        strength *= Fraction(take_ul, take_ul + add_ul)
    return strength


def _planned_ug(name: Any, of: str, facts: Facts) -> int | None:
    """The planned dose of a drug on the unit's list, or the most of a dye; None for all others."""
    if of == "dye":
        return facts.unit.dyes.get(name)
    drug = facts.unit.drugs.get(name)
    return None if drug is None else drug.dose_ug


def _is_outside(given: Fraction, planned: int, of: str, facts: Facts) -> bool:
    fixed = facts.protocol.fixed
    too_much = _exceeds(given, planned, fixed["dose_ratio_high"])
    return too_much or (of == "drug" and given * fixed["dose_ratio_low"][1] < planned * fixed["dose_ratio_low"][0])


def _exceeds(given: Fraction, planned: int, ratio: list[int]) -> bool:
    return given * ratio[1] > planned * ratio[0]


def _grade(given: Fraction, planned: int, facts: Facts) -> str:
    fixed = facts.protocol.fixed
    grades: dict[str, str] = facts.protocol.grades["dose"]
    if given * fixed["dose_ratio_g4_from"][1] >= planned * fixed["dose_ratio_g4_from"][0]:
        return grades["g4"]
    return grades["g3"] if _exceeds(given, planned, fixed["dose_ratio_g3_over"]) else grades["outside"]


def _each(records: list[Record], of: str, facts: Facts) -> Earned:
    """Not in the eye: any record outside is G2 and was caught before the eye."""
    earned = []
    for record in records:
        name, given = record.get(of), dose_ug(record)
        planned = _planned_ug(name, of, facts)
        if planned is not None and given is not None and _is_outside(given, planned, of, facts):
            earned.append((facts.protocol.grades["dose"]["outside"], True, _detail(name, given, planned, of)))
    return earned


def _summed(records: list[Record], of: str, facts: Facts) -> Earned:
    """In the eye: doses of the same drug are added up."""
    sums: dict[object, Fraction] = {}
    for record in records:
        given = dose_ug(record)
        if given is not None:
            sums[record.get(of)] = sums.get(record.get(of), Fraction(0)) + given
    earned = []
    for name, given in sums.items():
        planned = _planned_ug(name, of, facts)
        if planned is not None and _is_outside(given, planned, of, facts):
            grade = (
                _grade(given, planned, facts)
                if _exceeds(given, planned, [1, 1])
                else facts.protocol.grades["dose"]["outside"]
            )
            earned.append((grade, False, _detail(name, given, planned, of)))
    return earned


def _detail(name: object, given: Fraction, planned: int, of: str) -> str:
    wanted = "planned" if of == "drug" else "most allowed"
    times = f", {rounded(given / planned, 2)} times it" if planned > 0 else ""
    return f"{name} {mass(given)}, {wanted} {mass(Fraction(planned))}{times}"
