"""A season hardly begun when it goes wrong: what the runs bring is learned from those that came, few as they are.

Homes are made by hand (books.py), read every hour.
"""

from __future__ import annotations

import numpy as np
import pytest

from tests.core.accounts import books
from tests.core.accounts.books import PlainHome, metered

HOUR = 1 / 24
BEFORE, APRIL = 40, 90  # days of the year; runs begin with April


def spoiled(bad_from: int, until: int, later_h: int | None) -> tuple[PlainHome, float]:
    """A home whose runs, from a day on, come so many hours later than written or not at all; with their litres."""
    home = books.plain_home(HOUR, until - BEFORE, first_day=BEFORE)
    runs = sum(home.zone_l.values())
    due = np.where(np.arange(len(home.indoor)) / 24 + BEFORE >= bad_from, runs, 0.0)
    came = 0.0 if later_h is None else np.roll(due, later_h)
    return metered(home, came - due), float(due.sum())


@pytest.mark.parametrize("good", [4, 6])
@pytest.mark.parametrize("bad", [10, 25])
def test_runs_that_stop_early_in_the_season_are_missed_whole(good: int, bad: int) -> None:
    home, due = spoiled(APRIL + good, APRIL + good + bad, None)
    (found,) = home.account().findings
    assert (found.kind, set(found.group)) == ("not_delivered", set(books.PROGRAMS))
    assert found.volume.value == pytest.approx(-due, rel=0.1)


@pytest.mark.parametrize("later_h", [4, 8])
@pytest.mark.parametrize("bad", [14, 40])
def test_a_clock_gone_wrong_early_in_the_season_is_one_finding(later_h: int, bad: int) -> None:
    """Not a use for each run that came at another hour, nor a valve after each of those that came when they should."""
    home, _ = spoiled(APRIL + 6, APRIL + 6 + bad, later_h)
    (found,) = home.account().findings
    assert (found.kind, set(found.group)) == ("another_schedule", set(books.PROGRAMS))
