"""Weeks and local times follow ISO 8601 and the IANA time zone tables.

Calendar rows: ISO 8601 as computed by the standard library and by hand. Zone rows: IANA tzdata 2026.
"""

from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.core.errors import InvalidInput
from server.core.instant import Week, local_text, parse_week, week_limits_ms, week_of, zone_named

HOUR_MS = 3_600_000


def ms(text: str) -> int:
    moment = datetime.fromisoformat(text).astimezone(UTC)
    return (moment - datetime(1970, 1, 1, tzinfo=UTC)) // timedelta(milliseconds=1)


DAY_WEEKS = [
    ("2008-12-29", "2009-W01"),
    ("2010-01-03", "2009-W53"),
    ("2015-12-31", "2015-W53"),
    ("2016-01-03", "2015-W53"),
    ("2018-12-31", "2019-W01"),
    ("2020-12-31", "2020-W53"),
    ("2021-01-03", "2020-W53"),
    ("2021-01-04", "2021-W01"),
    ("2023-01-01", "2022-W52"),
    ("2024-12-30", "2025-W01"),
    ("2025-12-29", "2026-W01"),
    ("2026-12-28", "2026-W53"),
    ("2027-01-03", "2026-W53"),
    ("2027-01-04", "2027-W01"),
    ("2028-01-02", "2027-W52"),
    ("2033-01-02", "2032-W53"),
]


@pytest.mark.parametrize(("day", "week"), DAY_WEEKS)
def test_days_at_the_turn_of_a_year_lie_in_their_iso_week(day: str, week: str) -> None:
    for clock in ("00:00:00.000", "12:00:00.000", "23:59:59.999"):
        assert str(week_of(ms(f"{day}T{clock}+00:00"), UTC)) == week
    assert parse_week(week).monday <= date.fromisoformat(day) <= parse_week(week).sunday


EDGE_MOMENTS = [
    ("2026-03-29T23:30:00Z", "Europe/London", "2026-W14"),
    ("2026-03-29T23:30:00Z", "UTC", "2026-W13"),
    ("2026-10-25T23:30:00Z", "Europe/London", "2026-W43"),
    ("2026-01-04T11:00:00Z", "Pacific/Auckland", "2026-W02"),
    ("2026-01-04T10:59:59Z", "Pacific/Auckland", "2026-W01"),
    ("2026-01-04T18:30:00Z", "Asia/Kolkata", "2026-W02"),
    ("2026-01-04T18:29:59Z", "Asia/Kolkata", "2026-W01"),
    ("2026-01-04T18:15:00Z", "Asia/Kathmandu", "2026-W02"),
    ("2027-01-04T04:59:59Z", "America/New_York", "2026-W53"),
    ("2027-01-03T10:00:00Z", "Pacific/Kiritimati", "2027-W01"),
]


@pytest.mark.parametrize(("moment", "zone", "week"), EDGE_MOMENTS)
def test_week_is_that_of_the_local_calendar(moment: str, zone: str, week: str) -> None:
    assert str(week_of(ms(moment), zone_named(zone))) == week


WEEK_HOURS = [
    ("Europe/London", "2026-W13", 167),
    ("Europe/London", "2026-W43", 169),
    ("America/New_York", "2026-W10", 167),
    ("America/New_York", "2026-W44", 169),
    ("Australia/Sydney", "2026-W14", 169),
    ("Australia/Sydney", "2026-W40", 167),
    ("Australia/Lord_Howe", "2026-W14", 168.5),
    ("Africa/Cairo", "2026-W17", 167),
    ("Asia/Kolkata", "2026-W13", 168),
]


@pytest.mark.parametrize(("zone", "week", "hours"), WEEK_HOURS)
def test_week_is_as_long_as_the_clock_changes_make_it(zone: str, week: str, hours: float) -> None:
    first_ms, after_ms = week_limits_ms(parse_week(week), zone_named(zone))
    assert after_ms - first_ms == hours * HOUR_MS


MONDAY_MIDNIGHTS = [
    # Clocks went from 00:00 to 01:00: that Monday began at 01:00.
    ("Africa/Casablanca", "2009-W23", "2009-06-01 01:00 +01:00"),
    ("Asia/Tehran", "2016-W12", "2016-03-21 01:00 +04:30"),
    # Clocks went from 01:00 back to 00:00: that Monday began at the first of its two midnights.
    ("Asia/Jerusalem", "2001-W39", "2001-09-24 00:00 +03:00"),
]


@pytest.mark.parametrize(("zone", "week", "start"), MONDAY_MIDNIGHTS)
def test_week_begins_at_the_first_moment_of_monday(zone: str, week: str, start: str) -> None:
    first_ms, _ = week_limits_ms(parse_week(week), zone_named(zone))
    assert local_text(first_ms, zone_named(zone)) == start


W53_YEARS = {2004, 2009, 2015, 2020, 2026, 2032, 2037, 2043, 2048}


@pytest.mark.parametrize("year", range(2000, 2051))
def test_week_53_exists_only_in_long_years(year: int) -> None:
    if year in W53_YEARS:
        assert parse_week(f"{year}-W53") == Week(year, 53)
    else:
        with pytest.raises(InvalidInput, match=f"{year} has 52 weeks"):
            parse_week(f"{year}-W53")


@pytest.mark.parametrize(
    "text",
    [
        "2026-W00",
        "2026-W54",
        "2026-48",
        "2026W48",
        "2026-w48",
        "2026-W4",
        "26-W48",
        "2026-W48-1",
        "",
        " 2026-W48",
        "9999-W01",
        "٢٠٢٦-W48",
    ],
)
def test_other_text_is_no_week(text: str) -> None:
    with pytest.raises(InvalidInput, match="expected a"):
        parse_week(text)


@pytest.mark.parametrize(
    "name", ["", "Europe", "Mars/Olympus", "../../etc/passwd", "/etc/localtime", "Europe/London\0", "Köln"]
)
def test_unknown_time_zone_is_refused(name: str) -> None:
    with pytest.raises(InvalidInput, match="IANA"):
        zone_named(name)


def test_moment_outside_the_calendar_belongs_to_no_week() -> None:
    kiritimati, samoa = zone_named("Pacific/Kiritimati"), zone_named("Pacific/Pago_Pago")
    for at_ms in (-1, -(2**53), 2**53, 253_402_300_800_000):
        assert week_of(at_ms, kiritimati) is None
        assert week_of(at_ms, samoa) is None
        assert local_text(at_ms, samoa) == f"{at_ms} ms"
    assert week_of(0, samoa) == Week(1970, 1)


def test_repeated_hour_is_told_apart_by_its_offset() -> None:
    london = zone_named("Europe/London")
    assert local_text(ms("2026-10-25T00:30:00Z"), london) == "2026-10-25 01:30 +01:00"
    assert local_text(ms("2026-10-25T01:30:00Z"), london) == "2026-10-25 01:30 +00:00"


ZONES = [
    "Europe/London",
    "America/New_York",
    "America/Havana",
    "America/Santiago",
    "Africa/Cairo",
    "Asia/Beirut",
    "Asia/Amman",
    "Asia/Kathmandu",
    "Australia/Lord_Howe",
    "Pacific/Chatham",
    "Pacific/Apia",
    "UTC",
]


@given(st.integers(40_000_000_000, 4_000_000_000_000), st.sampled_from(ZONES))
def test_every_moment_lies_between_the_limits_of_its_week(at_ms: int, name: str) -> None:
    zone = zone_named(name)
    week = week_of(at_ms, zone)
    assert week is not None
    first_ms, after_ms = week_limits_ms(week, zone)
    assert first_ms <= at_ms < after_ms
    assert week_of(first_ms, zone) == week
    assert week_of(first_ms - 1, zone) != week
    assert week_of(after_ms, zone) != week
    assert week_limits_ms(parse_week(str(week)), zone) == (first_ms, after_ms)
