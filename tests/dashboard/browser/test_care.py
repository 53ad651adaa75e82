"""A shutdown, step by step."""

from __future__ import annotations

import re
from contextlib import suppress

import pytest
from playwright.sync_api import expect

from tests.dashboard.browser.seen import SLOW, Seen, open_sample

pytestmark = pytest.mark.browser


@pytest.mark.parametrize("seen", ["phone"], indirect=True)  # whoever shuts the water off stands outside
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
    click that meets a page just being drawn anew is lost, so whoever sees a page at rest that counted nothing clicks
    once more.
    """
    page = seen.page
    counted = page.get_by_text(re.compile(rf"^{count} of \d+ steps settled"))
    before = page.get_by_text(re.compile(rf"^{count - 1} of \d+ steps settled"))
    form = page.locator('[data-testid="stExpander"] details[open]').filter(has=page.get_by_text("Not needed"))
    for _ in range(5):
        seen.settled()
        if not before.is_visible():
            break
        expect(form).to_have_count(1, timeout=SLOW)
        form.get_by_role("button", name=re.compile("^Done ")).click()
        with suppress(AssertionError):
            expect(counted).to_be_visible(timeout=SLOW / 15)
    expect(counted).to_be_visible(timeout=SLOW)
