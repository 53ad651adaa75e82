"""Minutes of all zones turned up or down at the controller and never written down.

Homes are made by hand (books.py): the hedge takes 200 L/h from 3 to 5 h on Mondays, Wednesdays and Fridays, the tubs
90 L/h from 5:00 to 5:30 on Mondays, Tuesdays, Thursdays and Saturdays; so on Mondays one follows the other.
"""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest

from core.accounts.findings import Finding
from tests.core.accounts import books

HOURLY, MAY, DAYS = 1 / 24, 120, 80  # the readings begin on 1 May 2025, a Thursday
MONDAY = 173  # days after 1 January 2025: 23 June
WEEKS = 4  # from then to the end, but for a Sunday, on which nothing runs


def poured(added: np.ndarray, day: int, begin: float, hours: float, flow_lph: float) -> None:
    """Adds a flow from an hour of a day on to the hourly readings it falls in."""
    first = (day - MAY) * 24
    for clock in range(24):
        inside = min(begin + hours, clock + 1) - max(begin, clock)
        added[first + clock] += flow_lph * max(inside, 0.0)


def turned(share: float, until: int = MAY + DAYS, follows: bool = False, tubs: bool = True) -> books.PlainHome:
    """The home with all runs from that Monday on ``share`` times as long: a run waits for the one before it, and where
    it ``follows`` it begins as soon as that is over; without ``tubs`` theirs keep their length.
    """
    home = books.plain_home(HOURLY, DAYS, first_day=MAY)
    added = np.zeros(len(home.indoor))
    for day in range(MONDAY, until):
        weekday = (day - MONDAY) % 7
        over = 5.0
        if weekday in (0, 2, 4):
            poured(added, day, 3.0, 2.0, -200.0)
            poured(added, day, 3.0, 2.0 * share, 200.0)
            over = 3.0 + 2.0 * share
        if weekday in (0, 1, 3, 5):
            begins = over if weekday == 0 and follows else max(over, 5.0)
            poured(added, day, 5.0, 0.5, -90.0)
            poured(added, day, begins, 0.5 * (share if tubs else 1.0), 90.0)
    home.intervals["volume_l"] = np.round(home.intervals["volume_l"] + added)
    return home


def week_l(share: float) -> float:
    """Litres of a week more than written: three runs of 400 L and four of 45 L."""
    return (share - 1) * (3 * 400 + 4 * 45)


def only(home: books.PlainHome) -> Finding:
    found = home.account().findings
    assert [(f.kind, f.zone, set(f.group)) for f in found] == [("another_schedule", None, set(books.PROGRAMS))]
    return found[0]


@pytest.mark.parametrize("share", [1.3, 1.5, 2.0])
def test_turned_up_is_one_finding_of_all_zones(share: float) -> None:
    found = only(turned(share))
    assert found.share == pytest.approx(share - 1, abs=0.05)
    assert found.volume.value == pytest.approx(WEEKS * week_l(share), rel=0.1)
    assert found.until is None
    assert abs(found.since - books.START - timedelta(days=MONDAY, hours=3)) < timedelta(days=1)


@pytest.mark.parametrize("follows", [False, True])
def test_turned_down_too_whether_runs_keep_their_starts_or_follow_each_other(follows: bool) -> None:
    found = only(turned(0.6, follows=follows))
    assert found.share == pytest.approx(-0.4, abs=0.05)
    assert found.volume.value == pytest.approx(WEEKS * week_l(0.6), rel=0.1)


def test_set_back_again_it_has_an_end() -> None:
    found = only(turned(1.5, until=MONDAY + 14))
    assert found.until is not None
    assert abs(found.until - books.START - timedelta(days=MONDAY + 14)) < timedelta(days=3)
    assert found.volume.value == pytest.approx(2 * week_l(1.5), rel=0.1)


def test_runs_that_came_shorter_are_no_missed_ones() -> None:
    """At 0.6 of its minutes the hedge still brought 240 L each time."""
    told = turned(0.6).account().evidence
    hedge = told[(told["zone"] == "hedge") & (told["day"] >= "2025-06-23")]
    assert len(hedge) == 3 * WEEKS
    assert set(hedge["evidence"]) == {"meter confirms"}


def test_it_says_to_compare_the_minutes_and_to_write_the_change_down() -> None:
    found = only(turned(1.5))
    assert "50% longer" in found.evidence[0]
    assert "minutes" in found.check_first
    assert "change of each program" in found.check_first
    assert "pressure regulator" in found.check_first
    assert "filter" in only(turned(0.6)).check_first


@pytest.mark.parametrize("share", [0.6, 1.5])
def test_one_zone_alone_is_not_all_of_them_and_by_its_hours_no_other_flow(share: float) -> None:
    """The hedge goes on at its usual flow from five to six, or stops early."""
    found = turned(share, tubs=False).account().findings
    assert [(f.kind, f.zone, f.group) for f in found] == [("another_schedule", "hedge", ("hedge",))]
    assert found[0].volume.value == pytest.approx(WEEKS * (share - 1) * 3 * 400, rel=0.1)


def test_as_written_nothing_is_told() -> None:
    assert turned(1.0).account().findings == ()


def test_a_few_days_of_more_are_no_change_of_minutes() -> None:
    """Two waterings of the hedge with the house up early: nobody turns all minutes up for three days."""
    found = turned(1.4, until=MONDAY + 3).account().findings
    assert "another_schedule" not in [f.kind for f in found]


def test_a_daily_meter_tells_the_litres_though_not_in_which_hours_they_came() -> None:
    home = turned(1.5)
    hourly = home.intervals
    litres = hourly["volume_l"].to_numpy().reshape(-1, 24).sum(axis=1)
    home.intervals = hourly.iloc[::24].assign(end=hourly["end"].iloc[23::24].array, volume_l=litres)
    found = home.account().findings
    assert [f.kind for f in found] in (["more_than_set"], ["another_schedule"])
    assert found[0].volume.value == pytest.approx(WEEKS * week_l(1.5), rel=0.2)
