"""A server with one invented unit and one list for today, and browsers to use it with."""

import shutil
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


@pytest.fixture(scope="session")
def founded(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data folder with the unit, its staff and today's list of two operations: made once, copied for each test."""
    folder = tmp_path_factory.mktemp("founded")
    data = folder / "data"
    data.mkdir()
    office = RealServer(data)
    office.hubheld("migrate")
    founding = ("unit", "found", "--unit", UNIT, "--name", "Test theatre (invented)", "--time-zone", "UTC")
    office.hubheld(*founding, typed=f"{PASSPHRASE}\n")
    office.hubheld("person", "add", typed=f"N21,recorder\n{SURGEON},surgeon,{PIN}\n")
    today = datetime.now(UTC).date().isoformat()
    rows = (
        f"theatre-1,{today},1,right,topical,good,AURA-1,+21.50,6.0,no,cefuroxime,KD4821",
        f"theatre-1,{today},2,left,topical,good,AURA-1,+22.25,6.0,no,cefuroxime,KD4822",
    )
    path = folder / "list.csv"
    path.write_text("\r\n".join([HEADER, *rows]) + "\r\n")
    office.hubheld("list", "import", str(path))
    return data


@pytest.fixture
def server(founded: Path, tmp_path: Path) -> Iterator[RealServer]:
    """A running server over its own copy of the founded unit."""
    running = RealServer(Path(shutil.copytree(founded, tmp_path / "data")))
    running.start()
    try:
        yield running
    finally:
        running.stop()


@pytest.fixture
def browser(playwright: Playwright, tmp_path: Path) -> Iterator[Callable[..., RealBrowser]]:
    """Makes browsers; each is closed at the end of the test, and none of their pages broke a rule or threw."""
    made: list[RealBrowser] = []

    def make(name: str = "tablet", viewport: dict[str, int] = TABLET) -> RealBrowser:
        made.append(RealBrowser(playwright, tmp_path / f"profile-{name}", viewport))
        return made[-1]

    yield make
    for one in made:
        one.close()
    assert [complaint for one in made for complaint in one.complaints] == []
