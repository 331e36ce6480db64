"""A whole case, from first run to signature, with the keyboard alone: Tab, Enter and letters."""

import re
from collections.abc import Callable

from playwright.sync_api import Locator, expect

from tests.e2e.conftest import PIN, SURGEON
from tests.support.real_browser import RealBrowser
from tests.support.real_server import RealServer
from tests.support.team import Team

TABS_MOST = 80
STEPS = 29  # those of a drops-only case with a good red reflex, the signature excepted
OUTLINE = "(element) => parseFloat(getComputedStyle(element).outlineWidth) >= 2"


class KeyboardTeam(Team):
    """A team without a pointer. What cannot be reached by Tab, or shows no focus there, fails the test."""

    def press(self, slab: Locator) -> None:
        self._reach(slab)
        self.page.keyboard.press("Enter")

    def type(self, field: Locator, text: str) -> None:
        self._reach(field)
        self.page.keyboard.type(text)

    def _reach(self, target: Locator) -> None:
        target.wait_for()
        for _ in range(TABS_MOST):
            if target.evaluate("(element) => element === document.activeElement"):
                assert target.evaluate(OUTLINE), f"no focus to be seen on {target}"
                return
            self.page.keyboard.press("Tab")
        raise AssertionError(f"{target} is not reached with {TABS_MOST} tabs")


def test_a_case_is_recorded_reviewed_and_signed_with_the_keyboard_alone(
    server: RealServer, browser: Callable[..., RealBrowser]
) -> None:
    page = browser().open(server.address)
    team = KeyboardTeam(page)
    team.enrol(server.hubheld("enrol-code").strip())
    team.make_signing_key(SURGEON, PIN)
    team.open_case(1)
    assert team.record({"Hydration": "Hub not held"}, until="Leaves?") == STEPS
    team.tap("Patient leaves")
    assert team.review_and_sign(SURGEON, PIN) == 1


def test_every_page_is_reached_and_left_with_the_keyboard_alone(
    server: RealServer, browser: Callable[..., RealBrowser]
) -> None:
    page = browser().open(server.address)
    team = KeyboardTeam(page)
    team.enrol(server.hubheld("enrol-code").strip())
    pages = page.get_by_role("navigation", name="Pages")
    for link, heading in (
        ("Where the record is", "Where the record is"),
        ("Office", "Office"),
        ("Help", "Help"),
        ("Today's list", "Theatre"),
    ):
        team.press(pages.get_by_role("link", name=link))
        expect(page.get_by_role("heading", name=heading).first).to_be_visible()
    team.open_case(1)
    for link in ("Not done", "Something happened", "All steps"):
        before = team.asked
        team.press(page.get_by_role("link", name=link))
        expect(page.get_by_role("heading", name=before, exact=True)).to_have_count(0)
        team.press(page.get_by_role("link", name=re.compile("back", re.IGNORECASE)).first)
        expect(page.get_by_role("heading", name=before, exact=True)).to_be_visible()
