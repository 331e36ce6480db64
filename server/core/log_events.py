"""Events of several logs as one: each id once, in order, with what was voided and what was moved."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from server.core.canonical import canonical
from server.core.case_file import ID
from server.core.strict_json import WHOLE_MAX


@dataclass(frozen=True, slots=True)
class LogEvent:
    """One event as it stands in a log. `texts` maps a digest to the text that was kept beside it."""

    device: str
    seq: int
    digest: str
    event: Mapping[str, Any]
    texts: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class TimedEvent:
    """An event whose clock can be read, with the instants that follow from it (ms)."""

    entry: LogEvent
    at_ms: int
    entered_ms: int

    @property
    def event(self) -> Mapping[str, Any]:
        """The event itself."""
        return self.entry.event


@dataclass(frozen=True, slots=True)
class DistinctEvents:
    """timed: by at_ms, then id; unordered: their clock or id cannot be read; conflicts: (held, other) under one id."""

    timed: list[TimedEvent]
    unordered: list[LogEvent]
    conflicts: list[tuple[LogEvent, LogEvent]]


@dataclass(frozen=True, slots=True)
class Aliases:
    """names: the case ids whose events belong to the case; moved_to: where its own events went, if they did."""

    names: frozenset[str]
    moved_to: str | None
    is_ring: bool


def instants_of(clock: object) -> tuple[int, int] | None:
    """When an event happened and when it was tapped (ms); None where its clock cannot be read."""
    if not isinstance(clock, Mapping):
        return None
    wall_ms, ago_ms, offset_ms = clock.get("wall_ms"), clock.get("ago_ms"), clock.get("offset_ms", "missing")
    if type(wall_ms) is not int or type(ago_ms) is not int or not (offset_ms is None or type(offset_ms) is int):
        return None
    entered_ms = wall_ms + (offset_ms or 0)
    at_ms = entered_ms - ago_ms
    return (at_ms, entered_ms) if max(abs(at_ms), abs(entered_ms)) <= WHOLE_MAX else None


def distinct_events(entries: Iterable[LogEvent]) -> DistinctEvents:
    """Of several contents under one id the first by device and sequence number counts."""
    first: dict[str, LogEvent] = {}
    others: dict[bytes, tuple[LogEvent, LogEvent]] = {}
    for entry in sorted(entries, key=lambda entry: (entry.device, entry.seq)):
        held = first.setdefault(entry.event["id"], entry)
        if held.digest != entry.digest:
            content = canonical(entry.event)
            if content != canonical(held.event):
                others[content] = (held, entry)
    timed, unordered = [], []
    for entry in first.values():
        instants = instants_of(entry.event.get("clock"))
        if instants is None or not ID.fullmatch(entry.event["id"]):
            unordered.append(entry)
        else:
            timed.append(TimedEvent(entry, *instants))
    timed.sort(key=lambda found: (found.at_ms, found.event["id"]))
    return DistinctEvents(timed, unordered, list(others.values()))


def of_linked_cases(entries: Iterable[LogEvent], case: str) -> list[LogEvent]:
    """The entries that name `case`, or a case that moves link to it, in whatever direction and however often."""
    own = [entry for entry in entries if isinstance(entry.event.get("case"), str)]
    moves = [(entry.event["case"], entry.event.get("to")) for entry in own if entry.event["type"] == "case_moved"]
    linked = {case}
    reached = 0
    while reached < len(linked):
        reached = len(linked)
        for source, target in moves:
            if isinstance(target, str) and (source in linked or target in linked):
                linked |= {source, target}
    return [entry for entry in own if entry.event["case"] in linked]


def voided_ids(events: Iterable[tuple[Mapping[str, Any], int]]) -> frozenset[str]:
    """Ids whose last correction, by entered_ms, then id, is a void. Takes (event, entered_ms) pairs."""
    last: dict[str, tuple[int, str, bool]] = {}
    for event, entered_ms in events:
        corrects = event.get("corrects")
        if event["type"] == "correct" and isinstance(corrects, str):
            is_void = event.get("void") is True and "value" not in event
            found = (entered_ms, event["id"], is_void)
            last[corrects] = max(last.get(corrects, found), found)
    return frozenset(corrected for corrected, (_entered, _id, is_void) in last.items() if is_void)


def aliases_of(timed: Iterable[TimedEvent], voided: frozenset[str], case: str) -> Aliases:
    """Follows moves of whole cases; each of the events names its case.

    The last move of each case counts; one that leads into a ring is ignored.
    """
    moves: dict[str, str] = {}
    for found in timed:
        event = found.event
        if event["type"] == "case_moved" and event["id"] not in voided and isinstance(event.get("to"), str):
            moves[event["case"]] = event["to"]
    here, _path, is_ring = _target_of(case, moves)
    names = {case}
    for name in moves:
        target, path, leads_back = _target_of(name, moves)
        if target == case:
            names.add(name)
        is_ring = is_ring or (leads_back and case in path)
    return Aliases(frozenset(names), None if here == case else here, is_ring)


def _target_of(name: str, moves: Mapping[str, str]) -> tuple[str, list[str], bool]:
    path = [name]
    while path[-1] in moves:
        following = moves[path[-1]]
        if following in path:
            return name, path, True
        path.append(following)
    return path[-1], path, False
