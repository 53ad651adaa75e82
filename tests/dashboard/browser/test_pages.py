"""Every page on both screens, and a program used."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect

from tests.dashboard.browser.seen import SLOW, Seen, open_sample, used

pytestmark = pytest.mark.browser


def test_every_page_fits_and_speaks_both_units(seen: Seen) -> None:
    page = open_sample(seen)
    page.get_by_text("litres, mm", exact=True).click()
    expect(used(page)).to_have_text(re.compile(r"[\d,]+ L"), timeout=SLOW)
    for words, short, heading in (
        ("Meter", "Meter", "Where it went"),
        ("Plants", "Plants", "Planting by planting"),
        ("A program that fits", "Program", "Going away"),
        ("Care & season", "Care", "Shutdown and start-up"),
        ("Garden", "Garden", "Zones"),
        ("Files", "Files", "Bring in"),
        ("Write it down", "Write", "Written lately"),
    ):
        seen.go(words, short)
        expect(page.get_by_role("heading", name=heading, exact=True)).to_be_visible(timeout=SLOW)
        seen.fits()
        if words in ("Meter", "Plants"):
            assert inner_scrolls(page) == [], "a table is read without scrolling sideways"
    seen.go("This month", "Month")
    expect(used(page)).to_have_text(re.compile(r"[\d,]+ L"), timeout=SLOW)


def inner_scrolls(page: Page) -> list[str]:
    """The headings of the tables in sight that are wider than their place."""
    found: list[str] = page.evaluate(
        """() => [...document.querySelectorAll('table')]
            .filter(t => t.checkVisibility() && !t.closest('details:not([open])'))
            .filter(t => t.closest('[data-testid=stTable]').clientWidth + 1 < t.scrollWidth)
            .map(t => t.tHead.innerText)"""
    )
    return found


@pytest.mark.parametrize("seen", ["wide"], indirect=True)
def test_a_program_that_fits_is_used_and_taken_back(seen: Seen) -> None:
    """July's programs, written down from a day on as they were shown; then the Undo."""
    page = open_sample(seen)
    seen.go("A program that fits", "Program")
    expect(page.get_by_role("heading", name="Going away", exact=True)).to_be_visible(timeout=SLOW)
    seen.settled()
    box = page.get_by_role("combobox", name=re.compile("For the month of"))
    box.click()
    box.fill("July")
    page.get_by_role("option", name="July", exact=True).click()
    use = page.get_by_role("button", name="Use this from 1 July 2027")
    expect(use).to_be_visible(timeout=SLOW)
    seen.settled()
    shown = page.locator(".st-key-use-preview").inner_text()
    assert "Changed on 1 July 2027: Berry rows, " in shown
    use.click()
    expect(page.get_by_text(re.compile("^Stored: .*set to what fits from 1 July 2027 on"))).to_be_visible(timeout=SLOW)
    seen.fits()
    page.get_by_role("button", name="Undo", exact=True).click()
    expect(page.get_by_text(re.compile("^Taken back: .*set to what fits from 1 July 2027 on"))).to_be_visible(
        timeout=SLOW
    )
