"""Kind `substitution`: a drug, dye, antiseptic or lens other than the planned one reached the eye."""

from server.core.case_file import Record
from server.core.judge.deviation import Deviation, deviation
from server.core.judge.facts import Facts
from server.core.judge.readback import Lens, lens_of, lens_text
from server.core.protocol_shape import Json

Earned = list[tuple[str, bool, str]]


def substitution(facts: Facts) -> list[Deviation]:
    found = []
    for code, records in facts.by_step.items():
        rule = records[0].step.rules.get("substitution")
        if rule is not None:
            earned = [part for record in records for part in _RULES[rule["rule"]](record, rule, facts)]
            found += deviation(code, "substitution", earned)
    return found


def _graded(facts: Facts, name: str, given: object, planned: object) -> Earned:
    return [(facts.protocol.grades["substitution"][name], False, f"{given} in place of {planned}")]


def _drug(record: Record, rule: Json, facts: Facts) -> Earned:
    given, planned = record.get(rule["field"]), facts.plan["drug"]
    if given is None or given == planned or not record.in_eye:
        return []
    if given not in facts.unit.drugs:
        return _graded(facts, "drug_not_listed", given, planned)
    return _graded(facts, "drug_by_allergy" if facts.is_drug_barred(planned) else "drug_listed", given, planned)


def _dye(record: Record, rule: Json, facts: Facts) -> Earned:
    given, planned = record.get(rule["field"]), facts.unit.dye
    if given is None or given == planned or not record.in_eye:
        return []
    return _graded(facts, "dye_listed" if given in facts.unit.dyes else "dye_not_listed", given, planned)


def _antiseptic(record: Record, rule: Json, facts: Facts) -> Earned:
    fixed = facts.protocol.fixed
    given, usual = record.get(rule["field"]), fixed["usual_antiseptic"]
    if given == usual:
        return []
    by_allergy = fixed["antiseptic_barred_by"] in facts.allergies
    return _graded(facts, "antiseptic_by_allergy" if by_allergy else "antiseptic_other", given, usual)


def _lens(record: Record, rule: Json, facts: Facts) -> Earned:
    """With a new plan in force that one counts; without, the plan and the plan last read aloud before."""
    placed, planned = lens_of(record.value), lens_of(facts.plan["lens"])
    if placed is None or record.get(rule["site"]) == "none":
        return []
    new_plan = facts.in_force("new-lens-plan", record.at_ms)
    if new_plan is not None:
        return _by_new_plan(placed, lens_of(new_plan.value), planned, facts)
    spoken = facts.in_force("lens-plan", record.at_ms)
    read = None if spoken is None else lens_of(spoken.value)
    others = [lens for lens in (planned, read) if lens is not None and lens != placed]
    if not others:
        return []
    from_one = read is not None and len(others) == 1
    words = " and ".join(dict.fromkeys(lens_text(lens) for lens in others))
    return _graded(facts, "lens_from_one_plan" if from_one else "lens_from_both_plans", lens_text(placed), words)


def _by_new_plan(placed: Lens, new: Lens | None, planned: Lens | None, facts: Facts) -> Earned:
    if new is None:
        return []
    if placed != new:
        return _graded(facts, "lens_from_new_plan", lens_text(placed), lens_text(new))
    if planned is not None and placed != planned:
        return _graded(facts, "lens_from_plan_by_new_plan", lens_text(placed), lens_text(planned))
    return []


_RULES = {"drug": _drug, "dye": _dye, "antiseptic": _antiseptic, "lens": _lens}
