"""What a tablet is given to work with: its receipt, the lists around today, values, settings and people."""

from datetime import UTC, datetime, timedelta
from typing import Any

from server.core.entry import REQUEST
from server.core.errors import InvalidInput
from server.flows.authority import Authority
from server.flows.intake import receipt, verified_request
from server.flows.lists import lists_of
from server.store import units
from server.store.scope import reading

# Lists of yesterday to a week ahead: a tablet that meets no network for days still has its lists.
DAYS_BACK, DAYS_AHEAD = 1, 7


def pull(authority: Authority, certificate: str, request: str, now_ms: int) -> dict[str, Any]:
    """Answers a request that the device signed. Raises InvalidInput or TamperedRecord."""
    known, said = verified_request(authority, certificate, request, REQUEST)
    if not isinstance(said, dict) or said.get("purpose") != "pull":
        raise InvalidInput("request", "a statement about something else", "a request to pull")
    today = datetime.fromtimestamp(now_ms / 1000, UTC).date()
    first, last = today - timedelta(days=DAYS_BACK), today + timedelta(days=DAYS_AHEAD)
    with reading(known.unit) as scope:
        values, settings = units.latest_values(scope), units.latest_settings(scope)
        unit = units.unit(scope)
        answer = {
            "receipt": receipt(scope, authority, known, now_ms),
            "unit_name": unit.name,
            "time_zone": unit.time_zone,
            "unit_values": {"number": values[0], "values": values[1]},
            "settings": {"number": settings[0], "settings": settings[1]},
            "people": [{"code": person.code, "role": person.role} for person in units.people(scope)],
        }
    return {**answer, "lists": lists_of(known.unit, first.isoformat(), last.isoformat())}
