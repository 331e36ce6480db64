"""The client can be installed, starts with the server down, and its every answer carries the content security policy."""

from collections.abc import Callable

from playwright.sync_api import expect

from tests.support.real_browser import RealBrowser, wait_for_worker
from tests.support.real_server import RealServer
from tests.support.team import Team


def test_the_browser_finds_nothing_in_the_way_of_installing(
    server: RealServer, browser: Callable[..., RealBrowser]
) -> None:
    page = browser().open(server.address)
    wait_for_worker(page)
    protocol = page.context.new_cdp_session(page)
    manifest = protocol.send("Page.getAppManifest")
    assert manifest["errors"] == []
    errors = protocol.send("Page.getInstallabilityErrors")["installabilityErrors"]
    # Automated profiles count as private windows, which alone is no fault of the page.
    assert [error["errorId"] for error in errors if error["errorId"] != "in-incognito"] == []


def test_a_case_opens_at_its_address_with_the_server_down(
    server: RealServer, browser: Callable[..., RealBrowser]
) -> None:
    page = browser().open(server.address)
    team = Team(page)
    team.enrol(server.hubheld("enrol-code").strip())
    wait_for_worker(page)
    team.open_case(1)
    team.record(steps=3)
    asked, address = team.asked, page.url
    server.stop()
    page.goto("about:blank")
    page.goto(address)
    expect(page.get_by_role("heading", name=asked)).to_be_visible()
    team.record(steps=1)
