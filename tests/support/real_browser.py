"""A real Chromium with a profile that outlives it: opened, killed with -9 and opened again."""

import os
import signal
from pathlib import Path

from playwright.sync_api import BrowserContext, ConsoleMessage, Page, Playwright, expect

from tests.chromium import find_chromium

# On a busy machine a browser takes seconds to start.
WAIT_MS = 20_000
ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
PHONE = {"width": 390, "height": 844}
TABLET = {"width": 810, "height": 1080}

expect.set_options(timeout=WAIT_MS)


class RealBrowser:
    """One browser over one profile folder."""

    def __init__(self, playwright: Playwright, profile: Path, viewport: dict[str, int]) -> None:
        self._playwright = playwright
        self.profile = profile
        self.viewport = viewport
        self.complaints: list[str] = []
        """What no page may cause: errors that nothing caught, and breaches of the content security policy."""
        self._context: BrowserContext | None = None

    def open(self, address: str) -> Page:
        """Opens the profile at `address`."""
        context = self._playwright.chromium.launch_persistent_context(
            str(self.profile),
            executable_path=find_chromium(),
            args=ARGUMENTS,
            viewport={"width": self.viewport["width"], "height": self.viewport["height"]},
            has_touch=True,
        )
        context.set_default_timeout(WAIT_MS)
        context.on("weberror", lambda error: self.complaints.append(str(error.error)))
        context.on("console", self._listen)
        self._context = context
        page = context.pages[0] if context.pages else context.new_page()
        page.goto(address)
        return page

    def set_offline(self, offline: bool) -> None:
        """Takes the browser's network away, or gives it back."""
        assert self._context is not None
        self._context.set_offline(offline)

    def kill(self) -> None:
        """SIGKILL of the browser process that holds this profile: no goodbye, as when a battery dies."""
        assert self._context is not None
        os.kill(self._browser_process(), signal.SIGKILL)
        self._context = None

    def close(self) -> None:
        """Closes the browser in the ordinary way."""
        if self._context is not None:
            self._context.close()
            self._context = None

    def _listen(self, message: ConsoleMessage) -> None:
        if "Content Security Policy" in message.text:
            self.complaints.append(message.text)

    def _browser_process(self) -> int:
        """The process whose command line names the profile and that is no child of the browser."""
        for folder in Path("/proc").iterdir():
            words = _words_of(folder) if folder.name.isdigit() else []
            is_child = any("--type=" in word for word in words)
            if words and "chrom" in words[0] and not is_child and any(str(self.profile) in word for word in words):
                return int(folder.name)
        raise AssertionError("no browser runs on this profile")


def _words_of(process: Path) -> list[str]:
    try:
        return [word.decode(errors="replace") for word in (process / "cmdline").read_bytes().split(b"\0") if word]
    except OSError:
        return []


def wait_for_worker(page: Page) -> None:
    """Waits until the service worker serves this page: from then on it opens with no network."""
    page.evaluate(
        """() => navigator.serviceWorker.ready.then(() => new Promise((done) =>
            navigator.serviceWorker.controller
                ? done(true)
                : navigator.serviceWorker.addEventListener('controllerchange', () => done(true))))"""
    )
