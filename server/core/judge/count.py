"""Kind `count`: what came out differs from what went in, category by category, or an item was found retained."""

from server.core.case_file import Record
from server.core.judge.deviation import Deviation, deviation
from server.core.judge.facts import Facts
from server.core.protocol_shape import Json


def count(facts: Facts) -> list[Deviation]:
    found = []
    for code, records in facts.by_step.items():
        rule = records[0].step.rules.get("count")
        if rule is not None:
            earned = _differing(records, rule, facts) + _retained(records, rule, facts)
            found += deviation(code, "count", earned)
    return found


def _differing(records: list[Record], rule: Json, facts: Facts) -> list[tuple[str, bool, str]]:
    opening = facts.last(rule["opening"])
    items = None if opening is None else opening.get(rule["items"])
    if items is None:
        return []
    counted = [said for record in records if (said := _difference(record, rule, items)) is not None]
    corrected = bool(counted) and counted[-1] == ""
    grade = facts.protocol.grades["count"]["corrected" if corrected else "kept"]
    return [(grade, corrected, detail) for detail in counted if detail]


def _difference(record: Record, rule: Json, items: dict[str, int]) -> str | None:
    """Empty where all categories agree; None where the record lacks a count. An absent category is 0."""
    added, out = record.get(rule["added"]), record.get(rule["out"])
    if added is None or out is None:
        return None
    differing = []
    for category in sorted({*items, *added, *out}):
        expected = items.get(category, 0) + added.get(category, 0)
        if out.get(category, 0) != expected:
            differing.append(f"{category} {out.get(category, 0)}, expected {expected}")
    return "; ".join(differing)


def _retained(records: list[Record], rule: Json, facts: Facts) -> list[tuple[str, bool, str]]:
    found = any(record.get(rule["retained"]) is True for record in records)
    return [(facts.protocol.grades["count"]["retained"], False, "an item was found retained")] if found else []
