"""A server with one invented unit and one list for today, and browsers to use it with."""

from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from playwright.sync_api import Playwright, sync_playwright

from tests.support.real_browser import TABLET, RealBrowser
from tests.support.real_server import RealServer

UNIT = "testunit"
PASSPHRASE = "plain-words-for-tests"  # noqa: S105  guards an invented unit
SURGEON, PIN = "S07", "402917"
HEADER = (
    "theatre,date,order,eye,anaesthesia,red_reflex,lens_model,power_d,optic_mm,dry_state_hydrophilic,drug,reference"
)


@pytest.fixture(scope="session")
def playwright() -> Iterator[Playwright]:
    with sync_playwright() as running:
        yield running


@pytest.fixture
def server(tmp_path: Path) -> Iterator[RealServer]:
    """A running server: unit, staff, and today's list with two operations."""
    data = tmp_path / "data"
    data.mkdir()
    running = RealServer(data)
    running.hubheld("migrate")
    founding = ("unit", "found", "--unit", UNIT, "--name", "Test theatre (invented)", "--time-zone", "UTC")
    running.hubheld(*founding, typed=f"{PASSPHRASE}\n")
    running.hubheld("person", "add", typed=f"N21,recorder\n{SURGEON},surgeon,{PIN}\n")
    today = datetime.now(UTC).date().isoformat()
    rows = (
        f"theatre-1,{today},1,right,topical,good,AURA-1,+21.50,6.0,no,cefuroxime,KD4821",
        f"theatre-1,{today},2,left,topical,good,AURA-1,+22.25,6.0,no,cefuroxime,KD4822",
    )
    path = tmp_path / "list.csv"
    path.write_text("\r\n".join([HEADER, *rows]) + "\r\n")
    running.hubheld("list", "import", str(path))
    running.start()
    try:
        yield running
    finally:
        running.stop()


@pytest.fixture
def browser(playwright: Playwright, tmp_path: Path) -> Iterator[Callable[..., RealBrowser]]:
    """Makes browsers; each is closed at the end of the test."""
    made: list[RealBrowser] = []

    def make(name: str = "tablet", viewport: dict[str, int] = TABLET) -> RealBrowser:
        made.append(RealBrowser(playwright, tmp_path / f"profile-{name}", viewport))
        return made[-1]

    yield make
    for one in made:
        one.close()
