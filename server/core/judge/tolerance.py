"""Kind `out_of_tolerance`: a value that is possible but outside what the unit expects."""

from collections.abc import Callable

from server.core.case_file import Record
from server.core.judge.deviation import Deviation, deviation
from server.core.judge.facts import Facts
from server.core.protocol_shape import Json
from server.core.quantity import decimal, shown
from server.core.unit_values import Range


def out_of_tolerance(facts: Facts) -> list[Deviation]:
    found = []
    for code, records in facts.by_step.items():
        earned = []
        for rule in records[0].step.rules.get("tolerance", ()):
            detail = _RULES[rule["rule"]](records, rule, facts)
            if detail:
                earned.append((rule["grade"], False, detail))
        found += deviation(code, "out_of_tolerance", earned)
    return found


def range_text(field: str, limits: Range) -> str:
    """A range in words: ends are shown with the unit once."""
    if limits.card is not None:
        return f"the card's {shown(field, limits.card)} plus or minus {limits.percent} %"
    return f"{shown(field, int(limits.low))} to {shown(field, int(limits.high))}"


def _longest_at_least(records: list[Record], rule: Json, facts: Facts) -> str:
    lengths = [record.value[rule["field"]] for record in records if rule["field"] in record.value]
    limit = facts.unit.limits[rule["limit"]]
    if not lengths or max(lengths) >= limit:
        return ""
    return f"longest {shown(rule['field'], max(lengths))}, expected at least {shown(rule['field'], limit)}"


def _any_outside(records: list[Record], rule: Json, facts: Facts) -> str:
    field, limits = rule["field"], facts.unit.ranges[rule["range"]]
    outside = [value for record in records if (value := record.get(field)) is not None and not limits.holds(value)]
    if not outside:
        return ""
    values = ", ".join(dict.fromkeys(shown(field, value) for value in outside))
    return f"{values}, expected {range_text(field, limits)}"


def _last_outside(records: list[Record], rule: Json, facts: Facts) -> str:
    return _any_outside(records[-1:], rule, facts)


def _last_overlap(records: list[Record], rule: Json, facts: Facts) -> str:
    """Margin = (optic - opening) / 2 - decentration, compared doubled so that no half is lost (clinical F1)."""
    diameter, decentration = records[-1].get(rule["diameter"]), records[-1].get(rule["decentration"])
    limit = facts.unit.limits[rule["limit"]]
    if diameter is None:
        return ""
    doubled = facts.plan["lens"]["optic_um"] - diameter - 2 * decentration
    if doubled >= 2 * limit:
        return ""
    return f"overlap {decimal(5 * doubled, 4, 1)} mm, expected at least {shown('overlap_um', limit)}"


def _last_is(records: list[Record], rule: Json, _facts: Facts) -> str:
    return rule["choice"] if records[-1].get(rule["field"]) == rule["choice"] else ""


def _last_measured_outside(records: list[Record], rule: Json, facts: Facts) -> str:
    """A number without the name of an instrument was felt, not measured, and is not judged."""
    return _any_outside(records[-1:], rule, facts) if records[-1].get(rule["instrument"]) else ""


def _settings(records: list[Record], _rule: Json, facts: Facts) -> str:
    parts: dict[str, None] = {}
    for record in records:
        mode = record.get("mode")
        if mode not in record.step.rules["settings"]["allowed"]:
            continue
        for field, limits in facts.unit.modes[mode].items():
            value = record.get(field)
            if value is not None and not limits.holds(value):
                parts[f"{mode} {shown(field, value)}, expected {range_text(field, limits)}"] = None
    return "; ".join(parts)


_RULES: dict[str, Callable[[list[Record], Json, Facts], str]] = {
    "longest_at_least": _longest_at_least,
    "any_outside": _any_outside,
    "last_outside": _last_outside,
    "last_overlap": _last_overlap,
    "last_is": _last_is,
    "last_measured_outside": _last_measured_outside,
    "settings": _settings,
}
