"""Which `case_opened` decides plan, protocol and unit values of a case. Called by the fold alone."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from server.core.canonical import canonical
from server.core.case_file import check_plan
from server.core.errors import InvalidInput
from server.core.log_events import TimedEvent
from server.core.protocol import Protocol
from server.core.unit_values import read_unit_values


@dataclass(frozen=True, slots=True)
class Openings:
    """first: the deciding event; differs: another one names another plan, protocol or unit object."""

    first: Mapping[str, Any] | None
    count: int
    unreadable: int
    differs: bool


def deciding_opening(own: Iterable[TimedEvent], case: str, protocol: Protocol) -> Openings:
    """The first readable one decides. The case's own come before those that were moved here from another case.

    A case opened on the wrong slot carries the wrong slot's plan.
    """
    given = [found.event for found in own if found.event["type"] == "case_opened"]
    readable = [event for event in given if _is_readable(event, protocol)]
    native = [event for event in readable if event["case"] == case]
    ordered = native or readable
    first = ordered[0] if ordered else None
    differs = first is not None and any(_deciding(other) != _deciding(first) for other in ordered[1:])
    return Openings(first, len(given), len(given) - len(readable), differs)


def text_or_none(event: Mapping[str, Any], name: str) -> str | None:
    """The member as text; None where it is no text."""
    value = event.get(name)
    return value if isinstance(value, str) else None


def _is_readable(event: Mapping[str, Any], protocol: Protocol) -> bool:
    values = event.get("unit_values")
    if event.get("protocol") != protocol.name or not isinstance(values, Mapping):
        return False
    try:
        check_plan(event.get("plan"), read_unit_values(values.get("values"), protocol), protocol)
    except InvalidInput:
        return False
    return True


def _deciding(event: Mapping[str, Any]) -> bytes:
    return canonical([event.get("plan"), event.get("protocol"), event.get("unit_values")])
