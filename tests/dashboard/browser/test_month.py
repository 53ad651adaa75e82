"""A month, a reading, its figures and the way back."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect

from tests.dashboard.browser.seen import SLOW, Seen, open_sample, used

pytestmark = pytest.mark.browser


def test_the_sample_a_month_a_reading_the_figures_and_the_way_back(seen: Seen) -> None:
    page = open_sample(seen)
    seen.fits()
    chart = page.get_by_test_id("stVegaLiteChart").first
    expect(chart).to_have_attribute("aria-label", re.compile("Stacked bars, one a day, of July 2026"))
    choose_month(page, "November 2026")
    expect(used(page)).to_be_visible(timeout=SLOW)
    seen.fits()
    before = gallons(page)

    seen.go("Write it down", "Write")
    field = page.get_by_label(re.compile("Meter at the street shows"))
    expect(field).to_be_visible(timeout=SLOW)
    expect(page.get_by_text("Last: 709,340 gal on 22 November 2026, 07:57.")).to_be_visible()
    field.fill("709390")
    page.get_by_role("button", name="Store the reading").click()
    expect(page.get_by_text("Stored: Meter at the street at 709,390 gal on 22 November 2026, 18:00.")).to_be_visible(
        timeout=SLOW
    )
    seen.fits()

    seen.go("This month", "Month")
    expect(used(page)).not_to_have_text(f"{before:,} gal", timeout=SLOW)
    # The reading that straddles the first of the month is divided anew with every reading that comes.
    assert abs(gallons(page) - before - 50) <= 10, "50 gallons more on the register"

    seen.go("Files", "Files")
    page.get_by_text("History", exact=True).click()
    page.get_by_role("button", name="Take back").first.click()
    expect(page.get_by_text("Taken back: “Wrote down meter reading").first).to_be_visible(timeout=SLOW)
    seen.fits()
    seen.go("This month", "Month")
    expect(used(page)).to_have_text(f"{before:,} gal", timeout=SLOW)


def choose_month(page: Page, words: str) -> None:
    """From the list, as a person does it by typing."""
    box = page.get_by_role("combobox", name=re.compile("Month"))
    box.click()
    box.fill(words)
    page.get_by_role("option", name=words, exact=True).click()
    expect(page.get_by_role("heading", name=words, exact=True)).to_be_visible(timeout=SLOW)


def gallons(page: Page) -> int:
    return int(used(page).inner_text().split()[0].replace(",", ""))


def test_the_working_of_a_figure_opens_from_the_keyboard(seen: Seen) -> None:
    page = open_sample(seen)
    button = page.locator(".st-key-tile-unexplained").get_by_role("button", name=re.compile("How we know"))
    button.focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("dialog").get_by_text("9 times in 10")).to_be_visible(timeout=SLOW)


def test_from_what_to_do_next_to_a_card_and_into_its_form_by_the_keyboard(seen: Seen) -> None:
    """Tab goes on from the card, into the form that Enter opens; Escape closes a calendar in it and nothing else."""
    page = open_sample(seen)
    step = page.locator('.st-key-next a[href^="#"]').first
    card = page.locator(f".st-key-{(step.get_attribute('href') or '#')[1:]}")
    expect(card).not_to_be_in_viewport()
    step.focus()
    page.keyboard.press("Enter")
    expect(card).to_be_in_viewport()
    opens = page.get_by_text("Repaired on", exact=True).first
    opens.focus()
    page.locator("summary", has=opens).focus()
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    day = page.get_by_label("Day of the repair")
    assert "Day of the repair" in page.evaluate("document.activeElement.getAttribute('aria-label') || ''")
    page.get_by_role("button", name="Choose date").first.click()
    expect(page.get_by_role("grid")).to_be_visible()
    page.keyboard.press("Escape")
    expect(page.get_by_role("grid")).to_have_count(0)
    expect(day.first).to_be_visible()


def test_runs_that_did_not_come_are_written_in_one_step_and_taken_back(seen: Seen) -> None:
    """The timer's battery was dead; from the 10th to the 12th of August 2026 by the sample's programs: the pots twice a
    day, the fence on Monday and Wednesday, the beds on Monday and Tuesday, the berries on the 11th: eleven runs.
    """
    page = open_sample(seen)
    choose_month(page, "August 2026")
    seen.settled()
    card = page.locator("[class*=st-key-suspect-not_delivered]").first
    card.get_by_text("These runs did not come", exact=True).click()
    for which, day in (("From", "2026-08-10"), ("To", "2026-08-12")):
        field = page.locator(f"[class*=st-key-gone-{which.lower()}-time-]").get_by_role("textbox")
        field.fill("")
        field.press("Tab")
        seen.settled()
        choose_day(seen, which.lower(), day)
    for words in ("Porch pots: 6 runs from 10 to 12 August 2026.", "West fence: 2 runs from 10 to 12 August 2026."):
        expect(card.get_by_text(words)).to_be_visible(timeout=SLOW)
    seen.fits()
    card.get_by_role("button", name="Write it down: 11 runs did not come").click()
    told = page.get_by_text(re.compile("^Stored: 11 runs of .* from 10 to 12 August 2026 did not come"))
    expect(told).to_be_visible(timeout=SLOW)
    seen.fits()
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_text(re.compile("^Taken back: .*11 runs of"))).to_be_visible(timeout=SLOW)


def choose_day(seen: Seen, which: str, day: str) -> None:
    """Typed as the field takes it; it is sent when one goes on elsewhere."""
    field = seen.page.locator(f"[class*=st-key-gone-{which}-not]")
    field.get_by_role("spinbutton").first.focus()
    seen.page.keyboard.type(day.replace("-", ""))
    seen.page.get_by_text("As far as the meter can tell").first.click()
    seen.settled()
