"""The weekly files are RFC 4180 CSV in UTF-8 that no spreadsheet takes for a formula."""

from __future__ import annotations

import csv
import io
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.core.export import COUNT_COLUMNS, counts_csv, guarded, quality_csv, readme, shown
from server.core.weekly import CountRow

ROW = CountRow("rhexis", "late_entry", "G1", 2, 1, 40, 0, Decimal("2.5"), (Decimal("0.4411"), Decimal("12.88")))


def test_a_row_is_written_with_its_columns_in_order_and_two_decimals():
    assert counts_csv("north", "2026-W48", "phaco-cataract@1", [ROW]) == (
        b"unit,week,protocol,step,kind,grade,events,cases_with,chances,caught,rate_per_100,ci95_low,ci95_high,release\r\n"
        b"north,2026-W48,phaco-cataract@1,rhexis,late_entry,G1,2,1,40,0,2.50,0.44,12.88,INTERNAL\r\n"
    )


def test_quality_figures_are_one_row_and_what_cannot_be_told_is_blank():
    found = quality_csv("north", "2026-W48", {"cases_listed": 3, "late_pct": Decimal(100) / 3, "live_pct": None})
    assert found == (
        b"unit,week,cases_listed,late_pct,live_pct,release\r\nnorth,2026-W48,3,33.33,,INTERNAL\r\n"
    )  # fmt: skip


@pytest.mark.parametrize(
    ("value", "text"),
    [("0", "0.00"), ("100", "100.00"), ("2.505", "2.51"), ("0.004", "0.00"), ("0.005", "0.01"), ("12.8799", "12.88")],
)
def test_decimals_are_fixed_and_halves_go_up(value, text):
    assert shown(Decimal(value)) == text


# OWASP ASVS 5.0.0, 1.2.10: = + - @ tab and NUL at the start; line ends, full-width forms and blanks added here.
@pytest.mark.parametrize(
    "text",
    ["=1+1", "+44 1", "-5", "@x", "\tx", "\rx", "\nx", "\0x", " =1+1", "\ufeff=1", "＝A1", "＋1", "－1", "＠x",
     '=HYPERLINK("http://x","y")'],
)  # fmt: skip
def test_text_that_a_spreadsheet_would_run_is_quoted(text):
    assert guarded(text) == "'" + text


@pytest.mark.parametrize("text", ["plain", "'quoted", "a=b", "5-6", "", "2026-W48", "phaco-cataract@1"])
def test_other_text_stays_as_it_is(text):
    assert guarded(text) == text


@given(st.text(max_size=20), st.text(max_size=20))
def test_any_text_comes_back_through_a_csv_reader(unit, step):
    row = CountRow(step, "late_entry", "G1", 0, 0, 1, 0, Decimal(0), (Decimal(0), Decimal(79)))
    content = counts_csv(unit, "2026-W48", "p@1", [row]).decode()
    header, found = csv.reader(io.StringIO(content, newline=""), strict=True)
    assert tuple(header) == COUNT_COLUMNS
    assert (found[0], found[3]) == (guarded(unit), guarded(step))


# RFC 4180 section 2, rules 4 to 7.
@pytest.mark.parametrize(
    ("unit", "cell"),
    [("a,b", b'"a,b"'), ('say "x"', b'"say ""x"""'), ("two\r\nlines", b'"two\r\nlines"'), ("trail ", b"trail "),
     ("caf\u00e9 \u00b5m", "caf\u00e9 \u00b5m".encode())],
)  # fmt: skip
def test_cells_are_quoted_as_rfc_4180_has_it(unit, cell):
    assert quality_csv(unit, "2026-W48", {}) == b"unit,week,release\r\n" + cell + b",2026-W48,INTERNAL\r\n"


def test_the_readme_names_unit_week_and_release_first():
    assert readme("north", "2026-W48", ["one", "two"]) == (
        b"hubheld weekly counts, unit north, week 2026-W48, INTERNAL\r\n\r\none\r\ntwo\r\n"
    )
