"""axe-core, with the tags of WCAG 2.2 A and AA, finds nothing on any page; pages reflow and say what changed.

A pass is not conformance: it covers what a machine can see.
"""

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import expect

from tests.e2e.conftest import HEADER, PASSPHRASE, PIN, SURGEON
from tests.support.looked import Looked
from tests.support.real_browser import RealBrowser
from tests.support.real_server import RealServer
from tests.support.team import Team

WITH_EDITOR = ("Allergies", "Iodine", "Antibiotic", "Opening count", "Main wound")
BESIDE_A_CASE = ("off-list", "keeping", "help", "office", "no-such-page")


@pytest.fixture
def looked(server: RealServer, browser: Callable[..., RealBrowser]) -> Looked:
    """The first-run page of a new tablet."""
    page = browser().open(server.address)
    expect(page.get_by_label("One-time code")).to_be_visible()
    return Looked(page)


def test_axe_finds_nothing_on_the_list_and_beside_a_case(looked: Looked, server: RealServer) -> None:
    page, team = looked.page, Team(looked.page)
    looked.at("first run")
    team.enrol(server.hubheld("enrol-code").strip())
    looked.at("today")
    for card in ("Team brief", "List debrief"):
        page.get_by_role("link", name=card).click()
        expect(page.get_by_role("heading", name=card)).to_be_visible()
        looked.at(card)
        page.go_back()
    for name in BESIDE_A_CASE:
        page.goto(f"{server.address}/#/{name}")
        expect(page.locator("main")).to_be_visible()
        looked.at(name)
    assert not looked.found, "\n".join(looked.found)


def test_axe_finds_nothing_from_the_first_step_to_the_signature(looked: Looked, server: RealServer) -> None:
    page, team = looked.page, Team(looked.page)
    team.enrol(server.hubheld("enrol-code").strip())
    team.make_signing_key(SURGEON, PIN)
    team.open_case(1)
    seen: set[str] = set()
    while team.asked != "Leaves?":
        if team.asked not in seen:
            looked.at(f"step {team.asked}")
        seen.add(team.asked)
        team.record({"Hydration": "Hub not held"}, steps=1)
    looked.at("patient leaves")
    team.tap("Patient leaves")
    looked.at("to sign")
    page.get_by_role("link", name="Review and sign").click()
    expect(page.get_by_role("heading", name=re.compile("to sign$"))).to_be_visible()
    looked.at("review")
    team.give_answers()
    looked.at("review with answers")
    team.sign(SURGEON, PIN)
    looked.at("signed")
    assert not looked.found, "\n".join(looked.found)


def test_axe_finds_nothing_at_stop_in_editors_and_on_cards(looked: Looked, server: RealServer) -> None:
    page, team = looked.page, Team(looked.page)
    team.enrol(server.hubheld("enrol-code").strip())
    team.open_case(1)
    team.record(until="Which eye?")
    team.tap("Left eye")
    expect(page.get_by_role("heading", name="STOP")).to_be_visible()
    looked.at("STOP")
    page.get_by_role("button", name="Keep as read").click()
    looked.at("why kept")
    page.get_by_role("button", name="Back to STOP").click()
    page.get_by_role("button", name="Read again").click()
    expect(page.get_by_role("button", name="Right eye")).to_be_visible()
    team.tap("Right eye")
    for key in WITH_EDITOR:
        team.record(until=key)
        page.get_by_role("button", name="Other", exact=True).click()
        looked.at(f"editor {key}")
        page.reload()
        expect(page.get_by_role("heading", name=key)).to_be_visible()
        team.record(steps=1)
    address = page.url
    for name in ("Not done", "Something happened", "All steps"):
        page.get_by_role("link", name=name).click()
        expect(page.locator("#card-title")).to_be_visible()
        looked.at(name)
        page.goto(address)
    for name in ("not-operated", "move"):
        page.goto(f"{address}/{name}")
        expect(page.locator("#card-title")).to_be_visible()
        looked.at(name)
    page.goto(address)
    page.get_by_role("button", name=re.compile("^Correct")).click()
    looked.at("correct")
    assert not looked.found, "\n".join(looked.found)


def test_axe_finds_nothing_in_the_office(looked: Looked, server: RealServer, tmp_path: Path) -> None:
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
    wrong = tmp_path / "wrong.csv"
    wrong.write_text(f"{HEADER}\r\ntheatre-1,2026-13-01,0,middle,sleep,good,AURA-1,+21.50,6.0,no,cefuroxime,X\r\n")
    page.get_by_label("CSV file").set_input_files(wrong)
    page.get_by_role("button", name="Bring it in").click()
    expect(page.get_by_role("table")).to_be_visible()
    looked.at("list with errors")
    assert not looked.found, "\n".join(looked.found)


def test_the_status_region_says_each_record_and_each_stop(looked: Looked, server: RealServer) -> None:
    page, team = looked.page, Team(looked.page)
    status = page.locator("p.only-read[role=status]")
    team.enrol(server.hubheld("enrol-code").strip())
    team.open_case(1)
    asked = team.asked
    team.record(steps=1)
    expect(status).to_have_text(re.compile(rf"^{asked}.*Stored here\.$"))
    team.record(until="Which eye?")
    team.tap("Left eye")
    expect(status).to_have_text("Stop. The eye differs. Already recorded.")
