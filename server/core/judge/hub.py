"""Kind `hub_not_held`: an injection whose lock was not checked, whose hub nobody held, or that came off."""

from collections import Counter
from collections.abc import Mapping

from server.core.case_file import Record
from server.core.judge.deviation import Deviation, deviation
from server.core.judge.facts import Facts
from server.core.judge.order import is_sutures_alone


def hub_not_held(facts: Facts) -> list[Deviation]:
    found = []
    for code, injections in _injections(facts).items():
        earned = [
            (grade, False, _detail(record)) for record in injections if (grade := _grade(record, facts)) is not None
        ]
        found += deviation(code, "hub_not_held", earned)
    return found


def hub_counts(facts: Facts) -> tuple[Mapping[str, int], Mapping[tuple[str, str], int]]:
    """Injections by step, and those that earned each grade: the chances and events of the weekly counts."""
    injections = _injections(facts)
    events: Counter[tuple[str, str]] = Counter()
    for code, records in injections.items():
        events.update((code, grade) for record in records if (grade := _grade(record, facts)) is not None)
    return {code: len(records) for code, records in injections.items()}, events


def hub_not_asked(facts: Facts) -> int:
    """Records that put something into the eye without the hub question."""
    return sum(_was_not_asked(record) for record in facts.case_file.records if record.step.asks_hub)


def _was_not_asked(record: Record) -> bool:
    if "hub_held" in record.value or not record.in_eye:
        return False
    sutures = record.step.rules.get("sutures_field")
    return sutures is None or not is_sutures_alone(record, sutures)


def _injections(facts: Facts) -> dict[str, list[Record]]:
    found: dict[str, list[Record]] = {}
    for record in facts.case_file.records:
        if record.is_injection:
            found.setdefault(record.step.step, []).append(record)
    return found


def _grade(record: Record, facts: Facts) -> str | None:
    grades = facts.protocol.grades["hub_not_held"]
    earned = [
        grade
        for grade, applies in (
            (grades["injury"], record.get("injury") is True),
            (grades["detached"], record.get("detached") is True),
            (
                grades["not_held"],
                record.get("lock_checked") is not True or record.get("hub_held") is not True,
            ),
        )
        if applies
    ]
    return max(earned) if earned else None


def _detail(record: Record) -> str:
    said = [
        words
        for words, applies in (
            ("lock not checked", record.get("lock_checked") is not True),
            ("hub not held", record.get("hub_held") is not True),
            ("it came off", record.get("detached") is True),
            ("injury", record.get("injury") is True),
        )
        if applies
    ]
    return ", ".join(said)
