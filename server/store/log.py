"""The server's copies of device logs, and the office log: entries are added and read, never changed or deleted."""

import base64
import json
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from sqlalchemy import func, or_, select, update

from server.core.entry import Certificate, Entry, sealed_in
from server.core.log_events import LogEvent
from server.store.scope import UnitScope
from server.store.tables import Device, LogEntry, LogFork, SealedText

# SQLite takes at most 32,766 values in one statement; this stays far below on every engine.
_VALUES_MAX = 500

SealedTexts = Mapping[str, tuple[str, str]]


def device(scope: UnitScope, device_id: str) -> Device | None:
    """The device's row: its certificate, and how far the copy of its log goes."""
    return scope.one(select(Device).where(Device.device == device_id))


def add_device(scope: UnitScope, certificate: Certificate, head: str) -> None:
    """Begins the copy of a device's log, empty."""
    row = {
        "device": certificate.device,
        "name": certificate.name,
        "certificate": certificate.jws,
        "enrolled_at_ms": certificate.at_ms,
        "entries_held": 0,
        "head": head,
    }
    scope.add(Device, [row])


def digests(scope: UnitScope, device_id: str, first: int, count: int) -> dict[int, str]:
    """The digests of the entries held from `first` on, at most `count`."""
    wanted = (LogEntry.device == device_id) & (LogEntry.seq >= first) & (LogEntry.seq < first + count)
    return dict(scope.rows(select(LogEntry.seq, LogEntry.digest).where(wanted)).all())


def last_received_ms(scope: UnitScope, office_log: str) -> int | None:
    """When the last entry of any tablet came in; `office_log` is the device whose entries did not come in."""
    return scope.one(select(func.max(LogEntry.received_at_ms)).where(LogEntry.device != office_log))


def append(scope: UnitScope, device_id: str, entries: Sequence[Entry], texts: SealedTexts, received_at_ms: int) -> None:
    """Adds verified entries behind those held; the caller's transaction keeps all of them or none."""
    if not entries:
        return
    scope.add(LogEntry, (_row(entry, received_at_ms) for entry in entries))
    add_texts(scope, texts)
    last = entries[-1]
    scope.change(update(Device).where(Device.device == device_id).values(entries_held=last.seq + 1, head=last.digest))


def add_texts(scope: UnitScope, texts: SealedTexts) -> None:
    """Keeps sealed texts beside the entries or certificates that name them; one that is held already stays."""
    held = _texts(scope, set(texts))
    new = [(sealed, salt, text) for sealed, (salt, text) in texts.items() if sealed not in held]
    scope.add(SealedText, ({"sha256": sealed, "salt": salt, "text": text} for sealed, salt, text in new))


def add_fork(scope: UnitScope, entry: Entry, held_digest: str, texts: Sequence[Any], received_at_ms: int) -> None:
    """Keeps a second content for a place already held. The same evidence twice is kept once."""
    here = (LogFork.device == entry.device) & (LogFork.seq == entry.seq) & (LogFork.digest == entry.digest)
    if scope.one(select(LogFork).where(here)) is None:
        row = {
            "device": entry.device,
            "seq": entry.seq,
            "digest": entry.digest,
            "held_digest": held_digest,
            "jws": entry.jws,
            "texts": list(texts),
            "received_at_ms": received_at_ms,
        }
        scope.add(LogFork, [row])


def events_about(scope: UnitScope, subjects: Iterable[str]) -> list[LogEvent]:
    """The events that name one of the subjects (cases or lists), or a move to one of them."""
    wanted = sorted(set(subjects))
    found: dict[tuple[str, int], tuple[str, str]] = {}
    for part in _parts(wanted):
        about = or_(LogEntry.subject.in_(part), LogEntry.moved_to.in_(part))
        columns = select(LogEntry.device, LogEntry.seq, LogEntry.digest, LogEntry.jws).where(about)
        found.update({(device_id, seq): (digest, jws) for device_id, seq, digest, jws in scope.rows(columns)})
    events = {place: _event(jws) for place, (_digest, jws) in found.items()}
    texts = _texts(scope, {sealed for event in events.values() for sealed in sealed_in(event)})
    return [
        LogEvent(device_id, seq, found[device_id, seq][0], event, texts)
        for (device_id, seq), event in sorted(events.items())
    ]


def subjects(scope: UnitScope) -> set[str]:
    """Every case and list that an entry names, and every case to which one was moved."""
    named = (select(column).distinct() for column in (LogEntry.subject, LogEntry.moved_to))
    return {name for statement in named for name in scope.values(statement) if name is not None}


def _row(entry: Entry, received_at_ms: int) -> dict[str, object]:
    event = entry.event
    subject = event.get("case", event.get("list"))
    moved_to = event.get("to") if event["type"] == "case_moved" else None
    return {
        "device": entry.device,
        "seq": entry.seq,
        "digest": entry.digest,
        "jws": entry.jws,
        "subject": subject if isinstance(subject, str) else None,
        "moved_to": moved_to if isinstance(moved_to, str) else None,
        "received_at_ms": received_at_ms,
    }


def _event(jws: str) -> Mapping[str, Any]:
    """The event of an entry that was verified, strictly parsed and found whole when it was taken in."""
    event: Mapping[str, Any] = json.loads(base64.urlsafe_b64decode(jws.split(".")[1] + "=="))["event"]
    return event


def _texts(scope: UnitScope, sealed: set[str]) -> dict[str, str]:
    found: dict[str, str] = {}
    for part in _parts(sorted(sealed)):
        columns = select(SealedText.sha256, SealedText.text).where(SealedText.sha256.in_(part))
        found.update(scope.rows(columns).all())
    return found


def _parts(values: Sequence[str]) -> Iterable[Sequence[str]]:
    return (values[start : start + _VALUES_MAX] for start in range(0, len(values), _VALUES_MAX))
