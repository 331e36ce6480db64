"""Looks at a page as axe-core does, in both themes and three widths, and at the height of what is pressed in a case."""

import json
from pathlib import Path

from playwright.sync_api import Page

from tests.support.real_browser import PHONE, TABLET

AXE = Path(__file__).resolve().parents[2] / "web" / "node_modules" / "axe-core" / "axe.min.js"
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
NARROW = {"width": 320, "height": 640}
IN_CASE_PX_MIN = 96
# Where a gloved finger has no business: read, not pressed, or typed into with a keyboard on the glass.
LOWER = "a.keep, a.skip, input, textarea, select"
RUN = """(tags) => axe.run(document, {runOnly: tags}).then((found) =>
    found.violations.map((v) => v.id + ' ' + v.nodes.map((n) => n.target.join(' ')).join(', ')))"""
SMALL = """([least_px, lower]) => [...document.querySelectorAll('a, button, input, textarea, select')]
    .filter((target) => !target.matches(lower) && target.getClientRects().length > 0)
    .map((target) => [target.textContent.trim().slice(0, 40), target.getBoundingClientRect().height])
    .filter(([, height_px]) => height_px < least_px - 0.5)
    .map(([words, height_px]) => `${words}: ${Math.round(height_px)} px high`)"""


class Looked:
    """Collects what is found; a test says at its end that it is nothing."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.found: list[str] = []
        self.pages: list[str] = []

    def at(self, name: str) -> None:
        """Looks at the page as it stands, and leaves it in the size of the tablet."""
        self.pages.append(name)
        if not self.page.evaluate("() => 'axe' in window"):
            self.page.evaluate(AXE.read_text())
        for theme in ("night", "day"):
            self.page.evaluate(f"document.documentElement.dataset.theme = {json.dumps(theme)}")
            for size in (PHONE, NARROW, TABLET):
                self._look(f"{name}, {theme}, {size['width']}", size)
        if "#/case/" in self.page.url and "/review" not in self.page.url:
            small = self.page.evaluate(SMALL, [IN_CASE_PX_MIN, LOWER])
            self.found += [f"{name}: {target}" for target in small]

    def _look(self, where: str, size: dict[str, int]) -> None:
        self.page.set_viewport_size({"width": size["width"], "height": size["height"]})
        self.found += [f"{where}: {violation}" for violation in self.page.evaluate(RUN, TAGS)]
        width_px = self.page.evaluate("document.documentElement.scrollWidth")
        if width_px > size["width"]:
            self.found.append(f"{where}: {width_px} px wide")
