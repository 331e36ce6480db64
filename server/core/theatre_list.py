"""The theatre list as CSV: strict text in, lists of planned operations out, or every bad cell named.

A byte order mark, as spreadsheets write it, is dropped; blanks around a cell are not: they are named as bad.
No patient identifiers: a reference that could be one is refused, with the reason. Amounts are read exactly,
with a point or a comma as decimal mark, into whole hundredths of a dioptre and micrometres.
"""

import csv
import io
import json
import re
from collections.abc import Callable, Collection
from dataclasses import dataclass
from datetime import date
from typing import Any

from server.core.errors import InvalidInput

HEADER = (
    "theatre",
    "date",
    "order",
    "eye",
    "anaesthesia",
    "red_reflex",
    "lens_model",
    "power_d",
    "optic_mm",
    "dry_state_hydrophilic",
    "drug",
    "reference",
)
POWER_CDPT = (-1000, 4000, 25)
OPTIC_UM = (4000, 8000, 1)
REFERENCE_RULE = "4 to 12 of A-Z and 0-9, at least two letters, no run of more than four digits"
ONCE = {"order": "each order once in a list", "reference": "each reference and eye once in a day"}

_THEATRE = re.compile(r"[a-z0-9-]{1,32}")
_ORDER = re.compile(r"[1-9][0-9]{0,2}")
_AMOUNT = re.compile(r"([+-]?)([0-9]{1,3})(?:[.,]([0-9]{1,3}))?")
_MODEL = re.compile(r"(?! )[A-Za-z0-9 ./+-]{1,40}(?<! )")
_REFERENCE = re.compile(r"[A-Z0-9]{4,12}")
_LINES_MAX = 2000


@dataclass(frozen=True, slots=True)
class ListRow:
    """One planned operation of a theatre list; `line` is where it stands in the file, the header being line 1."""

    line: int
    theatre: str
    date: str
    order: int
    eye: str
    reference: str
    plan: dict[str, Any]


@dataclass(frozen=True, slots=True)
class BadCell:
    """One cell that cannot be used. `line` counts from 1, the header being line 1."""

    line: int
    column: str
    found: str
    expected: str


class BadList(InvalidInput):
    """A theatre list of which nothing was taken; `cells` names every bad cell."""

    def __init__(self, cells: list[BadCell]) -> None:
        first = cells[0]
        super().__init__(f"line {first.line}, {first.column}", first.found, first.expected)
        self.cells = cells


def parse(data: bytes, drugs: Collection[str]) -> list[ListRow]:
    """Reads a whole theatre list. Raises BadList that names every bad cell; then nothing of it counts."""
    lines = _lines(_decode(data))
    header = lines[0][1] if lines else []
    if header != list(HEADER):
        held = json.dumps(",".join(header)[:120], ensure_ascii=False) if header else "an empty file"
        raise BadList([BadCell(1, "header", held, ",".join(HEADER))])
    bad: list[BadCell] = []
    found = [(line, _cells(line, cells, drugs, bad)) for line, cells in lines[1:]]
    if not found:
        bad.append(BadCell(2, "row", "nothing", "at least one operation"))
    bad += _repeated(found)
    if bad:
        raise BadList(sorted(bad, key=lambda cell: cell.line))
    return [_planned(line, values) for line, values in found]


def _lines(text: str) -> list[tuple[int, list[str]]]:
    """The rows of a CSV file (RFC 4180) with their line numbers; blank lines are left out."""
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    lines = []
    first = 1  # a quoted cell may hold line ends: a row is named by its first line
    try:
        for cells in reader:
            if cells:
                lines.append((first, cells))
            first = reader.line_num + 1
    except csv.Error as problem:
        raise BadList([BadCell(first, "row", str(problem), "CSV as RFC 4180 has it")]) from None
    if len(lines) > _LINES_MAX:
        raise BadList([BadCell(_LINES_MAX + 1, "row", f"{len(lines)} lines", f"at most {_LINES_MAX}")])
    return lines


def _decode(data: bytes) -> str:
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        line = data.count(b"\n", 0, problem.start) + 1
        raise BadList([BadCell(line, "text", "bytes that are not UTF-8", "a file saved as UTF-8")]) from None


def _cells(line: int, cells: list[str], drugs: Collection[str], bad: list[BadCell]) -> dict[str, Any]:
    """The values of one row by column; None for each that is bad, which is also added to `bad`."""
    if len(cells) != len(HEADER):
        bad.append(BadCell(line, "row", f"{len(cells)} cells", f"{len(HEADER)} cells"))
        return dict.fromkeys(HEADER)
    values: dict[str, Any] = {}
    for column, cell in zip(HEADER, cells, strict=True):
        values[column], expected = _CELLS[column](cell, drugs)
        if values[column] is None:
            bad.append(BadCell(line, column, _shown(cell), expected))
    return values


def _planned(line: int, values: dict[str, Any]) -> ListRow:
    lens = {
        "model": values["lens_model"],
        "power_cdpt": values["power_d"],
        "optic_um": values["optic_mm"],
        "dry_state_hydrophilic": values["dry_state_hydrophilic"],
    }
    plan = {name: values[name] for name in ("eye", "anaesthesia", "red_reflex")}
    plan |= {"lens": lens, "drug": values["drug"]}
    place = (values["theatre"], values["date"], values["order"], values["eye"], values["reference"])
    return ListRow(line, *place, plan)


def _shown(cell: str) -> str:
    return "nothing" if not cell.strip() else json.dumps(cell[:40], ensure_ascii=False)


_Cell = Callable[[str, Collection[str]], tuple[Any, str]]


def _choice(*words: str) -> _Cell:
    return lambda cell, _drugs: (cell if cell in words else None, "one of " + ", ".join(words))


def _matching(pattern: re.Pattern[str], expected: str) -> _Cell:
    return lambda cell, _drugs: (cell if pattern.fullmatch(cell) else None, expected)


def _date(cell: str, _drugs: Collection[str]) -> tuple[str | None, str]:
    expected = "a day as YYYY-MM-DD"
    try:
        return (cell if date.fromisoformat(cell).isoformat() == cell else None), expected
    except ValueError:
        return None, expected


def _order(cell: str, _drugs: Collection[str]) -> tuple[int | None, str]:
    return (int(cell) if _ORDER.fullmatch(cell) else None), "a whole number from 1 to 999"


def _amount(places: int, limits: tuple[int, int, int], expected: str) -> _Cell:
    low, high, step = limits

    def read(cell: str, _drugs: Collection[str]) -> tuple[int | None, str]:
        match = _AMOUNT.fullmatch(cell)
        if match is None or len(match[3] or "") > places:
            return None, expected
        whole = int(match[2] + (match[3] or "").ljust(places, "0"))
        value = -whole if match[1] == "-" else whole
        return (value if low <= value <= high and value % step == 0 else None), expected

    return read


def _boolean(cell: str, _drugs: Collection[str]) -> tuple[bool | None, str]:
    return {"true": True, "yes": True, "false": False, "no": False}.get(cell.lower()), "true, false, yes or no"


def _drug(cell: str, drugs: Collection[str]) -> tuple[str | None, str]:
    return (cell if cell in drugs else None), "a drug of the unit's list: " + ", ".join(drugs)


def reference_problem(reference: str) -> str | None:
    """None for a usable reference; else what is wrong with it, in plain words."""
    if not _REFERENCE.fullmatch(reference):
        return REFERENCE_RULE
    if sum(character.isalpha() for character in reference) < 2:
        return f"at least two letters, since a number could be a patient's ({REFERENCE_RULE})"
    if re.search(r"[0-9]{5}", reference):
        return f"no run of more than four digits, since it could be a patient's number ({REFERENCE_RULE})"
    return None


def _reference(cell: str, _drugs: Collection[str]) -> tuple[str | None, str]:
    problem = reference_problem(cell)
    return (cell, "") if problem is None else (None, problem)


_CELLS: dict[str, _Cell] = {
    "theatre": _matching(_THEATRE, "1 to 32 of a-z, 0-9 and -"),
    "date": _date,
    "order": _order,
    "eye": _choice("right", "left"),
    "anaesthesia": _choice("topical", "block", "general"),
    "red_reflex": _choice("good", "poor"),
    "lens_model": _matching(_MODEL, "a lens model: 1 to 40 of A-Z, a-z, 0-9, blank and ./+-, no blank at an end"),
    "power_d": _amount(2, POWER_CDPT, "dioptres from -10.00 to +40.00 in quarters"),
    "optic_mm": _amount(3, OPTIC_UM, "millimetres from 4 to 8"),
    "dry_state_hydrophilic": _boolean,
    "drug": _drug,
    "reference": _reference,
}


def _repeated(found: list[tuple[int, dict[str, Any]]]) -> list[BadCell]:
    """The order is unique in a list; reference and eye are unique in a day.

    In a day, not only in a list: a case is known by unit, date, reference and eye, so that two theatres with the
    same ones would make one case out of two operations.
    """
    bad: list[BadCell] = []
    orders: dict[tuple[str, ...], int] = {}
    eyes: dict[tuple[str, ...], int] = {}
    for line, values in found:
        for column, names, seen in (
            ("order", ("theatre", "date", "order"), orders),
            ("reference", ("date", "reference", "eye"), eyes),
        ):
            key = tuple(values[name] for name in names)
            if None in key:
                continue
            if key in seen:
                bad.append(BadCell(line, column, f"{_words(values, column)}, as in line {seen[key]}", ONCE[column]))
            seen.setdefault(key, line)
    return bad


def _words(values: dict[str, Any], column: str) -> str:
    return f"{values[column]}, {values['eye']} eye" if column == "reference" else str(values[column])
