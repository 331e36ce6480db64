"""What one tablet keeps: through a killed browser, a cleared store, a second window, a full storage and a portal."""

import re
import sqlite3
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, Route, expect

from tests.support.real_browser import RealBrowser, wait_for_worker
from tests.support.real_server import RealServer
from tests.support.team import Team

NAME = "theatre 1 tablet"
STEPS = 20
OPENED = 2
"""Entries before the first step: the case was opened, the patient came in."""
NOTHING_TRUSTED = "Something answered for the server"


@pytest.fixture
def tablet(server: RealServer, browser: Callable[..., RealBrowser]) -> tuple[RealBrowser, Page]:
    """An enrolled tablet with case 1 open, whose app also starts without the network."""
    opened = browser()
    page = opened.open(server.address)
    team = Team(page)
    team.enrol(server.hubheld("enrol-code").strip())
    wait_for_worker(page)
    team.open_case(1)
    return opened, page


def numbers(page: Page) -> dict[str, int]:
    """The numbers of the page that says where the record is."""
    page.locator('a[href="#/keeping"]').first.click()
    rows = page.locator("section[aria-labelledby=numbers] dl div")
    expect(rows.first).to_be_visible()
    shown = {row.locator("dt").inner_text(): row.locator("dd").inner_text() for row in rows.all()}
    return {name: int(number) for name, number in shown.items() if number.isdigit()}


def send(page: Page) -> None:
    page.get_by_role("button", name=re.compile("Try now|Send now")).first.click()


def held(server: RealServer) -> list[int]:
    """The sequence numbers that the server holds of the tablet's log."""
    with sqlite3.connect(server.data / "hubheld.sqlite") as database:
        found = database.execute(
            "SELECT seq FROM log_entry JOIN device USING (unit, device) WHERE device.name = ? ORDER BY seq", (NAME,)
        )
        return [seq for (seq,) in found]


def test_entries_outlive_kill_9_with_the_server_down_and_arrive_once(
    server: RealServer, browser: Callable[..., RealBrowser], tablet: tuple[RealBrowser, Page]
) -> None:
    opened, page = tablet
    server.stop()
    assert Team(page).record(steps=STEPS) == STEPS
    opened.kill()

    page = browser().open(server.address)
    found = numbers(page)
    assert found["Stored on this tablet"] == STEPS + OPENED
    assert found["Received by the server"] <= OPENED
    server.start()
    send(page)
    expect(page.get_by_role("heading", name="Server has it")).to_be_visible()
    assert numbers(page)["Received by the server"] == STEPS + OPENED
    assert held(server) == list(range(STEPS + OPENED))


def test_a_cleared_store_is_said_and_never_shown_as_an_empty_day(
    server: RealServer, tablet: tuple[RealBrowser, Page]
) -> None:
    _opened, page = tablet
    Team(page).record(steps=3)
    session = page.context.new_cdp_session(page)
    session.send("Storage.clearDataForOrigin", {"origin": server.address, "storageTypes": "indexeddb"})
    page.reload()
    expect(page.get_by_text("This tablet lost its store").first).to_be_visible()
    expect(page.get_by_text(f"Here are 0 of {3 + OPENED}").first).to_be_visible()


def test_two_windows_that_tap_in_turn_write_one_log_without_a_gap(
    server: RealServer, tablet: tuple[RealBrowser, Page]
) -> None:
    _opened, first = tablet
    second = first.context.new_page()
    second.goto(first.url)
    for _turn in range(3):
        for page in (first, second):
            assert Team(page).record(steps=1) == 1
    second.close()
    assert numbers(first)["Stored on this tablet"] == 6 + OPENED
    send(first)
    expect(first.get_by_role("heading", name="Server has it")).to_be_visible()
    assert held(server) == list(range(6 + OPENED))


def test_a_full_storage_says_so_and_claims_nothing(server: RealServer, tablet: tuple[RealBrowser, Page]) -> None:
    _opened, page = tablet
    server.stop()
    page.evaluate(
        """() => { const { add } = IDBObjectStore.prototype;
            window.makeRoom = () => { IDBObjectStore.prototype.add = add; };
            IDBObjectStore.prototype.add = () => { throw new DOMException('full', 'QuotaExceededError'); }; }"""
    )
    asked = Team(page).asked
    page.locator("nav.answers .go").first.click()
    expect(page.get_by_text("storage of this tablet is full").first).to_be_visible()
    assert Team(page).asked == asked
    page.evaluate("() => window.makeRoom()")
    assert Team(page).record(steps=1) == 1
    assert numbers(page)["Stored on this tablet"] == 1 + OPENED


def test_a_portal_that_answers_200_to_everything_is_no_acknowledgement(
    server: RealServer, tablet: tuple[RealBrowser, Page]
) -> None:
    _opened, page = tablet

    def sign_in_page(route: Route) -> None:
        route.fulfill(status=200, content_type="text/html", body="<h1>Welcome to the guest network</h1>")

    page.context.route("**/api/**", sign_in_page)
    assert Team(page).record(steps=2) == 2
    before = numbers(page)
    send(page)
    expect(page.get_by_text(NOTHING_TRUSTED).first).to_be_visible()
    expect(page.get_by_role("heading", name="Cannot reach server")).to_be_visible()
    assert numbers(page)["Received by the server"] == before["Received by the server"] < 2 + OPENED
    page.context.unroute("**/api/**")
    send(page)
    expect(page.get_by_role("heading", name="Server has it")).to_be_visible()
    assert held(server) == list(range(2 + OPENED))
