"""Kinds `time_overrun`, `equipment`, `contamination` and `complication`: what happened to the case as a whole."""

from collections.abc import Mapping
from typing import Any

from server.core.judge.deviation import ON_CASE, Deviation, deviation
from server.core.judge.facts import Facts
from server.core.quantity import span


def time_overrun(facts: Facts) -> list[Deviation]:
    rule = facts.protocol.document["time_overrun"]
    first = facts.first(rule["from"])
    ends = [last.at_ms for step in rule["to"] if (last := facts.last(step)) is not None]
    limit_ms = 1000 * facts.unit.limits["time_limit_s"]
    if first is None or not ends or max(ends) - first.at_ms <= limit_ms:
        return []
    detail = f"{span(max(ends) - first.at_ms)}, limit {span(limit_ms)}"
    return deviation(ON_CASE, "time_overrun", [(facts.protocol.grades["time_overrun"], False, detail)])


def equipment(facts: Facts) -> list[Deviation]:
    grades = facts.protocol.grades["equipment"]
    return [
        _one(event, "equipment", grades[event["stage"]], False, f"{event['stage']} the operation")
        for event in facts.case_file.others
        if event["type"] == "fault" and "stage" in event
    ]


def contamination(facts: Facts) -> list[Deviation]:
    grades = facts.protocol.grades["contamination"]
    found = []
    for event in facts.case_file.others:
        if event["type"] == "breach":
            reached = event.get("reached_eye") is True
            grade = grades["reached_eye"] if reached else grades["kept_out"]
            detail = "reached the eye" if reached else "did not reach the eye"
            found.append(_one(event, "contamination", grade, not reached, detail))
    return found


def complication(facts: Facts) -> list[Deviation]:
    grades = facts.protocol.grades["complication"]
    found = []
    for code, records in facts.by_step.items():
        rule = records[0].step.rules.get("complication")
        if rule is None:
            continue
        if rule["rule"] == "any_is":
            happened = any(record.get(rule["field"]) == rule["choice"] for record in records)
            detail = rule["choice"]
        else:
            happened = records[-1].get(rule["field"]) is False
            detail = f"not {rule['field']}"
        found += deviation(code, "complication", [(rule["grade"], False, detail)] if happened else [])
    for event in facts.case_file.others:
        if event["type"] == "complication":
            # Free text never stands in a deviation: only the known codes are repeated.
            code = event.get("what", "other")
            known = code in grades
            found.append(
                _one(
                    event,
                    "complication",
                    grades[code if known else "other"],
                    False,
                    code if known else "other",
                )
            )
    return found


def _one(event: Mapping[str, Any], kind: str, grade: str, caught: bool, detail: str) -> Deviation:
    """A deviation of its own for one event, so that the surgeon can speak to each."""
    return Deviation(ON_CASE, kind, grade, f"{ON_CASE}/{kind}/{event['id']}", caught, detail)
