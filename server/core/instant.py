"""Instants and ISO weeks in a unit's time zone: which week a moment lies in, and where a week begins and ends.

Weeks are those of ISO 8601: Monday to Sunday, the first one holding the year's first Thursday. The time
zone tables are those of the installed `tzdata` release; nothing else outside the arguments is read.
"""

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, tzinfo
from zoneinfo import ZoneInfo

from server.core.errors import InvalidInput

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
# Beyond this the calendar of the standard library ends; a moment out there belongs to no week.
_LATEST = datetime(9998, 12, 31, tzinfo=UTC)
_LATEST_MS = (_LATEST - _EPOCH) // timedelta(milliseconds=1)
_WEEK = re.compile(r"([0-9]{4})-W([0-9]{2})")
_ZONE = re.compile(r"[A-Za-z0-9_+-]+(/[A-Za-z0-9_+-]+)*")


@dataclass(frozen=True, order=True)
class Week:
    """One ISO week; `year` is the week's year, which is not always that of its days."""

    year: int
    number: int

    def __str__(self) -> str:
        """Gives the form `2026-W48`."""
        return f"{self.year:04}-W{self.number:02}"

    @property
    def monday(self) -> date:
        """First day of the week."""
        return date.fromisocalendar(self.year, self.number, 1)

    @property
    def sunday(self) -> date:
        """Last day of the week."""
        return date.fromisocalendar(self.year, self.number, 7)


def zone_named(name: str) -> ZoneInfo:
    """Returns the time zone of an IANA name such as `Europe/London`. Raises InvalidInput for any other text."""
    try:
        if _ZONE.fullmatch(name):
            return ZoneInfo(name)
    except (ValueError, OSError, KeyError):  # the three ways in which the tables say "no such zone"
        pass
    raise InvalidInput("time zone", repr(name), "a name from the IANA list, such as Europe/London")


def parse_week(text: str) -> Week:
    """Reads `2026-W48`. Raises InvalidInput for another form, and for a week that its year does not have."""
    match = _WEEK.fullmatch(text)
    if match is None or not 1970 <= int(match[1]) <= 9998:
        raise InvalidInput("week", repr(text), "a year and an ISO week, such as 2026-W48")
    year, number = int(match[1]), int(match[2])
    last = date(year, 12, 28).isocalendar().week  # 28 December always lies in the last week
    if not 1 <= number <= last:
        raise InvalidInput("week", text, f"a week from {year}-W01 to {year}-W{last} ({year} has {last} weeks)")
    return Week(year, number)


def week_of(at_ms: int, zone: tzinfo) -> Week | None:
    """The week in which `at_ms` lies by the zone's own calendar; None for a moment outside 1970 to 9998."""
    if not 0 <= at_ms < _LATEST_MS:
        return None
    year, number, _ = _local(at_ms, zone).isocalendar()
    return Week(year, number)


def week_limits_ms(week: Week, zone: tzinfo) -> tuple[int, int]:
    """First millisecond of the week and first millisecond after it, by the zone's own calendar."""
    return _day_start_ms(week.monday, zone), _day_start_ms(week.sunday + timedelta(days=1), zone)


def local_text(at_ms: int, zone: tzinfo) -> str:
    """Local time with its offset, to the minute: `2026-11-25 09:07 +00:00`; a moment without a calendar in ms."""
    if not 0 <= at_ms < _LATEST_MS:
        return f"{at_ms} ms"
    offset = f"{_local(at_ms, zone):%z}"
    return f"{_local(at_ms, zone):%Y-%m-%d %H:%M} {offset[:3]}:{offset[3:5]}"


def _local(at_ms: int, zone: tzinfo) -> datetime:
    return (_EPOCH + timedelta(milliseconds=at_ms)).astimezone(zone)


def _day_start_ms(day: date, zone: tzinfo) -> int:
    # Where clocks jump over midnight, 00:00 read with the offset before the jump is the jump itself: the day's
    # first moment. Where midnight comes twice, fold 0 is the earlier one. Both are what PEP 495 defines.
    start = datetime(day.year, day.month, day.day, tzinfo=zone)
    return (start.astimezone(UTC) - _EPOCH) // timedelta(milliseconds=1)
