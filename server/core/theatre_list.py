"""The theatre list as CSV: strict text in, lists of planned operations out, or every bad cell named.

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

_THEATRE = re.compile(r"[a-z0-9-]{1,32}")
_ORDER = re.compile(r"[1-9][0-9]{0,2}")
_AMOUNT = re.compile(r"([+-]?)([0-9]{1,3})(?:[.,]([0-9]{1,3}))?")
_REFERENCE = re.compile(r"[A-Z0-9]{4,12}")
_LINES_MAX = 2000


@dataclass(frozen=True, slots=True)
class ListRow:
    """One planned operation of a theatre list."""

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
        found = json.dumps(",".join(header)[:120], ensure_ascii=False) if header else "an empty file"
        raise BadList([BadCell(1, "header", found, ",".join(HEADER))])
    bad: list[BadCell] = []
    rows = [(line, row) for line, cells in lines[1:] if (row := _row(line, cells, drugs, bad))]
    if not bad and not rows:
        bad.append(BadCell(2, "row", "nothing", "at least one operation"))
    bad = bad or _repeated(rows)
    if bad:
        raise BadList(bad)
    return [row for _line, row in rows]


def _lines(text: str) -> list[tuple[int, list[str]]]:
    """The rows of a CSV file (RFC 4180) with their line numbers; blank lines are left out."""
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    try:
        lines = [(reader.line_num, cells) for cells in reader if cells]
    except csv.Error as problem:
        raise BadList([BadCell(reader.line_num, "row", str(problem), "CSV as RFC 4180 has it")]) from None
    if len(lines) > _LINES_MAX:
        raise BadList([BadCell(_LINES_MAX + 1, "row", f"{len(lines)} lines", f"at most {_LINES_MAX}")])
    return lines


def _decode(data: bytes) -> str:
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        line = data.count(b"\n", 0, problem.start) + 1
        raise BadList([BadCell(line, "text", "bytes that are not UTF-8", "a file saved as UTF-8")]) from None


def _row(line: int, cells: list[str], drugs: Collection[str], bad: list[BadCell]) -> ListRow | None:
    if len(cells) != len(HEADER):
        bad.append(BadCell(line, "row", f"{len(cells)} cells", f"{len(HEADER)} cells"))
        return None
    found: dict[str, Any] = {}
    before = len(bad)
    for column, cell in zip(HEADER, cells, strict=True):
        value, expected = _CELLS[column](cell.strip(), drugs)
        if value is None:
            bad.append(BadCell(line, column, _shown(cell), expected))
        found[column] = value
    return _planned(found) if len(bad) == before else None


def _planned(found: dict[str, Any]) -> ListRow:
    lens = {
        "model": found["lens_model"],
        "power_cdpt": found["power_d"],
        "optic_um": found["optic_mm"],
        "dry_state_hydrophilic": found["dry_state_hydrophilic"],
    }
    plan = {name: found[name] for name in ("eye", "anaesthesia", "red_reflex")}
    plan |= {"lens": lens, "drug": found["drug"]}
    return ListRow(found["theatre"], found["date"], found["order"], found["eye"], found["reference"], plan)


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
    "lens_model": _matching(re.compile(r"[A-Za-z0-9][A-Za-z0-9 ./+-]{0,39}"), "a lens model of at most 40 characters"),
    "power_d": _amount(2, POWER_CDPT, "dioptres from -10.00 to +40.00 in quarters"),
    "optic_mm": _amount(3, OPTIC_UM, "millimetres from 4 to 8"),
    "dry_state_hydrophilic": _boolean,
    "drug": _drug,
    "reference": _reference,
}


def _repeated(rows: list[tuple[int, ListRow]]) -> list[BadCell]:
    """Reference and eye are unique in a list, and so is the order."""
    bad: list[BadCell] = []
    eyes: set[tuple[str, ...]] = set()
    orders: set[tuple[str, str, int]] = set()
    for line, row in rows:
        eye = (row.theatre, row.date, row.reference, row.eye)
        order = (row.theatre, row.date, row.order)
        if eye in eyes:
            bad.append(BadCell(line, "reference", f"{row.reference}, {row.eye} a second time", "each once in a list"))
        if order in orders:
            bad.append(BadCell(line, "order", f"{row.order} a second time", "each once in a list"))
        eyes.add(eye)
        orders.add(order)
    return bad
