"""The client can be installed, starts with the server down, and its every answer carries the security policy."""

import json
from collections.abc import Callable

from playwright.sync_api import Response, expect

from tests.support.real_browser import RealBrowser, wait_for_worker
from tests.support.real_server import RealServer
from tests.support.team import Team

OK = 200
POLICY = "content-security-policy"
DRAWN = """(addresses) => Promise.all(addresses.map((address) => new Promise((done, failed) => {
    const icon = new Image();
    icon.onload = () => done(`${icon.naturalWidth}x${icon.naturalHeight}`);
    icon.onerror = () => failed(new Error(address));
    icon.src = address;
})))"""
"""The sizes that icons have when they are drawn."""


def test_the_browser_finds_nothing_in_the_way_of_installing(
    server: RealServer, browser: Callable[..., RealBrowser]
) -> None:
    page = browser().open(server.address)
    wait_for_worker(page)
    protocol = page.context.new_cdp_session(page)
    assert protocol.send("Page.getAppManifest")["errors"] == []
    errors = protocol.send("Page.getInstallabilityErrors")["installabilityErrors"]
    # Automated profiles count as private windows, which alone is no fault of the page.
    assert [error["errorId"] for error in errors if error["errorId"] != "in-incognito"] == []


def test_every_icon_has_the_size_that_the_manifest_says(
    server: RealServer, browser: Callable[..., RealBrowser]
) -> None:
    page = browser().open(server.address)
    manifest = json.loads(page.context.new_cdp_session(page).send("Page.getAppManifest")["data"])
    icons = [icon for icon in manifest["icons"] if icon["sizes"] != "any"]
    assert {(icon["sizes"], icon["purpose"]) for icon in icons} >= {
        ("192x192", "any"),
        ("512x512", "any"),
        ("512x512", "maskable"),
    }
    assert page.evaluate(DRAWN, [icon["src"] for icon in icons]) == [icon["sizes"] for icon in icons]
    assert (manifest["id"], manifest["display"]) == ("/", "standalone")


def test_a_case_opens_and_is_recorded_at_its_address_with_the_server_down(
    server: RealServer, browser: Callable[..., RealBrowser]
) -> None:
    page = browser().open(server.address)
    team = Team(page)
    team.enrol(server.hubheld("enrol-code").strip())
    wait_for_worker(page)
    team.open_case(1)
    team.record(steps=3)
    address, asked = page.url, team.asked
    server.stop()
    page.goto("about:blank")
    assert is_of_the_worker(page.goto(address))
    expect(page.get_by_role("heading", name=asked)).to_be_visible()
    team.record(steps=1)
    asked = team.asked
    assert is_of_the_worker(page.reload())
    expect(page.get_by_role("heading", name=asked)).to_be_visible()


def is_of_the_worker(answer: Response | None) -> bool:
    """Whether the service worker, not the network, answered with the page."""
    return answer is not None and answer.status == OK and answer.from_service_worker


def test_every_answer_of_the_server_carries_the_security_policy(
    server: RealServer, browser: Callable[..., RealBrowser]
) -> None:
    page = browser().open("about:blank")
    seen: dict[str, Response] = {}

    def keep(answer: Response) -> None:
        seen[answer.url.removeprefix(server.address)] = answer

    page.context.on("response", keep)
    page.goto(server.address)
    team = Team(page)
    team.enrol(server.hubheld("enrol-code").strip())
    team.open_case(1)
    wait_for_worker(page)
    for address in ("/no-such-page", "/no-such-file.js", "/api/v1/nothing", "/api/v1/office/weeks"):
        page.goto(server.address + address)
    assert {"/", "/api/v1/enrolments", "/no-such-file.js", "/api/v1/nothing"} <= set(seen)
    assert [path for path, answer in seen.items() if POLICY not in answer.headers] == []
