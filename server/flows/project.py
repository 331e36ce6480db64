"""From logs to judged cases: folds, judges and stores every case that new entries touch."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any
from zoneinfo import ZoneInfo

from server.core.case_file import CaseFile, read
from server.core.case_fold import CaseMeta, fold
from server.core.errors import InvalidInput
from server.core.instant import week_of, zone_named
from server.core.judge.deviation import Judgement
from server.core.judge.judge import judge
from server.core.log_events import LogEvent
from server.core.protocol import Protocol
from server.core.statement import answers_of, checked_sign_off
from server.flows.authority import Authority
from server.store import log, projections
from server.store.scope import UnitScope
from server.store.units import time_zone

Json = dict[str, Any]

# So many cases are folded from one reading of the logs: few statements, and a bound on what is held in memory.
_CASES_AT_ONCE = 50


def touched_cases(scope: UnitScope, events: Iterable[Mapping[str, Any]]) -> set[str]:
    """The cases that these events name, and those of the lists whose own events they are."""
    cases: set[str] = set()
    lists: set[str] = set()
    for event in events:
        name, list_name = event.get("case"), event.get("list")
        if isinstance(name, str):
            cases.add(name)
        elif isinstance(list_name, str):
            lists.add(list_name)
    return cases | (projections.cases_of_lists(scope, lists) if lists else set())


def project(scope: UnitScope, authority: Authority, cases: set[str]) -> None:
    """Folds and judges these cases, and those that moves link to them, and puts their rows in place.

    All in the caller's transaction. The rows follow from the logs alone, whatever stood there before; a name that
    no entry has as its case gets none.
    """
    zone = time_zone(scope)
    wanted = sorted(cases)
    for start in range(0, len(wanted), _CASES_AT_ONCE):
        events, links = _with_moves(scope, set(wanted[start : start + _CASES_AT_ONCE]))
        by_subject = _by_subject(events + _of_lists(scope, events))
        about = {case: _about(linked, by_subject) for case, linked in sorted(links.items())}
        judged = [
            _judged(scope.unit, case, found, zone, authority)
            for case, found in about.items()
            if any("case" in event.event for event in found)
        ]
        projections.replace(scope, judged)


def rebuild(scope: UnitScope, authority: Authority) -> int:
    """Makes all projections of the unit again from the logs alone. Returns the number of cases."""
    projections.remove_all(scope)
    project(scope, authority, log.subjects(scope))
    return projections.case_count(scope)


def _with_moves(scope: UnitScope, cases: set[str]) -> tuple[list[LogEvent], dict[str, frozenset[str]]]:
    """The events of these cases and of all that moves link to them, and for each case those it is linked with."""
    events: dict[tuple[str, int], LogEvent] = {}
    known: set[str] = set()
    links: dict[str, frozenset[str]] = {}
    wanted = set(cases)
    while wanted:
        found = log.events_about(scope, wanted)
        events.update({(event.device, event.seq): event for event in found})
        links.update({case: frozenset({case}) for case in wanted})
        known |= wanted
        wanted = {name for event in found for name in _moved(event.event)} - known
    for event in events.values():
        joined = frozenset(linked for name in _moved(event.event) for linked in links[name])
        links.update(dict.fromkeys(joined, joined))
    return list(events.values()), links


def _moved(event: Mapping[str, Any]) -> tuple[str, ...]:
    """The two cases that a move names; nothing for another event, or a move that cannot be read."""
    source, target = event.get("case"), event.get("to")
    is_move = event["type"] == "case_moved" and isinstance(source, str) and isinstance(target, str)
    return (str(source), str(target)) if is_move else ()


def _of_lists(scope: UnitScope, events: list[LogEvent]) -> list[LogEvent]:
    named = [event.event.get("list") for event in events if event.event["type"] == "case_opened"]
    found = log.events_about(scope, [name for name in named if isinstance(name, str)])
    return [event for event in found if "case" not in event.event]


def _by_subject(events: list[LogEvent]) -> dict[str, list[LogEvent]]:
    found: dict[str, list[LogEvent]] = {}
    for event in events:
        subject = event.event.get("case", event.event.get("list"))
        found.setdefault(str(subject), []).append(event)
    return found


def _about(linked: frozenset[str], by_subject: Mapping[str, list[LogEvent]]) -> list[LogEvent]:
    """What the fold of one case needs: its own events, those of cases that moves link to it, and those of lists."""
    own = [event for name in sorted(linked) for event in by_subject.get(name, ())]
    lists = {str(event.event.get("list")) for event in own if event.event["type"] == "case_opened"}
    return own + [event for name in sorted(lists - linked) for event in by_subject.get(name, ())]


def _judged(unit: str, case: str, events: list[LogEvent], zone: str, authority: Authority) -> projections.JudgedCase:
    folded = fold(events, case, authority.protocol)
    meta = folded.meta
    signed = checked_sign_off(unit, meta, events, authority.jwk)
    if folded.case_file is None:
        return projections.JudgedCase({**_row(meta, None, None, zone), "sign_off": signed}, None, {})
    case_file = read(folded.case_file, authority.protocol)
    judgement = _judgement(case_file, meta, authority.protocol)
    row = {**_row(meta, case_file, judgement, zone), "protocol": authority.protocol.name, "sign_off": signed}
    return projections.JudgedCase(row, judgement, answers_of(folded.case_file["events"]))


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
