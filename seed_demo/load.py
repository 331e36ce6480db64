"""Loads the demo: founds the invented unit, adds its people, and brings thirteen weeks in through the real upload.

Runs in .venv against a server that answers at --address, with HUBHELD_DATA naming the server's data folder.
"""

import argparse
import sys
from collections.abc import Iterator
from datetime import UTC, date, datetime, time
from pathlib import Path
from random import Random
from zoneinfo import ZoneInfo

from seed_demo import theatre_lists
from seed_demo.office import enrolment_code, hubheld
from seed_demo.story import MINUTES_A_CASE, START_HOUR, Operation, operations, past_list_dates
from seed_demo.tablet import Json, Tablet
from seed_demo.unit import PASSPHRASE, STAFF, TABLET, THEATRE, TIME_ZONE, UNIT, UNIT_NAME
from server.core import strict_json
from server.core.protocol import Protocol, load

ROOT = Path(__file__).resolve().parent.parent
PROTOCOL = ROOT / "shared" / "protocol" / "phaco-cataract.json"
SEED = 20_260_101
BRIEF_BEFORE_S = 1800


def main() -> int:
    """Loads everything; returns the exit status."""
    parser = argparse.ArgumentParser(prog="python -m seed_demo.load")
    parser.add_argument("--address", required=True)
    address = parser.parse_args().address
    days = past_list_dates(datetime.now(ZoneInfo(TIME_ZONE)).date())
    found_unit()
    theatre_lists.put_in(days)
    tablet = Tablet(address, Random(SEED))
    tablet.enrol(enrolment_code(), TABLET)
    for person in STAFF:
        if person.pin is not None:
            tablet.make_pin_key(person.code, person.pin, start_ms(days[0]))
    protocol = load(strict_json.parse(PROTOCOL.read_bytes(), depth_max=32))
    for day in days:
        tell(tablet, day, protocol)
        tablet.upload()
    return 0


def found_unit() -> None:
    """Founds the invented unit and adds its people."""
    unit = ("--unit", UNIT)
    hubheld("unit", "found", *unit, "--name", UNIT_NAME, "--time-zone", TIME_ZONE, typed=f"{PASSPHRASE}\n")
    people = "".join(f"{person.code},{person.role},{person.pin or ''}\n" for person in STAFF)
    hubheld("person", "add", *unit, typed=people)


def tell(tablet: Tablet, day: date, protocol: Protocol) -> None:
    """Records one list day on the tablet, operation by operation, as it would have been tapped.

    Surgeons sign whose key the tablet holds.
    """
    name = f"{UNIT}_{day.isoformat()}_{THEATRE}"
    begins_ms = start_ms(day)
    brief: Json = {"type": "step", "step": "team-brief", "list": name, "value": {}, "said_by": "surgeon"}
    tablet.record(brief, begins_ms - 1000 * BRIEF_BEFORE_S)
    for operation in operations(day):
        case = f"{UNIT}_{day.isoformat()}_{operation.reference}_{operation.plan['eye']}"
        case_ms = begins_ms + (operation.order - 1) * MINUTES_A_CASE * 60_000
        tablet.record(
            {"type": "case_opened", "case": case, **_opening(operation, day, name, protocol)}, case_ms - 60_000
        )
        for event, tapped_ms, ago_s in _events(operation, case, case_ms):
            text = event.pop("text", None)
            tablet.record(event, tapped_ms, ago_s, text)
        if operation.is_signed and operation.surgeon in tablet.pin_keys:
            signed_ms = max(tap.tapped_s for tap in operation.taps) * 1000 + case_ms - 20_000
            tablet.sign(case, operation.surgeon, signed_ms, protocol)


def start_ms(day: date) -> int:
    """When the list of a day begins, in ms."""
    moment = datetime.combine(day, time(START_HOUR), ZoneInfo(TIME_ZONE))
    return int(moment.astimezone(UTC).timestamp()) * 1000


def _opening(operation: Operation, day: date, list_name: str, protocol: Protocol) -> Json:
    return {
        "list": list_name,
        "slot": {"theatre": THEATRE, "order": operation.order},
        "date": day.isoformat(),
        "reference": operation.reference,
        "plan": operation.plan,
        "protocol": protocol.name,
        "unit_values": {"number": 1, "values": {}},
        "unit": UNIT,
        "time_zone": TIME_ZONE,
        "practice": False,
    }


def _events(operation: Operation, case: str, case_ms: int) -> Iterator[tuple[Json, int, int]]:
    """In the order in which they were tapped."""
    for tap in sorted(operation.taps, key=lambda tap: tap.tapped_s):
        event = {**tap.event, "case": case, "entered_by": "circulating"}
        yield event, case_ms + 1000 * tap.tapped_s, tap.ago_s


if __name__ == "__main__":
    sys.exit(main())
