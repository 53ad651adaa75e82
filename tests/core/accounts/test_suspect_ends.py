"""Where a stretch of slow readings begins and ends: within a reading, and at the last one.

Homes are made by hand (books.py): two people, some 350 L a day indoors; the hedge takes 1,200 L a week from April to
October, the tubs 180.
"""

from __future__ import annotations

import numpy as np
import pytest

from tests.core.accounts import books

WEEK = 7.0
WEEKS = 36


def weekly_home(lost: tuple[float, ...], last: int) -> tuple[books.PlainHome, float]:
    """All zones lost these parts of what they should have brought in the weeks up to ``last``; and the litres lost."""
    home = books.plain_home(WEEK, WEEKS * 7)
    zones = home.delivered("hedge") + home.delivered("tubs")
    share = np.zeros(len(zones))
    share[last + 1 - len(lost) : last + 1] = lost
    books.metered(home, -share * zones)
    home.intervals = home.intervals.iloc[: WEEKS - 4]
    return home, float((share * zones).sum())


@pytest.mark.parametrize("after", [0, 1, 2])
@pytest.mark.parametrize("lost", [(1.0,), (0.5, 1.0), (0.3, 1.0, 1.0), (1.0, 0.6), (0.7, 1.0, 0.7)])
def test_runs_that_did_not_come_for_some_weeks_are_told_whole(lost: tuple[float, ...], after: int) -> None:
    """As of the last week of it and the two after it."""
    home, litres = weekly_home(lost, WEEKS - 5 - after)
    found = home.account().findings
    assert [f.kind for f in found] == ["not_delivered"]
    assert -found[0].volume.value == pytest.approx(litres, rel=0.25)


@pytest.mark.parametrize("after", [1, 2])
def test_a_stop_that_is_over_is_not_said_to_go_on(after: int) -> None:
    home, _ = weekly_home((0.4, 1.0, 1.0), WEEKS - 5 - after)
    assert [f.until is not None for f in home.account().findings] == [True]


def test_a_stop_that_goes_on_has_no_end() -> None:
    home, _ = weekly_home((0.4, 1.0, 1.0), WEEKS - 5)
    assert [f.until for f in home.account().findings] == [None]


@pytest.mark.parametrize("litres", [7000.0, 9000.0])
def test_one_great_use_in_a_week_is_no_crowd_of_guests(litres: float) -> None:
    """Two people would need six guests and more for all of it."""
    home = books.plain_home(WEEK, 26 * 7)
    added = np.zeros(len(home.indoor))
    added[14] = litres
    books.metered(home, added)
    found = home.account().findings
    assert [f.kind for f in found] == ["one_off"]
    assert found[0].volume.value == pytest.approx(litres, rel=0.1)
