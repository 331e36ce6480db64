"""The fold: signed events of a unit's logs in, one case file and what is known about it out.

Nothing is ever unjudgeable: what the case file cannot hold is left out of it, flagged and counted as unread.
The answer does not depend on the order in which entries arrive, on repeats or on pieces.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from server.core.case_file import check_correction, check_event, check_plan
from server.core.errors import InvalidInput
from server.core.protocol import Protocol
from server.core.unit_values import read_unit_values

Json = dict[str, Any]

WITHHELD = "text withheld"
_SEALED = {"sha256"}
_LOG_ONLY = frozenset({"case_opened", "case_moved", "not_operated", "sign_off"})
_LOG_FIELDS = frozenset({"case", "list", "clock", "staff"})


@dataclass(frozen=True, slots=True)
class LogEvent:
    """One event as it stands in a log. `texts` maps a digest to the text that was kept beside it."""

    device: str
    seq: int
    digest: str
    event: Mapping[str, Any]
    texts: Mapping[str, str]


@dataclass(slots=True)
class CaseMeta:
    """What the log says of a case beside its case file. Instants in ms; `digests` are sorted."""

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
    digests: list[str] = field(default_factory=list)

    def flag(self, word: str) -> None:
        if word not in self.flags:
            self.flags.append(word)
            self.flags.sort()


@dataclass(slots=True)
class FoldedCase:
    """`case_file` is the parsed JSON of a case file that always reads; None where no plan was ever recorded."""

    case_file: Json | None
    meta: CaseMeta


def fold(entries: Iterable[LogEvent], case: str, protocol: Protocol) -> FoldedCase:
    """Folds all entries of the unit that name the case, its list, or a move from or to it."""
    meta = CaseMeta(case)
    events = sorted(_distinct(entries, meta), key=lambda entry: (at_ms(entry.event), entry.event["id"]))
    aliases = _aliases(events, case, meta)
    own = [entry for entry in events if entry.event.get("case") in aliases]
    if meta.moved_to is not None:
        return FoldedCase(None, meta)
    opened = _opened(own, meta, protocol)
    listed = [entry for entry in events if meta.list_name is not None and _is_brief(entry, meta.list_name, events)]
    meta.digests = sorted(entry.digest for entry in own + listed)
    case_events = _fitting([*_case_events(own, meta, protocol), *_copied(listed, meta, protocol)], meta, protocol)
    _read_moments(case_events, own, meta)
    if opened is None:
        return FoldedCase(None, meta)
    case_file = {
        "protocol": protocol.name,
        "case": case,
        "plan": opened["plan"],
        "unit": opened["unit_values"]["values"],
        "events": case_events,
    }
    return FoldedCase(case_file, meta)


def at_ms(event: Mapping[str, Any]) -> int:
    """When it happened: the server's time as known at the tap, less how long ago it was said to have happened."""
    return entered_ms(event) - _whole(event, "ago_ms")


def entered_ms(event: Mapping[str, Any]) -> int:
    """When it was tapped, by the device's clock set right by the offset that it knew then."""
    return _whole(event, "wall_ms") + _whole(event, "offset_ms")


def _whole(event: Mapping[str, Any], name: str) -> int:
    clock = event.get("clock")
    value = clock.get(name) if isinstance(clock, Mapping) else None
    return value if type(value) is int else 0


def _distinct(entries: Iterable[LogEvent], meta: CaseMeta) -> list[LogEvent]:
    """Of two contents under one id the first by device and sequence number counts; the other is unread."""
    first: dict[str, LogEvent] = {}
    for entry in sorted(entries, key=lambda entry: (entry.device, entry.seq)):
        held = first.setdefault(entry.event["id"], entry)
        if held is not entry and held.event != entry.event:
            meta.flag("conflicting_id")
            meta.unread += 1
    return list(first.values())


def _aliases(events: list[LogEvent], case: str, meta: CaseMeta) -> set[str]:
    """The case ids whose events belong here. The last move of each case counts; a ring of moves is ignored."""
    moves = {entry.event["case"]: entry.event.get("to") for entry in events if entry.event["type"] == "case_moved"}

    def target(name: str) -> str:
        seen = [name]
        while isinstance(moves.get(seen[-1]), str):
            following = str(moves[seen[-1]])
            if following in seen:
                meta.flag("move_ignored")
                return name
            seen.append(following)
        return seen[-1]

    here = target(case)
    meta.moved_to = here if here != case else None
    named = {case, *(name for name in moves if isinstance(name, str))}
    return {name for name in named if target(name) == case}


def _opened(own: list[LogEvent], meta: CaseMeta, protocol: Protocol) -> Json | None:
    """The first case_opened that can be judged decides plan, protocol and unit values."""
    openings = [_plain(entry) for entry in own if entry.event["type"] == "case_opened"]
    meta.opened_count = len(openings)
    readable = [opening for opening in openings if _is_readable(opening, protocol)]
    if len(readable) < len(openings):
        meta.flag("unreadable_event")
        meta.unread += len(openings) - len(readable)
    if not readable:
        return None
    first = readable[0]
    deciding = ("plan", "protocol", "unit_values")
    if any(other.get(name) != first.get(name) for other in readable[1:] for name in deciding):
        meta.flag("opened_differently")
    meta.list_name, meta.date, meta.reference = (_text(first, name) for name in ("list", "date", "reference"))
    meta.unit, meta.time_zone = _text(first, "unit"), _text(first, "time_zone")
    number = first["unit_values"].get("number")
    meta.unit_values_number = number if type(number) is int else None
    meta.practice = first.get("practice") is True
    meta.on_list = first.get("slot") is not None
    return first


def _text(event: Json, name: str) -> str | None:
    value = event.get(name)
    return value if isinstance(value, str) else None


def _is_readable(opening: Json, protocol: Protocol) -> bool:
    values = opening.get("unit_values")
    if opening.get("protocol") != protocol.name or not isinstance(values, dict):
        return False
    try:
        check_plan(opening.get("plan"), read_unit_values(values.get("values"), protocol), protocol)
    except InvalidInput:
        return False
    return True


def _is_brief(entry: LogEvent, name: str, events: list[LogEvent]) -> bool:
    """The list's team brief, and corrections of it, belong to each of its cases."""
    if entry.event.get("list") != name or "case" in entry.event:
        return False
    if entry.event["type"] == "correct":
        corrected = [other for other in events if other.event["id"] == entry.event.get("corrects")]
        return any(_is_brief(other, name, events) for other in corrected if other.event["type"] != "correct")
    return entry.event["type"] == "step" and entry.event.get("step") == "team-brief"


def _case_events(own: list[LogEvent], meta: CaseMeta, protocol: Protocol) -> list[Json]:
    events = []
    for entry in own:
        kind = entry.event["type"]
        if kind == "not_operated":
            reason = entry.event.get("reason")
            meta.not_operated = reason if isinstance(reason, str) else "other"
        elif kind == "sign_off":
            events.append(_sign_off(entry, meta))
        elif kind not in _LOG_ONLY:
            events += _readable([_case_event(entry)], meta, protocol)
    return events


def _copied(listed: list[LogEvent], meta: CaseMeta, protocol: Protocol) -> list[Json]:
    """Copies of the list's events under ids of their own."""
    copies = []
    for entry in listed:
        copy = _case_event(entry)
        copy["id"] = f"list-{copy['id']}"
        if "corrects" in copy:
            copy["corrects"] = f"list-{copy['corrects']}"
        copies.append(copy)
    return _readable(copies, meta, protocol)


def _readable(events: list[Json], meta: CaseMeta, protocol: Protocol) -> list[Json]:
    kept = []
    for event in events:
        try:
            check_event(event, protocol)
        except InvalidInput:
            meta.flag("unreadable_event")
            meta.unread += 1
        else:
            kept.append(event)
    return kept


def _fitting(events: list[Json], meta: CaseMeta, protocol: Protocol) -> list[Json]:
    """Leaves out corrections that do not fit what they correct, and a copy whose id is already taken."""
    targets: dict[str, Json] = {}
    distinct = []
    for event in events:
        if event["id"] in targets:
            meta.flag("conflicting_id")
            meta.unread += 1
        else:
            targets[event["id"]] = event
            distinct.append(event)
    return [e for e in distinct if e["type"] != "correct" or _corrects_well(e, targets, meta, protocol)]


def _corrects_well(event: Json, targets: Mapping[str, Json], meta: CaseMeta, protocol: Protocol) -> bool:
    try:
        check_correction(event, targets.get(event["corrects"]), "event", protocol)
    except InvalidInput:
        meta.flag("unreadable_event")
        meta.unread += 1
        return False
    return True


def _sign_off(entry: LogEvent, meta: CaseMeta) -> Json:
    """A sign_off yields the record of the surgeon's step; the last one is shown as the signature."""
    signed: Json = {
        "id": entry.event["id"],
        "at_ms": at_ms(entry.event),
        "device": entry.device,
        "digest": entry.digest,
        "statement": entry.event.get("statement"),
        "proof": entry.event.get("proof"),
    }
    meta.sign_off = signed
    return {
        "id": entry.event["id"],
        "type": "step",
        "step": "surgeon-sign-off",
        "at_ms": at_ms(entry.event),
        "entered_ms": entered_ms(entry.event),
        "said_by": "surgeon",
        "entered_by": "surgeon",
        "value": {},
    }


def _case_event(entry: LogEvent) -> Json:
    event = {name: value for name, value in _plain(entry).items() if name not in _LOG_FIELDS}
    event["at_ms"], event["entered_ms"] = at_ms(entry.event), entered_ms(entry.event)
    return event


def _plain(entry: LogEvent) -> Json:
    """The event with every sealed text opened where it was not withheld."""
    opened: Json = _unsealed(entry.event, entry.texts)
    return opened


def _unsealed(value: Any, texts: Mapping[str, str]) -> Any:
    if isinstance(value, Mapping):
        if value.keys() == _SEALED and isinstance(value["sha256"], str):
            return texts.get(value["sha256"], WITHHELD)
        return {name: _unsealed(child, texts) for name, child in value.items()}
    return [_unsealed(child, texts) for child in value] if isinstance(value, list) else value


def _read_moments(case_events: list[Json], own: list[LogEvent], meta: CaseMeta) -> None:
    """First patient-in and patient-out that were not voided, and the earliest time of all."""
    voids: dict[str, tuple[int, str, bool]] = {}
    for event in case_events:
        if event["type"] == "correct":
            decides = (event["entered_ms"], event["id"], "void" in event)
            voids[event["corrects"]] = max(voids.get(event["corrects"], decides), decides)
    rooms = [e for e in case_events if e["type"] == "room" and not voids.get(e["id"], (0, "", False))[2]]
    entered = [event["at_ms"] for event in rooms if event.get("moment") == "patient_in"]
    left = [event["at_ms"] for event in rooms if event.get("moment") == "patient_out"]
    times = [at_ms(entry.event) for entry in own]
    meta.patient_in_ms, meta.patient_out_ms = min(entered, default=None), min(left, default=None)
    meta.first_ms = min(times, default=None)
