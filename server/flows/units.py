"""Founds units, publishes their values and settings, and adds their people, each in the office log too."""

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from server.core.errors import InvalidInput
from server.core.instant import zone_named
from server.core.unit_values import read_unit_values
from server.flows import office_log
from server.flows.authority import Authority
from server.flows.secret import verifier
from server.store import sessions, units
from server.store.scope import founding, writing

PASSPHRASE_LEAST = 12
ROLES = ("recorder", "surgeon", "governance_lead", "administrator")
_NAME = re.compile(r"[a-z0-9-]{1,32}")
_CODE = re.compile(r"[A-Z0-9]{2,8}")
_PIN = re.compile(r"[0-9]{6,12}")


@dataclass(frozen=True, slots=True)
class NewPerson:
    """A member of staff by code and role; only surgeons have a PIN."""

    code: str
    role: str
    pin: str | None


def found_unit(authority: Authority, unit: str, name: str, time_zone: str, passphrase: str, now_ms: int) -> None:
    """Founds a unit with the shared values and settings as its first. Raises InvalidInput."""
    if not _NAME.fullmatch(unit):
        raise InvalidInput("unit", json.dumps(unit), "1 to 32 of a-z, 0-9 and -")
    zone_named(time_zone)
    with founding(unit) as scope:
        if units.exists(scope):
            raise InvalidInput("unit", f"the unit {unit}, which is there already", "a new name")
        row = {"name": name, "time_zone": time_zone, "epoch": now_ms, "added_at_ms": now_ms}
        units.found(scope, {**row, "passphrase_verifier": verifier(passphrase)})
    publish_values(authority, unit, {}, "founded with the protocol's values", now_ms)
    publish_settings(authority, unit, authority.settings, "founded with the usual settings", now_ms)


def set_passphrase(unit: str, passphrase: str) -> None:
    """Puts another office passphrase in force; offices that the old one opened are closed."""
    with writing(unit) as scope:
        units.set_passphrase(scope, verifier(passphrase))
        sessions.close_all(scope)


def publish_values(authority: Authority, unit: str, values: Mapping[str, Any], reason: str, now_ms: int) -> int:
    """Publishes the unit's values whole, under the next number. Raises InvalidInput where they cannot be judged by."""
    read_unit_values(values, authority.protocol)
    with writing(unit) as scope:
        number = units.latest_values(scope)[0] + 1
        units.add_values(scope, number, values, now_ms)
        texts = office_log.Sealed()
        event = {"type": "unit_values_published", "number": number, "values": values, "reason": texts.seal(reason)}
        office_log.append(scope, authority, event, now_ms, texts)
    return number


def publish_settings(authority: Authority, unit: str, settings: Mapping[str, Any], reason: str, now_ms: int) -> int:
    """Publishes the unit's other settings whole, under the next number."""
    with writing(unit) as scope:
        number = units.latest_settings(scope)[0] + 1
        units.add_settings(scope, number, settings, now_ms)
        texts = office_log.Sealed()
        event = {"type": "unit_settings_published", "number": number, "settings": settings}
        office_log.append(scope, authority, {**event, "reason": texts.seal(reason)}, now_ms, texts)
    return number


def add_person(authority: Authority, unit: str, person: NewPerson, now_ms: int) -> None:
    """Adds a member of staff by code. Raises InvalidInput."""
    _check(person)
    with writing(unit) as scope:
        if units.person(scope, person.code) is not None:
            raise InvalidInput("code", f"{person.code}, which is there already", "a new code")
        texts = office_log.Sealed()
        sealed = texts.seal(person.code)
        event = {"type": "person_added", "person": sealed, "role": person.role}
        office_log.append(scope, authority, event, now_ms, texts)
        kept = None if person.pin is None else verifier(person.pin)
        row = {"code": person.code, "role": person.role, "sealed_sha256": sealed["sha256"], "pin_verifier": kept}
        units.add_person(scope, {**row, "added_at_ms": now_ms})


def _check(person: NewPerson) -> None:
    if not _CODE.fullmatch(person.code):
        raise InvalidInput("code", json.dumps(person.code), "2 to 8 of A-Z and 0-9, never a name")
    if person.role not in ROLES:
        raise InvalidInput("role", json.dumps(person.role), "one of " + ", ".join(ROLES))
    if person.role == "surgeon" and person.pin is None:
        raise InvalidInput("pin", "none", "a PIN, since surgeons sign")
    if person.pin is not None and not _PIN.fullmatch(person.pin):
        raise InvalidInput("pin", f"{len(person.pin)} characters", "6 to 12 digits")
