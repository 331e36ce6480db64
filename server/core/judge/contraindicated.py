"""Kind `contraindicated`: a drug barred by an allergy, a dye barred by the planned lens, iodine with iodine allergy."""

from server.core.case_file import Record
from server.core.judge.deviation import Deviation, deviation
from server.core.judge.facts import Facts
from server.core.protocol_shape import Json

Earned = list[tuple[str, bool, str]]


def contraindicated(facts: Facts) -> list[Deviation]:
    found = []
    for code, records in facts.by_step.items():
        rule = records[0].step.rules.get("contraindicated")
        if rule is not None:
            earned = [part for record in records for part in _RULES[rule["rule"]](record, rule, facts)]
            found += deviation(code, "contraindicated", earned)
    return found


def _placed(record: Record, rule: Json, facts: Facts, detail: str) -> Earned:
    in_eye = rule["place"] == "in_eye" and record.in_eye
    grades = facts.protocol.grades["contraindicated"]
    return [(grades["in_eye"] if in_eye else grades["not_in_eye"], not in_eye, detail)]


def _drug(record: Record, rule: Json, facts: Facts) -> Earned:
    drug = record.get(rule["field"])
    if drug is None:
        return []
    earned = []
    if facts.is_drug_barred(drug):
        allergies = ", ".join(sorted(facts.unit.drugs[drug].barred_by & facts.allergies))
        earned += _placed(record, rule, facts, f"{drug} with {allergies}")
    spoken = facts.protocol.fixed["accept_aloud"]
    if (
        "accepted_at" in rule
        and record.in_eye
        and drug == spoken["drug"]
        and spoken["allergy"] in facts.allergies
        and not _was_accepted(drug, rule["accepted_at"], facts)
    ):
        grade = facts.protocol.grades["contraindicated"]["not_accepted"]
        earned.append((grade, False, f"{drug} with {spoken['allergy']}, not accepted aloud"))
    return earned


def _was_accepted(drug: str, step: str, facts: Facts) -> bool:
    return any(r.get("drug") == drug and r.get("allergy_accepted") is True for r in facts.records(step))


def _dye(record: Record, rule: Json, facts: Facts) -> Earned:
    dye = record.get(rule["field"])
    if dye is None or not facts.is_dye_barred(dye):
        return []
    return _placed(record, rule, facts, f"{dye} with a dry-state hydrophilic lens")


def _antiseptic(record: Record, rule: Json, facts: Facts) -> Earned:
    fixed = facts.protocol.fixed
    agent, allergy = record.get(rule["field"]), fixed["antiseptic_barred_by"]
    if agent != fixed["usual_antiseptic"] or allergy not in facts.allergies:
        return []
    return [(facts.protocol.grades["contraindicated"]["in_eye"], False, f"{agent} with {allergy}")]


_RULES = {"drug": _drug, "dye": _dye, "antiseptic": _antiseptic}
