"""The demo's thirteen weeks, brought in through the real upload, hold what was planted in them and nothing else."""

import csv
import os
import subprocess
from collections import Counter
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from seed_demo.story import WEEKS, expected_counts, past_list_dates
from seed_demo.unit import TIME_ZONE, UNIT
from tests.support.real_server import BIN, ROOT, RealServer


def test_each_week_of_the_demo_counts_exactly_what_was_planted(tmp_path: Path) -> None:
    server = RealServer(tmp_path)
    server.hubheld("migrate")
    server.start()
    try:
        command = [str(BIN / "python"), "-m", "seed_demo.load", "--address", f"http://127.0.0.1:{server.port}"]
        environment = {**os.environ, "HUBHELD_DATA": str(tmp_path)}
        subprocess.run(command, cwd=ROOT, env=environment, check=True, capture_output=True)
    finally:
        server.stop()
    days = past_list_dates(datetime.now(ZoneInfo(TIME_ZONE)).date())
    weeks = sorted({f"{day.isocalendar().year}-W{day.isocalendar().week:02}" for day in days})
    assert len(weeks) == WEEKS
    for week in weeks:
        of_week = [day for day in days if f"{day.isocalendar().year}-W{day.isocalendar().week:02}" == week]
        server.hubheld("week", "--unit", UNIT, "--week", week, "--out", str(tmp_path / week))
        assert _events(tmp_path / week / f"counts_{UNIT}_{week}_INTERNAL.csv") == expected_counts(of_week)


def _events(path: Path) -> dict[tuple[str, str, str], int]:
    with path.open(newline="", encoding="utf-8") as file:
        counted = Counter({(r["step"], r["kind"], r["grade"]): int(r["events"]) for r in csv.DictReader(file)})
    return dict(+counted)
