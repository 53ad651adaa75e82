"""Registers whose steps are larger than a day's use, as those of whole cubic metres: what one reading rounds away the
next one shows.

Homes are made by hand (books.py); what was added to them is what is expected.
"""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest

from tests.core.accounts import books

CUBIC_METRE_L = 1000.0
FIRST, LAST = 180, 240  # days of a leak


def home_of(pace: int, litres_h: float) -> books.PlainHome:
    home = books.plain_home(pace, 364, first_day=1)
    day = np.arange(len(home.indoor)) * pace
    leak = np.where((day >= FIRST) & (day < LAST), litres_h * 24 * pace, 0.0)
    return books.metered(home, leak, CUBIC_METRE_L)


@pytest.mark.parametrize("pace", [1, 7])
def test_the_spread_said_is_that_of_the_readings(pace: int) -> None:
    told = home_of(pace, 0.0).account()
    assert told.findings == ()
    assert told.intervals["sd_l"].median() == pytest.approx(told.intervals["unexplained_l"].std(), rel=0.4)


@pytest.mark.parametrize(("pace", "litres_h"), [(1, 22.0), (7, 12.0)])
def test_a_leak_of_two_months_is_told(pace: int, litres_h: float) -> None:
    leak = home_of(pace, litres_h).account().findings[0]
    assert (leak.kind, leak.strength) == ("steady", "strong")
    assert abs(leak.since - books.START - timedelta(days=1 + FIRST)) <= timedelta(days=7)
    assert leak.rate_lph == pytest.approx(litres_h, rel=0.2)


@pytest.mark.parametrize("steps_l", [(3.8, 38.0), (38.0, 3.8)])
def test_hours_of_two_steps_in_one_book_tell_a_leak_and_no_more(steps_l: tuple[float, float]) -> None:
    """A step ten times as coarse, or as fine, for the last two months of four and a half; 8 L/h from day 115 to 130."""
    home = books.plain_home(1 / 24, 136)
    hour = np.arange(len(home.indoor))
    leak_l = np.where((hour >= 115 * 24) & (hour < 130 * 24), 8.0, 0.0)
    books.metered(home, leak_l, steps_l[0])
    shown, after = home.intervals.copy(), hour >= 75 * 24
    books.metered(home, leak_l, steps_l[1])
    home.intervals.loc[~after] = shown.loc[~after]
    account = home.account()
    [leak] = account.findings
    assert leak.kind == "steady"
    assert leak.volume.value == pytest.approx(15 * 24 * 8, rel=0.25)
    week = account.hide[0].rate_lph
    assert week is not None
    assert 1.0 < week < 8.0  # 1 L/h is four steps of the coarser register in a week, which nothing could tell
