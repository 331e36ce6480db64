"""Kind `omitted`: a due step without a record, or one whose last record leaves a required answer false."""

from server.core.judge.deviation import Deviation, deviation
from server.core.judge.facts import Facts
from server.core.protocol import Step


def omitted(facts: Facts) -> list[Deviation]:
    found = []
    for code in facts.due:
        found += deviation(code, "omitted", _earned(facts, facts.protocol.steps[code]))
    return found


def _earned(facts: Facts, step: Step) -> list[tuple[str, bool, str]]:
    rule = step.rules.get("omitted")
    if rule is None:
        return []
    records = facts.counting(step.step)
    if not records:
        if _is_met_elsewhere(facts, step):
            return []
        return [(rule["no_record"], False, "no record in the eye" if step.in_eye_only else "no record")]
    false = [name for name in rule.get("must_be_true", ()) if records[-1].get(name) is not True]
    return [(rule["false"], False, "not confirmed: " + ", ".join(false))] if false else []


def _is_met_elsewhere(facts: Facts, step: Step) -> bool:
    other = step.rules["omitted"].get("met_also_by")
    return other is not None and any(other["field"] in record.value for record in facts.records(other["step"]))
