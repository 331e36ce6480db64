"""One case from theatre list to weekly count, with the network off in the middle and a battery that dies."""

import csv
import re
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

from playwright.sync_api import expect

from tests.e2e.conftest import PIN, SURGEON, UNIT
from tests.support.real_browser import RealBrowser, wait_for_worker
from tests.support.real_server import RealServer
from tests.support.team import Team

EXPECTED = {
    ("viscoelastic-fill", "hub_not_held", "G2"),
    ("wound-hydration", "hub_not_held", "G2"),
    ("final-look", "out_of_tolerance", "G2"),
}


def test_everything_recorded_offline_arrives_once_and_is_counted(
    server: RealServer, browser: Callable[..., RealBrowser], tmp_path: Path
) -> None:
    tablet = browser()
    page = tablet.open(server.address)
    team = Team(page)
    team.enrol(server.hubheld("enrol-code").strip())
    team.make_signing_key(SURGEON, PIN)
    wait_for_worker(page)
    team.open_case(1)
    assert team.record(steps=10) == 10

    server.stop()
    page.reload()
    expect(page.get_by_role("heading", name="Opening count")).to_be_visible()
    team.record(steps=1)
    team.record({"Viscoelastic": "Lock not checked"}, until="Capsulorhexis")
    team.record({"Hydration": "Hub not held", "Last look": "Dry, soft"}, until="Leaves?")
    team.tap("Patient leaves")
    assert team.review_and_sign(SURGEON, PIN) == len(EXPECTED)
    tablet.kill()

    page = browser().open(server.address)
    expect(page.get_by_text("signed", exact=True)).to_be_visible()
    expect(page.get_by_role("link", name=re.compile("^stored here"))).to_be_visible()
    server.start()
    page.get_by_role("link", name="Where the record is").first.click()
    page.get_by_role("button", name="Try now").or_(page.get_by_role("button", name="Send now")).first.click()
    expect(page.get_by_role("heading", name="Server has it")).to_be_visible()

    rows = week_rows(server, tmp_path)
    assert {key(row) for row in rows if row["events"] != "0"} == EXPECTED
    assert all(row["events"] == "1" and row["cases_with"] == "1" for row in rows if row["events"] != "0")


def week_rows(server: RealServer, folder: Path) -> list[dict[str, str]]:
    """The week's counts as the governance lead gets them."""
    year, week, _day = datetime.now(UTC).isocalendar()
    name = f"{year}-W{week:02}"
    server.hubheld("week", "--unit", UNIT, "--week", name, "--out", str(folder / "week"))
    with (folder / "week" / f"counts_{UNIT}_{name}_INTERNAL.csv").open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def key(row: dict[str, str]) -> tuple[str, str, str]:
    return row["step"], row["kind"], row["grade"]
