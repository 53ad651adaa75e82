"""The dashboard in Chromium, on a wide screen and on a phone, from a server of its own."""

from __future__ import annotations

import os
import re
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlparse

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

ROOT = Path(__file__).resolve().parents[2]
NOW = "2026-11-22T18:00:00-07:00"
SLOW = 90_000  # milliseconds a whole picture may take on a busy machine
SIZES = {"wide": (1440, 900), "phone": (390, 844)}

pytestmark = pytest.mark.browser


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


@pytest.fixture(params=list(SIZES))
def seen(request: pytest.FixtureRequest, browser: Browser, tmp_path: Path) -> Iterator[Seen]:
    """A server without a book, and a browser on it; afterwards no traceback in its log and no other host asked."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    environment = {k: v for k, v in os.environ.items() if not k.startswith(("RILLBOOK_", "STREAMLIT_"))}
    environment |= {"RILLBOOK_AS_OF": NOW, "XDG_DATA_HOME": str(tmp_path / "data"), "PYTHONPATH": str(ROOT)}
    log = tmp_path / "server.log"
    command = [sys.executable, "-m", "streamlit", "run", str(ROOT / "dashboard" / "app.py")]
    command += ["--server.headless=true", f"--server.port={port}", "--server.address=127.0.0.1"]
    with log.open("w") as out:
        server = subprocess.Popen(command, cwd=tmp_path, env=environment, stdout=out, stderr=subprocess.STDOUT)
    try:
        url = f"http://127.0.0.1:{port}"
        _wait_for(f"{url}/_stcore/health", server, log)
        width, height = SIZES[request.param]
        phone = request.param == "phone"
        context = browser.new_context(
            viewport={"width": width, "height": height}, is_mobile=phone, has_touch=phone, timezone_id="Asia/Tokyo"
        )
        context.set_default_timeout(SLOW)
        page = context.new_page()
        watched = Seen(page, url, request.param, log)
        page.on("request", lambda r: watched.hosts.add(urlparse(r.url).hostname or "inline"))
        yield watched
        context.close()
    finally:
        server.terminate()
        server.wait(timeout=20)
    assert watched.hosts <= {"127.0.0.1", "inline"}, watched.hosts
    assert "Traceback" not in log.read_text(), log.read_text()[-3000:]


def _wait_for(address: str, server: subprocess.Popen[bytes], log: Path) -> None:
    for _ in range(150):
        assert server.poll() is None, log.read_text()
        try:
            with urllib.request.urlopen(address, timeout=1) as answer:  # noqa: S310 - our own server
                if answer.read() == b"ok":
                    return
        except OSError:
            time.sleep(0.2)
    pytest.fail(f"the server did not start: {log.read_text()}")


def open_sample(seen: Seen) -> Page:
    page = seen.page
    page.goto(seen.url)
    page.get_by_role("button", name="Open the sample household").click()
    expect(page.get_by_role("heading", name="July 2026", exact=True)).to_be_visible(timeout=SLOW)
    expect(page.get_by_text("came through the meter").first).to_be_visible(timeout=SLOW)
    seen.settled()
    return page


def choose_month(page: Page, words: str) -> None:
    """From the list, as a person does it by typing."""
    box = page.get_by_role("combobox", name=re.compile("Month"))
    box.click()
    box.fill(words)
    page.get_by_role("option", name=words, exact=True).click()
    expect(page.get_by_role("heading", name=words, exact=True)).to_be_visible(timeout=SLOW)


def used(page: Page) -> Locator:
    return page.locator(".st-key-tile-water-used").get_by_test_id("stMetricValue")


def gallons(page: Page) -> int:
    return int(used(page).inner_text().split()[0].replace(",", ""))


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
    expect(page.get_by_text("Last: 709,340 on 22 November 2026, 07:57.")).to_be_visible()
    field.fill("709390")
    page.get_by_role("button", name="Store the reading").click()
    expect(page.get_by_text("Stored: Meter at the street at 709,390 on 22 November 2026, 18:00.")).to_be_visible(
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
    expect(page.get_by_text("Taken back: wrote down meter reading").first).to_be_visible(timeout=SLOW)
    seen.fits()
    seen.go("This month", "Month")
    expect(used(page)).to_have_text(f"{before:,} gal", timeout=SLOW)


def test_a_shutdown_half_way_left_resumed_and_finished(seen: Seen) -> None:
    page = open_sample(seen)
    seen.go("Care & season", "Care")
    expect(page.get_by_text(re.compile(r"0 of \d+ steps settled"))).to_be_visible(timeout=SLOW)
    total = int(re.findall(r"of (\d+) steps", page.get_by_text(re.compile(r"0 of \d+ steps settled")).inner_text())[0])
    half = total // 2
    for done in range(half):
        settle_next(seen, done + 1)
    seen.fits()

    page.reload()
    expect(page.get_by_text(re.compile(rf"{half} of {total} steps settled"))).to_be_visible(timeout=SLOW)
    for done in range(half, total):
        settle_next(seen, done + 1)
    page.get_by_role("button", name="Finish the shutdown").click()
    expect(page.get_by_text(re.compile("The shutdown of 2026 is finished")).first).to_be_visible(timeout=SLOW)
    expect(page.get_by_text(re.compile("Shut down since 22 November")).first).to_be_visible(timeout=SLOW)
    seen.fits()


def settle_next(seen: Seen, count: int) -> None:
    """Say "Done" in the one step that stands open, and wait until it is counted.

    The page is left to finish first: a step that was just settled stands open a moment longer than the next one. A
    click that meets a page just being drawn anew is lost, so whoever sees that nothing was counted clicks once more.
    """
    page = seen.page
    counted = page.get_by_text(re.compile(rf"^{count} of \d+ steps settled"))
    before = page.get_by_text(re.compile(rf"^{count - 1} of \d+ steps settled"))
    form = page.locator('[data-testid="stExpander"] details[open]').filter(has=page.get_by_text("Not needed"))
    for _ in range(2):
        seen.settled()
        expect(form).to_have_count(1, timeout=SLOW)
        form.get_by_role("button", name=re.compile("^Done ")).click()
        with suppress(AssertionError):
            expect(counted).to_be_visible(timeout=SLOW / 3)
        if not before.is_visible():
            break
    expect(counted).to_be_visible(timeout=SLOW)


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
    expect(page.get_by_text(re.compile("^Taken back: stored: "))).to_be_visible(timeout=SLOW)


def test_the_working_of_a_figure_opens_from_the_keyboard(seen: Seen) -> None:
    page = open_sample(seen)
    button = page.locator(".st-key-tile-unexplained").get_by_role("button", name=re.compile("How we know"))
    button.focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("dialog").get_by_text("9 times in 10")).to_be_visible(timeout=SLOW)
