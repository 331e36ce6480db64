"""Kind `wrong_setting`: the machine in a mode that is not allowed at the step."""

from server.core.case_file import Record
from server.core.judge.deviation import Deviation, deviation
from server.core.judge.facts import Facts


def wrong_setting(facts: Facts) -> list[Deviation]:
    found = []
    grades = facts.protocol.grades["wrong_setting"]
    for code, records in facts.by_step.items():
        rule = records[0].step.rules.get("settings")
        if rule is None:
            continue
        earned = []
        for at, record in enumerate(records):
            mode = record.get("mode")
            if mode is None or mode in rule["allowed"]:
                continue
            noticed = record.get("noticed") == "before_entry"
            corrected = noticed and _has_allowed(records[at + 1 :], rule["allowed"])
            grade = grades["noticed_and_corrected"] if corrected else grades["other"]
            earned.append((grade, noticed, f"{mode}, noticed before entry" if noticed else mode))
        found += deviation(code, "wrong_setting", earned)
    return found


def _has_allowed(records: list[Record], allowed: list[str]) -> bool:
    return any(record.get("mode") in allowed for record in records)
