"""Writes the invented theatre lists as CSV and brings them in through `hubheld list import`."""

import csv
import io
import tempfile
from collections.abc import Sequence
from datetime import date
from pathlib import Path

from seed_demo.office import hubheld
from seed_demo.story import Operation, operations
from seed_demo.unit import THEATRE, UNIT
from server.core.theatre_list import HEADER


def put_in(days: Sequence[date]) -> None:
    """Imports the lists of these days in one file."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "lists.csv"
        path.write_text(as_csv(days), encoding="utf-8")
        hubheld("list", "import", "--unit", UNIT, str(path))


def as_csv(days: Sequence[date]) -> str:
    """The lists of these days as the theatre's own CSV."""
    file = io.StringIO(newline="")
    writer = csv.writer(file, lineterminator="\r\n")
    writer.writerow(HEADER)
    writer.writerows(_row(day, operation) for day in days for operation in operations(day))
    return file.getvalue()


def _row(day: date, operation: Operation) -> list[str]:
    plan = operation.plan
    lens = plan["lens"]
    cells = {
        "theatre": THEATRE,
        "date": day.isoformat(),
        "order": str(operation.order),
        "eye": plan["eye"],
        "anaesthesia": plan["anaesthesia"],
        "red_reflex": plan["red_reflex"],
        "lens_model": lens["model"],
        "power_d": f"{lens['power_cdpt'] // 100}.{lens['power_cdpt'] % 100:02d}",
        "optic_mm": f"{lens['optic_um'] // 1000}.{lens['optic_um'] % 1000 // 100}",
        "dry_state_hydrophilic": "no",
        "drug": plan["drug"],
        "reference": operation.reference,
    }
    return [cells[column] for column in HEADER]
