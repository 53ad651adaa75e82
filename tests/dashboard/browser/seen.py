"""A page of the dashboard in Chromium, as a person walks through it."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from playwright.sync_api import Locator, Page, expect

SLOW = 90_000  # milliseconds a whole picture may take on a busy machine
SIZES = {"wide": (1440, 900), "phone": (390, 844)}


@dataclass
class Seen:
    """A page and what was seen while it was open."""

    page: Page
    url: str
    size: str
    log: Path
    hosts: set[str] = field(default_factory=set)

    def go(self, words: str, short: str) -> None:
        """Open another page as a person does: by the words on a wide screen, by the short row on a phone."""
        if self.size == "phone":
            row = self.page.locator(".st-key-phone-pages")
            row.get_by_role("link", name=short, exact=True).click()
        else:
            self.page.get_by_test_id("stTopNavLink").filter(has_text=words).first.click()

    def settled(self) -> None:
        """The script has run and nothing is still being put in place."""
        app = self.page.get_by_test_id("stApp")
        expect(app).to_have_attribute("data-test-script-state", "notRunning", timeout=SLOW)
        expect(self.page.get_by_test_id("stSkeleton")).to_have_count(0, timeout=SLOW)

    def fits(self) -> None:
        """No sideways scroll."""
        self.settled()
        wide = self.page.evaluate(
            "[document.documentElement.scrollWidth, document.querySelector('[data-testid=stMain]').scrollWidth]"
        )
        assert max(wide) <= SIZES[self.size][0], f"{self.page.url} is {wide} wide"


def open_sample(seen: Seen) -> Page:
    page = seen.page
    page.goto(seen.url)
    page.get_by_role("button", name="Open the sample household").click()
    expect(page.get_by_role("heading", name="July 2026", exact=True)).to_be_visible(timeout=SLOW)
    expect(page.get_by_text("came through the meter").first).to_be_visible(timeout=SLOW)
    seen.settled()
    return page


def used(page: Page) -> Locator:
    return page.locator(".st-key-tile-water-used").get_by_test_id("stMetricValue")
