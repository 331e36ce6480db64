"""Kind `out_of_order`: a step that came too soon, was given after the last look, or came after the patient left.

Times are compared by at_ms alone: equal times are in order.
"""

from server.core.case_file import Record
from server.core.judge.deviation import Deviation, deviation
from server.core.judge.facts import Facts
from server.core.protocol import Pair

_SUTURE_COMPANIONS = ("lock_checked", "hub_held", "detached", "injury", "syringe_label")


def out_of_order(facts: Facts) -> list[Deviation]:
    earned: dict[str, list[tuple[str, bool, str]]] = {}
    too_soon: dict[str, list[Pair]] = {}
    firsts = {step: first.at_ms for step in facts.by_step if (first := facts.first(step)) is not None}
    for pair in facts.protocol.order:
        if _is_broken(pair, firsts, facts):
            too_soon.setdefault(pair.after, []).append(pair)
    for step, pairs in too_soon.items():
        detail = "came before " + ", ".join(pair.before for pair in pairs)
        earned.setdefault(step, []).append((max(pair.grade for pair in pairs), False, detail))
    _after_last(facts, earned)
    _after_patient_out(facts, earned)
    return [found for step, parts in earned.items() for found in deviation(step, "out_of_order", parts)]


def is_sutures_alone(record: Record, field: str) -> bool:
    """A record that says only how many sutures were placed: nothing was injected."""
    return field in record.value and not any(name in record.value for name in _SUTURE_COMPANIONS)


def _is_broken(pair: Pair, firsts: dict[str, int], facts: Facts) -> bool:
    before, after = firsts.get(pair.before), firsts.get(pair.after)
    if before is None or after is None or not after < before:
        return False
    return not pair.only_after_tear or (facts.torn_at_ms is not None and facts.torn_at_ms < after)


def _after_last(facts: Facts, earned: dict[str, list[tuple[str, bool, str]]]) -> None:
    """Nothing goes into the eye or the wound after the last look."""
    rule = facts.protocol.document["after_last"]
    last = facts.last(rule["step"])
    if last is None:
        return
    late = [
        step
        for step in rule["records"]
        if any(record.at_ms > last.at_ms and _touches_eye(record) for record in facts.records(step))
    ]
    if late:
        earned.setdefault(rule["step"], []).append((rule["grade"], False, "came before the last " + ", ".join(late)))


def _touches_eye(record: Record) -> bool:
    field = record.step.rules.get("sutures_field")
    if field is not None:
        return not (is_sutures_alone(record, field) and record.value[field] == 0)
    if "sutures" in {known.name for known in record.step.fields}:
        sutures = record.get("sutures")
        return sutures is not None and sutures > 0
    return record.in_eye


def _after_patient_out(facts: Facts, earned: dict[str, list[tuple[str, bool, str]]]) -> None:
    rule = facts.protocol.document["before_patient_out"]
    rooms = [event for event in facts.case_file.others if event["type"] == "room"]
    left = [event["at_ms"] for event in rooms if event.get("moment") == "patient_out"]
    if not left:
        return
    for step in rule["steps"]:
        first = facts.first(step)
        if first is not None and first.at_ms > min(left):
            earned.setdefault(step, []).append((rule["grade"], False, "came after the patient left"))
