"""The fold: signed events of a unit's logs in, one case file and what is known about it out.

Nothing is ever unjudgeable: what the case file cannot hold is left out of it, flagged and counted as unread.
The answer does not depend on the order in which entries arrive, on repeats or on pieces.
The twin of web/src/core/caseFold.ts; shared/vectors/fold holds the two together.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import partial
from typing import Any

from server.core.case_file import check_correction, check_event
from server.core.case_opening import deciding_opening, text_or_none
from server.core.errors import InvalidInput
from server.core.log_events import LogEvent, TimedEvent, aliases_of, distinct_events, of_linked_cases, voided_ids
from server.core.protocol import Protocol

Json = dict[str, Any]

WITHHELD = "text withheld"
TEAM_BRIEF = "team-brief"
_LOG_ONLY = frozenset({"case_opened", "case_moved", "not_operated", "sign_off"})
_LOG_FIELDS = frozenset({"case", "list", "clock", "staff"})


@dataclass(slots=True)
class CaseMeta:
    """What the log says of a case beside its case file. Instants in ms.

    `entries` are digests, sorted, those of sign-offs left out: a signature is not part of what it signs.
    """

    case: str
    list_name: str | None = None
    date: str | None = None
    reference: str | None = None
    unit: str | None = None
    time_zone: str | None = None
    unit_values_number: int | None = None
    practice: bool = False
    on_list: bool = False
    opened_count: int = 0
    moved_to: str | None = None
    not_operated: str | None = None
    sign_off: Json | None = None
    flags: list[str] = field(default_factory=list)
    unread: int = 0
    patient_in_ms: int | None = None
    patient_out_ms: int | None = None
    first_ms: int | None = None
    entries: list[str] = field(default_factory=list)


@dataclass(slots=True)
class FoldedCase:
    """`case_file` always reads; None where no plan was ever recorded, and for a case whose events were moved."""

    case_file: Json | None
    meta: CaseMeta


class _Findings:
    """What was found amiss while folding."""

    def __init__(self) -> None:
        self.flags: set[str] = set()
        self.unread = 0

    def add(self, flag: str, count: int = 1) -> None:
        if count:
            self.flags.add(flag)
            self.unread += count

    def readable(self, check: Callable[[], None]) -> bool:
        """True where `check` passes; else what it refused is unread."""
        try:
            check()
        except InvalidInput:
            self.add("unreadable_event")
            return False
        return True


def fold(entries: Iterable[LogEvent], case: str, protocol: Protocol) -> FoldedCase:
    """Folds the entries that name the case, its list, or a move from or to it; others make no difference."""
    held = list(entries)
    findings = _Findings()
    linked = distinct_events(of_linked_cases(held, case))
    voided = voided_ids((found.event, found.entered_ms) for found in linked.timed)
    aliases = aliases_of(linked.timed, voided, case)
    if aliases.is_ring:
        findings.flags.add("move_ignored")
    meta = CaseMeta(case, moved_to=aliases.moved_to)
    if aliases.moved_to is not None:
        meta.flags = sorted(findings.flags)
        return FoldedCase(None, meta)
    own = [found for found in linked.timed if found.event["case"] in aliases.names]
    opening = deciding_opening(own, case, protocol)
    findings.add("unreadable_event", opening.unreadable)
    if opening.differs:
        findings.flags.add("opened_differently")
    _read_opening(meta, opening.first, opening.count)
    listed = distinct_events(entry for entry in held if _is_of_list(entry.event, meta.list_name))
    brief = _brief_of(listed.timed)
    unordered = [entry for entry in linked.unordered if entry.event["case"] in aliases.names]
    unordered += [entry for entry in listed.unordered if _is_brief(entry.event)]
    findings.add("unreadable_event", len(unordered))
    briefs = {found.event["id"] for found in brief}
    conflicts = [pair for pair in linked.conflicts if any(entry.event["case"] in aliases.names for entry in pair)]
    conflicts += [pair for pair in listed.conflicts if pair[0].event["id"] in briefs]
    findings.add("conflicting_id", len(conflicts))
    texts = {sealed: text for entry in held for sealed, text in entry.texts.items()}
    events = _case_events(own, brief, texts, findings, protocol)
    meta.sign_off = _last_sign_off(own, voided)
    meta.not_operated = _last_reason(own, voided)
    _read_moments(meta, events, own)
    digested = [found.entry for found in own + brief] + unordered
    meta.entries = sorted(entry.digest for entry in digested if entry.event["type"] != "sign_off")
    meta.flags, meta.unread = sorted(findings.flags), findings.unread
    return FoldedCase(_document(case, opening.first, events, protocol), meta)


def _document(case: str, opening: Mapping[str, Any] | None, events: list[Json], protocol: Protocol) -> Json | None:
    if opening is None:
        return None
    unit = opening["unit_values"]["values"]
    return {"protocol": protocol.name, "case": case, "plan": opening["plan"], "unit": unit, "events": events}


def _read_opening(meta: CaseMeta, first: Mapping[str, Any] | None, count: int) -> None:
    meta.opened_count = count
    if first is None:
        return
    meta.list_name, meta.date, meta.reference = (text_or_none(first, name) for name in ("list", "date", "reference"))
    meta.unit, meta.time_zone = text_or_none(first, "unit"), text_or_none(first, "time_zone")
    number = first["unit_values"].get("number")
    meta.unit_values_number = number if type(number) is int else None
    meta.practice = first.get("practice") is True
    meta.on_list = first.get("slot") is not None


def _is_of_list(event: Mapping[str, Any], list_name: str | None) -> bool:
    return list_name is not None and event.get("list") == list_name and "case" not in event


def _is_brief(event: Mapping[str, Any]) -> bool:
    return event["type"] == "step" and event.get("step") == TEAM_BRIEF


def _brief_of(listed: list[TimedEvent]) -> list[TimedEvent]:
    """The list's team brief and the corrections of it, which belong to each of its cases."""
    briefs = [found for found in listed if _is_brief(found.event)]
    ids = [found.event["id"] for found in briefs]
    return briefs + [f for f in listed if f.event["type"] == "correct" and f.event.get("corrects") in ids]


def _case_events(
    own: list[TimedEvent],
    brief: list[TimedEvent],
    texts: Mapping[str, str],
    findings: _Findings,
    protocol: Protocol,
) -> list[Json]:
    """Events as a case file has them: those of the list under ids of their own, sign-offs as the surgeon's step."""
    events = [_plain(found, texts) for found in own if found.event["type"] not in _LOG_ONLY]
    events += [_copied(_plain(found, texts)) for found in brief]
    events += [_sign_off_record(found) for found in own if found.event["type"] == "sign_off"]
    readable = [event for event in events if findings.readable(partial(check_event, event, protocol))]
    return _fitting(readable, findings, protocol)


def _plain(found: TimedEvent, texts: Mapping[str, str]) -> Json:
    kept = {name: _unsealed(value, texts) for name, value in found.event.items() if name not in _LOG_FIELDS}
    return {**kept, "at_ms": found.at_ms, "entered_ms": found.entered_ms}


def _copied(event: Json) -> Json:
    corrects = event.get("corrects")
    renamed = {"corrects": f"list-{corrects}"} if isinstance(corrects, str) else {}
    return {**event, "id": f"list-{event['id']}", **renamed}


def _unsealed(value: Any, texts: Mapping[str, str]) -> Any:
    """Every sealed text opened, where it was not withheld."""
    if isinstance(value, Mapping):
        if value.keys() == {"sha256"} and isinstance(value["sha256"], str):
            return texts.get(value["sha256"], WITHHELD)
        return {name: _unsealed(child, texts) for name, child in value.items()}
    return [_unsealed(child, texts) for child in value] if isinstance(value, list) else value


def _sign_off_record(found: TimedEvent) -> Json:
    """A sign-off as the record of the surgeon's own step."""
    return {
        "id": found.event["id"],
        "type": "step",
        "step": "surgeon-sign-off",
        "at_ms": found.at_ms,
        "entered_ms": found.entered_ms,
        "said_by": "surgeon",
        "entered_by": "surgeon",
        "value": {},
    }


def _last_sign_off(own: list[TimedEvent], voided: frozenset[str]) -> Json | None:
    given = [f for f in own if f.event["type"] == "sign_off" and f.event["id"] not in voided]
    if not given:
        return None
    last = given[-1]
    return {
        "id": last.event["id"],
        "at_ms": last.at_ms,
        "device": last.entry.device,
        "digest": last.entry.digest,
        "statement": last.event.get("statement"),
        "proof": last.event.get("proof"),
    }


def _fitting(events: list[Json], findings: _Findings, protocol: Protocol) -> list[Json]:
    """Leaves out corrections that do not fit what they correct, and a copy whose id is taken already."""
    by_id: dict[str, Json] = {}
    for event in events:
        if event["id"] in by_id:
            findings.add("conflicting_id")
        else:
            by_id[event["id"]] = event
    kept = [event for event in by_id.values() if _fits(event, by_id, findings, protocol)]
    return sorted(kept, key=lambda event: (event["at_ms"], event["id"]))


def _fits(event: Json, by_id: Mapping[str, Json], findings: _Findings, protocol: Protocol) -> bool:
    if event["type"] != "correct":
        return True
    target = by_id.get(event["corrects"])
    return findings.readable(lambda: check_correction(event, target, "event", protocol))


def _last_reason(own: list[TimedEvent], voided: frozenset[str]) -> str | None:
    given = [f.event for f in own if f.event["type"] == "not_operated" and f.event["id"] not in voided]
    if not given:
        return None
    reason = text_or_none(given[-1], "reason")
    return "other" if reason is None else reason


def _read_moments(meta: CaseMeta, events: list[Json], own: list[TimedEvent]) -> None:
    """First patient-in and patient-out that were not voided, and the earliest time of all."""
    voided = voided_ids((event, event["entered_ms"]) for event in events)
    rooms = [event for event in events if event["type"] == "room" and event["id"] not in voided]
    entered = [event["at_ms"] for event in rooms if event.get("moment") == "patient_in"]
    left = [event["at_ms"] for event in rooms if event.get("moment") == "patient_out"]
    meta.patient_in_ms = entered[0] if entered else None
    meta.patient_out_ms = left[0] if left else None
    meta.first_ms = own[0].at_ms if own else None
