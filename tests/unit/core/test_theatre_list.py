"""A theatre list is read exactly, or every bad cell of it is named by line and column and nothing is taken."""

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.core.theatre_list import HEADER, BadCell, BadList, ListRow, parse, reference_problem

DRUGS = ("cefuroxime", "moxifloxacin")
GOOD = {
    "theatre": "theatre-2",
    "date": "2026-11-25",
    "order": "1",
    "eye": "right",
    "anaesthesia": "topical",
    "red_reflex": "good",
    "lens_model": "AURA-1",
    "power_d": "21.50",
    "optic_mm": "6.0",
    "dry_state_hydrophilic": "no",
    "drug": "cefuroxime",
    "reference": "KTR7",
}


def file_of(*rows: dict[str, str]) -> bytes:
    text = io.StringIO(newline="")
    writer = csv.DictWriter(text, HEADER, lineterminator="\r\n")
    writer.writeheader()
    writer.writerows({**GOOD, **row} for row in rows)
    return text.getvalue().encode()


def cells_of(data: bytes) -> list[BadCell]:
    with pytest.raises(BadList) as caught:
        parse(data, DRUGS)
    return caught.value.cells


def places(data: bytes) -> list[tuple[int, str]]:
    return [(cell.line, cell.column) for cell in cells_of(data)]


def test_a_row_becomes_a_planned_operation_in_whole_units():
    plan = {
        "eye": "right",
        "anaesthesia": "topical",
        "red_reflex": "good",
        "lens": {"model": "AURA-1", "power_cdpt": 2150, "optic_um": 6000, "dry_state_hydrophilic": False},
        "drug": "cefuroxime",
    }
    assert parse(file_of({}), DRUGS) == [ListRow(2, "theatre-2", "2026-11-25", 1, "right", "KTR7", plan)]


@pytest.mark.parametrize(
    ("typed", "power_cdpt"),
    [("21.5", 2150), ("21,5", 2150), ("+21.50", 2150), ("-1.25", -125), ("-10", -1000), ("40.00", 4000),
     ("0", 0), ("-0,25", -25), ("0.25", 25)],
)  # fmt: skip
def test_lens_power_is_read_exactly_with_its_sign(typed, power_cdpt):
    assert parse(file_of({"power_d": typed}), DRUGS)[0].plan["lens"]["power_cdpt"] == power_cdpt


@pytest.mark.parametrize(
    "typed",
    ["", "21.3", "21.51", "21.500", "-10.25", "40.25", "1e1", "twenty", "21.", ".5", "21 ", "+-1", "−1.25", "2１"],
)
def test_other_lens_powers_are_refused(typed):
    assert places(file_of({"power_d": typed})) == [(2, "power_d")]


@pytest.mark.parametrize(
    ("typed", "optic_um"), [("6", 6000), ("5,5", 5500), ("5.75", 5750), ("6.125", 6125), ("8", 8000)]
)
def test_optic_is_read_in_micrometres(typed, optic_um):
    assert parse(file_of({"optic_mm": typed}), DRUGS)[0].plan["lens"]["optic_um"] == optic_um


@pytest.mark.parametrize("typed", ["3.999", "8.001", "60", "-6", "6000", "6 mm", ""])
def test_other_optics_are_refused(typed):
    assert places(file_of({"optic_mm": typed})) == [(2, "optic_mm")]


@pytest.mark.parametrize(
    ("column", "typed"),
    [
        ("theatre", "Theatre 2"),
        ("theatre", "t" * 33),
        ("theatre", ""),
        ("date", "25/11/2026"),
        ("date", "2026-02-30"),
        ("date", "20261125"),
        ("date", "2026-W48-3"),
        ("order", "0"),
        ("order", "-1"),
        ("order", "1.5"),
        ("order", "01"),
        ("order", "1000"),
        ("eye", "R"),
        ("eye", "Right"),
        ("eye", " right"),
        ("eye", "both"),
        ("anaesthesia", "local"),
        ("red_reflex", "none"),
        ("lens_model", ""),
        ("lens_model", "AURA-1 "),
        ("lens_model", "=1+1"),
        ("lens_model", "M" * 41),
        ("dry_state_hydrophilic", "maybe"),
        ("dry_state_hydrophilic", ""),
        ("drug", "vancomycin"),
        ("drug", "Cefuroxime"),
    ],
)
def test_a_cell_outside_what_is_possible_is_named(column, typed):
    (cell,) = cells_of(file_of({}, {column: typed, "order": typed if column == "order" else "2", "reference": "ZZ1Z"}))
    assert (cell.line, cell.column) == (3, column)
    assert cell.expected
    assert cell.found == ("nothing" if typed == "" else f'"{typed[:40]}"')


@pytest.mark.parametrize(("typed", "meant"), [("true", True), ("YES", True), ("false", False), ("No", False)])
def test_hydrophilic_is_a_plain_yes_or_no(typed, meant):
    row = parse(file_of({"dry_state_hydrophilic": typed}), DRUGS)[0]
    assert row.plan["lens"]["dry_state_hydrophilic"] is meant


@pytest.mark.parametrize("reference", ["KTR7", "AB12", "A1B2", "ABCD", "AB1234CD5678", "1234AB"])
def test_a_reference_that_is_no_number_is_taken(reference):
    assert reference_problem(reference) is None
    assert parse(file_of({"reference": reference}), DRUGS)[0].reference == reference


@pytest.mark.parametrize(
    ("reference", "reason"),
    [
        ("1234567", "at least two letters"),
        ("A123", "at least two letters"),
        ("AB12345", "four digits"),
        ("12345AB", "four digits"),
        ("9434765919", "at least two letters"),
        ("AB1", "4 to 12"),
        ("ABCDEFGHIJKLM", "4 to 12"),
        ("ktr7", "4 to 12"),
        ("KT R7", "4 to 12"),
        ("KTR-7", "4 to 12"),
        (" KTR7", "4 to 12"),
        ("KÄR7", "4 to 12"),
        ("KTR٧", "4 to 12"),
        ("", "4 to 12"),
    ],
)
def test_a_reference_that_may_be_a_patients_is_refused_with_the_reason(reference, reason):
    (cell,) = cells_of(file_of({"reference": reference}))
    assert (cell.line, cell.column) == (2, "reference")
    assert reason in cell.expected


def test_every_bad_cell_of_the_file_is_named_at_once():
    data = file_of(
        {"eye": "R", "power_d": "21.3"},
        {"order": "2", "reference": "GOOD2"},
        {"order": "2", "reference": "12345", "drug": "none"},
    ) + b"theatre-2,2026-11-25\r\n"  # fmt: skip
    assert places(data) == [
        (2, "eye"), (2, "power_d"), (4, "drug"), (4, "reference"), (4, "order"), (5, "row"),
    ]  # fmt: skip


def test_reference_and_eye_stand_once_in_a_day():
    both_eyes = file_of({}, {"order": "2", "eye": "left"})
    assert [row.eye for row in parse(both_eyes, DRUGS)] == ["right", "left"]
    next_day = file_of({}, {"date": "2026-11-26"})
    assert len(parse(next_day, DRUGS)) == 2
    (cell,) = cells_of(file_of({}, {"order": "2"}))
    assert (cell.line, cell.column, cell.found) == (3, "reference", "KTR7, right eye, as in line 2")
    other_theatre = file_of({}, {"theatre": "theatre-3"})
    assert places(other_theatre) == [(3, "reference")]


def test_order_stands_once_in_a_list():
    assert places(file_of({}, {"reference": "ZZ1Z"})) == [(3, "order")]
    assert len(parse(file_of({}, {"reference": "ZZ1Z", "theatre": "theatre-3"}), DRUGS)) == 2


def test_a_byte_order_mark_and_blank_lines_are_passed_over():
    assert len(parse(b"\xef\xbb\xbf" + file_of({}) + b"\r\n\r\n", DRUGS)) == 1


def test_line_ends_of_any_kind_are_read():
    for end in (b"\n", b"\r"):
        assert len(parse(file_of({}).replace(b"\r\n", end), DRUGS)) == 1


def test_a_row_with_a_line_end_in_a_cell_is_named_by_its_first_line():
    data = file_of({"lens_model": "AURA\n1"}, {"eye": "R", "order": "2", "reference": "ZZ1Z"})
    assert places(data) == [(2, "lens_model"), (4, "eye")]


@pytest.mark.parametrize(
    ("data", "line", "column", "found"),
    [
        (b"", 1, "header", "an empty file"),
        (b"theatre,date\r\n", 1, "header", '"theatre,date"'),
        (";".join(HEADER).encode(), 1, "header", ";".join(HEADER)),
        (",".join([*HEADER, "name"]).encode(), 1, "header", '"theatre,date,'),
        (",".join(HEADER).upper().encode(), 1, "header", '"THEATRE,DATE,'),
        (",".join(HEADER).encode(), 2, "row", "nothing"),
        (file_of({}) + b"\xff\xfe", 3, "text", "bytes that are not UTF-8"),
        (file_of({}) + b'a,"b', 3, "row", "unexpected end of data"),
        (file_of({}) + b'a,"b"c', 3, "row", "expected after"),
    ],
)
def test_a_file_that_is_no_theatre_list_says_what_is_wrong_with_it(data, line, column, found):
    (cell,) = cells_of(data)
    assert (cell.line, cell.column) == (line, column)
    assert found in cell.found


def test_drugs_come_from_the_units_list():
    (row,) = parse(file_of({"drug": "levofloxacin"}), ["levofloxacin"])
    assert row.plan["drug"] == "levofloxacin"
    with pytest.raises(BadList, match=r"line 2, drug: found .*cefuroxime.*levofloxacin"):
        parse(file_of({}), ["levofloxacin"])


@given(st.lists(st.sampled_from(["", ",", '"', "\r\n", "\n", "right", "AB12", "0", "\0", "1,5", "﻿", "𝟘"]), max_size=40))
def test_any_text_is_read_or_refused_with_a_place(parts):
    data = ",".join(HEADER).encode() + b"\r\n" + "".join(parts).encode()
    cells: list[BadCell] = []
    try:
        rows = parse(data, DRUGS)
    except BadList as refused:
        rows, cells = [], refused.cells
    assert bool(rows) != bool(cells)
    assert all(cell.line >= 2 and cell.found and cell.expected for cell in cells)


@given(st.integers(-40, 160), st.sampled_from([".", ","]))
def test_every_quarter_of_a_dioptre_comes_back_exactly(quarters, mark):
    whole, rest = divmod(abs(quarters) * 25, 100)
    typed = f"{'-' if quarters < 0 else ''}{whole}{mark}{rest:02}"
    assert parse(file_of({"power_d": typed}), DRUGS)[0].plan["lens"]["power_cdpt"] == quarters * 25
