"""The weekly files: RFC 4180 CSV in UTF-8, and a readme that says what stands in them and what must not be claimed.

No person, no staff code and no free text ever stands in one.
"""

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from decimal import ROUND_HALF_UP, Decimal

from server.core.weekly import CountRow

COUNT_COLUMNS = (
    "unit",
    "week",
    "protocol",
    "step",
    "kind",
    "grade",
    "events",
    "cases_with",
    "chances",
    "caught",
    "rate_per_100",
    "ci95_low",
    "ci95_high",
    "release",
)
RELEASE = "INTERNAL"
# Spreadsheets take a cell that begins so for a formula (OWASP ASVS 5.0, 1.2.10, and the full-width forms).
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "\0", " ", "\u00a0", "\ufeff", "＝", "＋", "－", "＠")
_DECIMALS = Decimal("0.01")


def counts_csv(unit: str, week: str, protocol: str, rows: Iterable[CountRow]) -> bytes:
    """The counts of one week, one row for every step, kind and grade with a chance."""
    return _csv(
        COUNT_COLUMNS,
        (
            (
                *map(guarded, (unit, week, protocol, row.step, row.kind, row.grade)),
                *map(str, (row.events, row.cases_with, row.chances, row.caught)),
                *map(shown, (row.rate_per_100, *row.interval)),
                RELEASE,
            )
            for row in rows
        ),
    )


def quality_csv(unit: str, week: str, quality: Mapping[str, int | Decimal | None]) -> bytes:
    """The quality counts of one week, in one row."""
    columns = ("unit", "week", *quality, "release")
    return _csv(columns, [(guarded(unit), guarded(week), *(_quality(value) for value in quality.values()), RELEASE)])


def shown(value: Decimal) -> str:
    """A rate or limit with two decimals, halves upwards."""
    return str(value.quantize(_DECIMALS, ROUND_HALF_UP))


def guarded(text: str) -> str:
    """Text that no spreadsheet takes for a formula; numbers are written as numbers and need no guard."""
    return f"'{text}" if text.startswith(_FORMULA) else text


def readme(unit: str, week: str, lines: Sequence[str]) -> bytes:
    """The text beside the files."""
    return ("\r\n".join([f"hubheld weekly counts, unit {unit}, week {week}, {RELEASE}", "", *lines]) + "\r\n").encode()


def _quality(value: int | Decimal | None) -> str:
    if value is None:
        return ""
    return shown(value) if isinstance(value, Decimal) else str(value)


def _csv(columns: Sequence[str], rows: Iterable[Sequence[str]]) -> bytes:
    file = io.StringIO(newline="")
    writer = csv.writer(file, lineterminator="\r\n")
    writer.writerow(columns)
    writer.writerows(rows)
    return file.getvalue().encode()
