"""axe-core, with the tags of WCAG 2.2 A and AA, finds nothing on any page; pages reflow and say what changed.

A pass is not conformance: it covers what a machine can see.
"""

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.e2e.conftest import PASSPHRASE, PIN, SURGEON
from tests.support.real_browser import PHONE, TABLET, RealBrowser
from tests.support.real_server import RealServer
from tests.support.team import Team

AXE = Path(__file__).resolve().parents[2] / "web" / "node_modules" / "axe-core" / "axe.min.js"
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
RUN = """(tags) => axe.run(document, {runOnly: tags}).then((found) =>
    found.violations.map((v) => v.id + ' ' + v.nodes.map((n) => n.target.join(' ')).join(', ')))"""
NARROW = {"width": 320, "height": 640}


class Looked:
    """Looks at one page in both themes and three sizes."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.found: list[str] = []

    def at(self, name: str) -> None:
        for theme in ("night", "day"):
            self.page.evaluate(f"document.documentElement.dataset.theme = {json.dumps(theme)}")
            for size in (PHONE, TABLET, NARROW):
                self.page.set_viewport_size(size)
                self.page.evaluate(AXE.read_text())
                self.found += [f"{name}, {theme}, {size['width']}: {v}" for v in self.page.evaluate(RUN, TAGS)]
                width = self.page.evaluate("document.documentElement.scrollWidth")
                if width > size["width"]:
                    self.found.append(f"{name}, {theme}: {width} px wide at {size['width']}")
        self.page.set_viewport_size(TABLET)


@pytest.fixture
def looked(server: RealServer, browser: Callable[..., RealBrowser]) -> Looked:
    return Looked(browser().open(server.address))


def test_axe_finds_nothing_from_first_run_to_signature(looked: Looked, server: RealServer) -> None:
    page, team = looked.page, Team(looked.page)
    expect(page.get_by_label("One-time code")).to_be_visible()
    looked.at("first run")
    team.enrol(server.hubheld("enrol-code").strip())
    looked.at("today")
    team.make_signing_key(SURGEON, PIN)
    for address, name in (
        ("#/keeping", "keeping"),
        ("#/help", "help"),
        ("#/off-list", "off list"),
        ("#/office", "office"),
    ):
        page.goto(f"{server.address}/{address}")
        expect(page.locator("main")).to_be_visible()
        looked.at(name)
    page.goto(f"{server.address}/#/")
    team.open_case(1)
    seen: set[str] = set()
    while team.asked not in ("Leaves?", "To sign"):
        if team.asked not in seen:
            looked.at(f"step {team.asked}")
        seen.add(team.asked)
        team.record({"Hydration": "Hub not held"}, steps=1)
    looked.at("patient leaves")
    page.get_by_role("link", name="Something happened").click()
    looked.at("something happened")
    page.go_back()
    page.get_by_role("link", name="All steps").click()
    looked.at("all steps")
    page.go_back()
    team.tap("Patient leaves")
    page.get_by_role("link", name="Review and sign").first.click()
    looked.at("review")
    page.go_back()
    team.review_and_sign(SURGEON, PIN)
    looked.at("signed")
    assert looked.found == []


def test_axe_finds_nothing_at_stop_and_in_editors(looked: Looked, server: RealServer) -> None:
    page, team = looked.page, Team(looked.page)
    team.enrol(server.hubheld("enrol-code").strip())
    team.open_case(1)
    team.record(until="Which eye?")
    team.tap("Left eye")
    expect(page.get_by_role("heading", name="STOP")).to_be_visible()
    looked.at("stop")
    page.get_by_role("button", name="Keep as read").click()
    looked.at("why kept")
    page.get_by_role("button", name="Back to STOP").click()
    page.get_by_role("button", name="Read again").click()
    expect(page.get_by_role("button", name="Right eye")).to_be_visible()
    team.tap("Right eye")
    for key in ("Allergies", "Iodine", "Antibiotic", "Opening count", "Main wound"):
        team.record(until=key)
        page.get_by_role("button", name="Other", exact=True).click()
        looked.at(f"editor {key}")
        page.reload()
        expect(page.get_by_role("heading", name=key)).to_be_visible()
        team.record(steps=1)
    page.get_by_role("link", name="Not done").click()
    looked.at("not done")
    page.go_back()
    page.get_by_role("link", name="Correct").or_(page.get_by_role("button", name="Undo")).first.wait_for()
    assert looked.found == []


def test_axe_finds_nothing_in_the_office(looked: Looked, server: RealServer) -> None:
    page, team = looked.page, Team(looked.page)
    team.enrol(server.hubheld("enrol-code").strip())
    team.open_case(1)
    team.record(steps=3)
    page.goto(f"{server.address}/#/office")
    page.get_by_label("Passphrase").fill(PASSPHRASE)
    page.get_by_role("button", name="Enter").click()
    expect(page.get_by_role("link").filter(has_text="Week").first).to_be_visible()
    looked.at("weeks")
    page.get_by_role("link").filter(has_text="Week").first.click()
    page.get_by_role("button", name="Show all").click()
    expect(page.get_by_role("table")).to_be_visible()
    looked.at("week")
    page.goto(f"{server.address}/#/lists")
    looked.at("lists")
    assert looked.found == []
