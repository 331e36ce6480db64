"""A new version of the app waits for the case in hand, and a broken one never takes the place of the old."""

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.support.real_browser import RealBrowser, wait_for_worker
from tests.support.real_server import ROOT, RealServer
from tests.support.team import Team

UPDATE = "() => navigator.serviceWorker.getRegistration().then((r) => r.update().then(() => true, () => false))"
SETTLED = """() => navigator.serviceWorker.getRegistration().then((registration) => new Promise((done) => {
    const look = () => registration.installing ? setTimeout(look, 50) : done(Boolean(registration.waiting));
    look();
}))"""
"""Whether a new worker waits, once nothing is being installed any more."""


@pytest.fixture(autouse=True)
def web(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of the built client of its own, which the server serves and the test may change."""
    copy = tmp_path / "web"
    shutil.copytree(ROOT / "web" / "dist", copy)
    monkeypatch.setenv("HUBHELD_WEB", str(copy))
    return copy


@pytest.fixture
def page(web: Path, server: RealServer, browser: Callable[..., RealBrowser]) -> Page:
    """An enrolled tablet under the first version."""
    opened = browser().open(server.address)
    Team(opened).enrol(server.hubheld("enrol-code").strip())
    wait_for_worker(opened)
    return opened


def publish(web: Path) -> None:
    """A worker that differs in one byte is a new version."""
    worker = web / "sw.js"
    worker.write_text(worker.read_text() + "\n// next\n")


def test_a_new_version_waits_until_no_case_is_open_and_takes_over_by_hand(page: Page, web: Path) -> None:
    Team(page).open_case(1)
    publish(web)
    assert page.evaluate(UPDATE)
    assert page.evaluate(SETTLED)
    page.reload()
    page.locator('a[href="#/"]').first.click()
    expect(page.get_by_text("new version").first).to_be_visible()
    assert page.evaluate(SETTLED), "a reload alone changes nothing"
    assert page.get_by_role("button", name="Start the new version").count() == 0

    page.get_by_role("button", name="Go on with case 1").click()
    page.get_by_role("link", name="All steps").first.click()
    page.get_by_role("link", name="Not operated").first.click()
    page.locator("main .slabs button").first.click()
    page.get_by_role("button", name="Start the new version").click()
    expect(page.get_by_text("new version")).to_have_count(0)
    assert not page.evaluate(SETTLED)
    expect(page.get_by_text("not operated").first).to_be_visible()


def test_a_version_that_misses_a_file_is_not_installed_and_the_old_one_still_starts_offline(
    page: Page, web: Path, server: RealServer
) -> None:
    (web / "manifest.webmanifest").unlink()
    publish(web)
    page.evaluate(UPDATE)
    assert not page.evaluate(SETTLED)
    server.stop()
    page.reload()
    expect(page.get_by_role("button", name="Open case 1")).to_be_visible()
