"""Lays out today's list where it is not there yet, and says what a person needs to try the demo."""

import argparse
import sys
from datetime import datetime
from zoneinfo import ZoneInfo

from seed_demo import theatre_lists
from seed_demo.office import enrolment_code
from seed_demo.unit import PASSPHRASE, STAFF, TIME_ZONE, UNIT, UNIT_NAME


def main() -> int:
    """Importing today's list again changes nothing; prints codes, PINs and the passphrase."""
    parser = argparse.ArgumentParser(prog="python -m seed_demo.today")
    parser.add_argument("--address", required=True)
    address = parser.parse_args().address
    theatre_lists.put_in([datetime.now(ZoneInfo(TIME_ZONE)).date()])
    print(f"\n{UNIT_NAME}. Everything in it is invented: no real people, no real hospital.")
    print(f"  Open            {address.replace('127.0.0.1', 'localhost')}")
    print(f"  Enrolment code  {enrolment_code()}  (one tablet, ten minutes; another: hubheld enrol-code)")
    print(f"  Office          unit {UNIT}, passphrase {PASSPHRASE}")
    for person in STAFF:
        pin = f", PIN {person.pin}" if person.pin else ""
        print(f"  Staff code      {person.code}  {person.role.replace('_', ' ')}{pin}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
