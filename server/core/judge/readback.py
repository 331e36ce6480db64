"""Kind `readback_mismatch`: what was read differs from its reference.

A record that lacks the value is passed over. Whether a mismatch was put right is told by the last record judged.
"""

from collections.abc import Callable, Mapping
from typing import Any

from server.core.case_file import Record
from server.core.judge.deviation import Deviation, deviation
from server.core.judge.facts import Facts
from server.core.protocol_shape import Json
from server.core.quantity import power

MS_A_DAY = 86_400_000

Lens = tuple[str, int]


def readback_mismatch(facts: Facts) -> list[Deviation]:
    found = []
    grades = facts.protocol.grades["readback_mismatch"]
    for code, records in facts.by_step.items():
        rule = records[0].step.rules.get("readback")
        if rule is None:
            continue
        read = [said for record in records if (said := _RULES[rule["rule"]](record, rule, facts)) is not None]
        corrected = bool(read) and read[-1] == ""
        grade = grades["corrected"] if corrected else grades["kept"]
        found += deviation(code, "readback_mismatch", [(grade, corrected, detail) for detail in read if detail])
    return found


def lens_of(value: Mapping[str, Any]) -> Lens | None:
    """Model and signed power of a lens; None where either is missing."""
    model, power_cdpt = value.get("model"), value.get("power_cdpt")
    return None if model is None or power_cdpt is None else (model, power_cdpt)


def lens_text(lens: Lens) -> str:
    return f"{lens[0]} {power(lens[1])}"


def _true(record: Record, rule: Json, _facts: Facts) -> str | None:
    return "" if record.get(rule["field"]) is True else "does not match"


def _differs(read: object, expected: object) -> str | None:
    """None where nothing can be compared, "" where the two agree, else what differs."""
    if read is None or expected is None:
        return None
    return "" if read == expected else f"read {read}, expected {expected}"


def _eye(record: Record, rule: Json, facts: Facts) -> str | None:
    reference = facts.last(rule["against"])
    expected = facts.plan["eye"] if reference is None else reference.get("eye")
    return _differs(record.get("eye"), expected)


def _unit_dye(record: Record, rule: Json, facts: Facts) -> str | None:
    return _differs(record.get(rule["field"]), facts.unit.dye)


def _label(record: Record, rule: Json, _facts: Facts) -> str | None:
    return _differs(record.get(rule["field"]), rule["label"])


def _lens(record: Record, rule: Json, facts: Facts) -> str | None:
    """Differs where the lens differs from any of its references, or where the box had expired."""
    parts = [_expired(record, rule), *_lens_against(record, rule["against"], facts)]
    judged = [part for part in parts if part is not None]
    return "; ".join(dict.fromkeys(part for part in judged if part)) if judged else None


def _lens_against(record: Record, references: list[str], facts: Facts) -> list[str | None]:
    read = lens_of(record.value)
    if read is None:
        return []
    expected = _references(record, references, facts)
    return [
        "" if read == lens else f"read {lens_text(read)}, expected {lens_text(lens)}"
        for lens in expected
        if lens is not None
    ]


def _references(record: Record, references: list[str], facts: Facts) -> list[Lens | None]:
    """The new plan in force alone; without one the plan and the last plan read aloud not later than the record."""
    found: list[Lens | None] = []
    for reference in references:
        if reference == "plan":
            found.append(lens_of(facts.plan["lens"]))
            continue
        spoken = facts.in_force(reference, record.at_ms)
        if spoken is not None and reference == "new-lens-plan":
            return [lens_of(spoken.value)]
        if spoken is not None:
            found.append(lens_of(spoken.value))
    return found


def _expired(record: Record, rule: Json) -> str | None:
    """Judged only where it has expired: a date that is still good says nothing about the lens that was read."""
    expiry = record.value.get(rule.get("expiry", ""))
    if expiry is None or days_of(expiry) >= record.at_ms // MS_A_DAY:
        return None
    return f"expired {expiry}"


def days_of(day: str) -> int:
    """Days from 1970-01-01 to a day YYYY-MM-DD of the proleptic Gregorian calendar."""
    year, month, of_month = int(day[:4]), int(day[5:7]), int(day[8:10])
    years = year - (month <= 2)
    days_of_months = (153 * (month + (-3 if month > 2 else 9)) + 2) // 5 + of_month - 1
    return 365 * years + years // 4 - years // 100 + years // 400 + days_of_months - 719_468


_RULES: dict[str, Callable[[Record, Json, Facts], str | None]] = {
    "true": _true,
    "eye": _eye,
    "lens": _lens,
    "unit_dye": _unit_dye,
    "label": _label,
}
