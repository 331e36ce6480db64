"""Kind `late_entry` and the flag `burst`: when things were entered, against when they happened."""

from server.core.judge.deviation import Deviation, deviation
from server.core.judge.facts import Facts
from server.core.quantity import span


def late_entry(facts: Facts) -> list[Deviation]:
    found = []
    limit_ms = 1000 * facts.unit.limits["late_s"]
    for code, records in facts.by_step.items():
        if records[0].step.timely:
            latest_ms = max(record.entered_ms - record.at_ms for record in records)
            if latest_ms > limit_ms:
                detail = f"entered {span(latest_ms)} after it happened"
                found += deviation(code, "late_entry", [(facts.protocol.grades["late_entry"], False, detail)])
    return found


def is_burst(facts: Facts) -> bool:
    """Several records entered within a few seconds: a mark on the record, not on the operation."""
    entered = sorted(record.entered_ms for record in facts.case_file.records)
    records, span_ms = facts.protocol.fixed["burst_records"], facts.protocol.fixed["burst_span_ms"]
    return any(last - first <= span_ms for first, last in zip(entered, entered[records - 1 :], strict=False))
