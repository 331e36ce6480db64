"""From logs to judged cases: folds, judges and stores every case that new entries touch."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any
from zoneinfo import ZoneInfo

from server.core.case_file import CaseFile, read
from server.core.case_fold import CaseMeta, FoldedCase, fold
from server.core.errors import InvalidInput
from server.core.instant import week_of, zone_named
from server.core.judge.deviation import Judgement
from server.core.judge.judge import judge
from server.core.log_events import LogEvent
from server.core.protocol import Protocol
from server.core.statement import answers_of, proof_problem
from server.flows.authority import Authority
from server.store import log, projections
from server.store.scope import UnitScope
from server.store.units import all_subjects, time_zone

Json = dict[str, Any]


def touched_cases(scope: UnitScope, events: Iterable[Mapping[str, Any]]) -> set[str]:
    """The cases that these events name, and those of the lists that they name."""
    cases: set[str] = set()
    lists: set[str] = set()
    for event in events:
        for name, found in (("case", cases), ("to", cases), ("list", lists)):
            if isinstance(event.get(name), str) and (name != "to" or event["type"] == "case_moved"):
                found.add(event[name])
    return cases | (projections.cases_of_lists(scope, lists) if lists else set())


def project(scope: UnitScope, authority: Authority, cases: set[str]) -> None:
    """Folds and judges these cases from the logs and puts their rows in place, in the caller's transaction."""
    if not cases:
        return
    events = _with_moves(scope, cases)
    by_subject = _by_subject(events + _of_lists(scope, events))
    zone = time_zone(scope)
    for case in sorted(cases):
        folded = fold(_about(case, by_subject), case, authority.protocol)
        row, judgement, answers = _judged(folded, scope.unit, zone, authority)
        projections.replace(scope, row, judgement, answers)


def rebuild(scope: UnitScope, authority: Authority) -> int:
    """Makes all projections of the unit again from the logs alone. Returns the number of cases."""
    projections.remove_all(scope)
    opened = {event.event["case"] for event in log.events_about(scope, all_subjects(scope)) if "case" in event.event}
    project(scope, authority, {case for case in opened if isinstance(case, str)})
    return len(opened)


def _with_moves(scope: UnitScope, cases: set[str]) -> list[LogEvent]:
    """The events of the cases, and of every case from which events were moved here, as far as moves go."""
    known: set[str] = set()
    events: dict[tuple[str, int], LogEvent] = {}
    wanted = set(cases)
    while wanted - known:
        found = log.events_about(scope, wanted - known)
        known |= wanted
        events.update({(event.device, event.seq): event for event in found})
        wanted = {
            str(event.event[name])
            for event in found
            for name in ("case", "to")
            if event.event["type"] == "case_moved" and name in event.event
        }
    return list(events.values())


def _of_lists(scope: UnitScope, events: list[LogEvent]) -> list[LogEvent]:
    named = {event.event.get("list") for event in events if event.event["type"] == "case_opened"}
    return log.events_about(scope, {name for name in named if isinstance(name, str)})


def _by_subject(events: list[LogEvent]) -> dict[str, list[LogEvent]]:
    found: dict[str, list[LogEvent]] = {}
    for event in events:
        subject = event.event.get("case", event.event.get("list"))
        found.setdefault(str(subject), []).append(event)
    return found


def _about(case: str, by_subject: Mapping[str, list[LogEvent]]) -> list[LogEvent]:
    """What the fold of one case needs: its own events, those of cases moved here, and those of its list."""
    moves = [e for events in by_subject.values() for e in events if e.event["type"] == "case_moved"]
    cases = {case}
    for _ in moves:
        cases |= {str(e.event["case"]) for e in moves if e.event.get("to") in cases}
        cases |= {str(e.event["to"]) for e in moves if e.event["case"] in cases}
    own = [event for name in sorted(cases) for event in by_subject.get(name, ())]
    lists = {str(e.event.get("list")) for e in own if e.event["type"] == "case_opened"}
    return own + [event for name in sorted(lists - cases) for event in by_subject.get(name, ())]


def _judged(
    folded: FoldedCase, unit: str, zone: str, authority: Authority
) -> tuple[Json, Judgement | None, Mapping[str, Any]]:
    meta = folded.meta
    case_file = None if folded.case_file is None else read(folded.case_file, authority.protocol)
    if folded.case_file is None or case_file is None:
        return _row(meta, None, None, zone), None, {}
    judgement = _judgement(case_file, meta, authority.protocol)
    row = {**_row(meta, case_file, judgement, zone), "protocol": authority.protocol.name}
    if meta.sign_off is not None:
        problem = proof_problem(meta.sign_off, unit, authority.jwk, frozenset(meta.entries))
        row["sign_off"] = {**meta.sign_off, "problem": problem}
    return row, judgement, answers_of(folded.case_file["events"])


def _judgement(case_file: CaseFile, meta: CaseMeta, protocol: Protocol) -> Judgement:
    """Closed once it is signed or the patient has left, else open (contract section 5).

    In a case that was not operated nothing was due: it stays open, and only recorded steps were chances.
    """
    judgement = judge(case_file, protocol, is_open=_is_open(meta))
    if meta.not_operated is None:
        return judgement
    return replace(judgement, steps=frozenset(record.step.step for record in case_file.records))


def _is_open(meta: CaseMeta) -> bool:
    return meta.not_operated is not None or (meta.sign_off is None and meta.patient_out_ms is None)


def _row(meta: CaseMeta, case_file: CaseFile | None, judgement: Judgement | None, zone: str) -> Json:
    starts_ms = meta.patient_in_ms if meta.patient_in_ms is not None else meta.first_ms
    week = None if starts_ms is None else week_of(starts_ms, _zone(meta.time_zone, zone))
    timely = [] if case_file is None else [r for r in case_file.records if r.step.timely]
    late_ms = 0 if case_file is None else 1000 * case_file.unit.limits["late_s"]
    signed_ms = None if meta.sign_off is None else meta.sign_off["at_ms"]
    left_ms = meta.patient_out_ms
    return {
        "case": meta.case,
        "list": meta.list_name,
        "date": meta.date,
        "reference": meta.reference,
        "week": None if week is None else str(week),
        "practice": meta.practice,
        "on_list": meta.on_list,
        "opened_count": meta.opened_count,
        "moved_to": meta.moved_to,
        "not_operated": meta.not_operated,
        "protocol": None,
        "unit_values_number": meta.unit_values_number,
        "first_ms": meta.first_ms,
        "patient_in_ms": meta.patient_in_ms,
        "patient_out_ms": left_ms,
        "judged": judgement is not None,
        "judged_open": judgement is not None and _is_open(meta),
        "signed": signed_ms is not None,
        "sign_off": None,
        "flags": sorted({*meta.flags, *(judgement.flags if judgement else ())}),
        "unread": meta.unread + (judgement.unread if judgement else 0),
        "hub_not_asked": judgement.hub_not_asked if judgement else 0,
        "records": len(timely),
        "late_records": sum(record.entered_ms - record.at_ms > late_ms for record in timely),
        "signed_after_patient_out": signed_ms is not None and left_ms is not None and signed_ms > left_ms,
    }


def _zone(named: str | None, of_unit: str) -> ZoneInfo:
    """The zone that the case was opened in; the unit's, where a tablet knows a zone that this server does not."""
    try:
        return zone_named(named or of_unit)
    except InvalidInput:
        return zone_named(of_unit)
