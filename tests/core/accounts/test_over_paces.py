"""A logger is put in, or dies, while something is wrong: one finding, from its beginning on.

Homes are made by hand (books.py); what was added to them is what is expected, with room for the household's own noise.
"""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pandas as pd
import pytest

from core.accounts.findings import Finding
from tests.core.accounts import books

HOURLY = 1 / 24
MAY = 120  # days after the first of January
DAYS = 90


def read_seldomer(home: books.PlainHome, first: float, last: float, days: int) -> None:
    """The readings between two days of the year as if taken every so many days."""
    rows = home.intervals
    inside = (rows["start"] >= home.at(first)) & (rows["end"] <= home.at(last))
    place = ((rows["start"] - home.at(first)) // timedelta(days=days)).where(inside)
    some = rows[inside].groupby(place[inside])
    seldom = some.first().assign(end=some["end"].max(), volume_l=some["volume_l"].sum())
    home.intervals = pd.concat([rows[~inside], seldom]).sort_values("start", ignore_index=True)


def home_of(first: float, last: float, litres_h: float = 0.0) -> books.PlainHome:
    """Hourly from May on, with a leak between two days."""
    home = books.plain_home(HOURLY, DAYS, first_day=MAY)
    at = home.intervals["start"]
    home.intervals["volume_l"] += np.where((at >= home.at(first)) & (at < home.at(last)), litres_h, 0.0)
    return home


def without_runs(home: books.PlainHome, first: float) -> None:
    """No zone brings anything from a day on."""
    at = home.intervals["start"]
    home.intervals["volume_l"] -= np.where(at >= home.at(first), np.round(sum(home.zone_l.values())), 0.0)


def the_one(found: tuple[Finding, ...]) -> Finding:
    assert [f.kind for f in found if f.strength == "strong"] == [found[0].kind]
    return found[0]


@pytest.mark.parametrize("ran", [0.3, 0.45, 0.6, 0.8])
def test_a_leak_is_told_however_much_of_the_record_it_has_run(ran: float) -> None:
    begun = MAY + DAYS * (1 - ran)
    leak = the_one(home_of(begun, MAY + DAYS, 12.0).account().findings)
    assert (leak.kind, leak.until) == ("steady", None)
    assert abs(leak.since - books.START - timedelta(days=begun)) <= timedelta(hours=12)
    assert leak.rate_lph == pytest.approx(12.0, rel=0.15)


def test_a_leak_goes_on_when_hours_are_read_instead_of_days() -> None:
    home = home_of(MAY + 50, MAY + DAYS, 20.0)
    read_seldomer(home, MAY, MAY + 65, 1)
    leak = the_one(home.account().findings)
    assert (leak.kind, leak.until) == ("steady", None)
    assert abs(leak.since - home.at(MAY + 50)) <= timedelta(days=2)
    assert leak.rate_lph == pytest.approx(20.0, rel=0.2)


def test_a_house_awake_at_night_uses_no_more_than_by_the_days_before() -> None:
    """Who works at night from the day on which hours are read: the nights never rest, but there is no leak."""
    home = home_of(MAY, MAY)
    by_night = np.where(np.arange(DAYS * 24) >= 65 * 24, np.roll(home.indoor, 12), home.indoor)
    home.intervals["volume_l"] = np.round(by_night + sum(home.zone_l.values()))
    read_seldomer(home, MAY, MAY + 65, 1)
    assert [f.kind for f in home.account().findings if f.strength == "strong"] == []


def test_a_leak_goes_on_when_weeks_are_read_instead_of_hours() -> None:
    home = home_of(MAY + 55, MAY + DAYS, 20.0)
    read_seldomer(home, MAY + 69, MAY + DAYS, 7)
    leak = the_one(home.account().findings)
    assert (leak.kind, leak.until) == ("steady", None)
    assert abs(leak.since - home.at(MAY + 55)) <= timedelta(hours=12)
    assert leak.volume.value == pytest.approx(20.0 * 24 * 35, rel=0.2)


def test_a_leak_that_ended_before_the_weekly_readings_ended() -> None:
    home = home_of(MAY + 50, MAY + 69, 20.0)
    read_seldomer(home, MAY + 69, MAY + DAYS, 7)
    leak = the_one(home.account().findings)
    assert leak.kind == "steady"
    assert leak.until is not None
    assert abs(leak.until - home.at(MAY + 69)) <= timedelta(days=7)


def test_a_dead_battery_is_one_finding_by_hours_and_by_weeks() -> None:
    home = home_of(MAY, MAY)
    without_runs(home, MAY + 60)
    read_seldomer(home, MAY + 69, MAY + DAYS, 7)
    dead = the_one(home.account().findings)
    assert (dead.kind, set(dead.group), dead.until) == ("not_delivered", set(books.PROGRAMS), None)
    assert abs(dead.since - home.at(MAY + 60)) <= timedelta(days=1)
    of_runs = sum(v[60 * 24 :].sum() for v in home.zone_l.values())
    assert dead.volume.value == pytest.approx(-of_runs, rel=0.25)


def test_a_zone_that_failed_before_is_no_part_of_what_goes_on_over_two_paces() -> None:
    """Twice a line came off; the second time goes on into the hours that are read from then on, and is mended there."""
    home = books.plain_home(HOURLY, 150, first_day=100)
    day = np.arange(len(home.indoor)) / 24
    off = ((day >= 40) & (day < 60)) | ((day >= 100) & (day < 128))
    home.intervals["volume_l"] += np.where(off, np.round(home.zone_l["hedge"]), 0.0)
    read_seldomer(home, 100, 220, 1)
    found = sorted((f for f in home.account().findings if f.strength == "strong"), key=lambda f: f.since)
    assert [(f.kind, f.group) for f in found] == [("more_than_set", ("hedge",))] * 2
    for finding, (first, last) in zip(found, ((140, 160), (200, 228)), strict=True):
        assert abs(finding.since - home.at(first)) <= timedelta(days=3)
        assert finding.until is not None
        assert abs(finding.until - home.at(last)) <= timedelta(days=3)


def test_a_zone_dead_in_every_hour_that_was_read_is_not_called_over() -> None:
    """By hours alone it never brought anything; the days before know that it should."""
    home = books.plain_home(HOURLY, 150, first_day=100)
    dead = np.arange(len(home.indoor)) / 24 >= 100
    home.intervals["volume_l"] -= np.where(dead, np.round(home.zone_l["hedge"]), 0.0)
    read_seldomer(home, 100, 220, 1)
    found = home.account().findings[0]
    assert (found.kind, found.group, found.until) == ("not_delivered", ("hedge",), None)
    assert abs(found.since - home.at(200)) <= timedelta(days=3)


def test_a_leak_is_not_over_in_the_first_days_of_hours() -> None:
    home = home_of(MAY + 50, MAY + DAYS, 20.0)
    read_seldomer(home, MAY, MAY + 65, 1)
    leak = the_one(home.account(as_of=home.at(MAY + 69)).findings)
    assert (leak.kind, leak.until) == ("steady", None)
    assert leak.volume.value == pytest.approx(20.0 * 24 * 19, rel=0.2)


def test_hours_between_slow_readings_say_for_themselves_what_ran() -> None:
    """A leak of spring and one of autumn, with hourly readings in the summer between them that show none."""
    home = home_of(MAY + 15, MAY + 35, 20.0)
    at = home.intervals["start"]
    home.intervals["volume_l"] += np.where(at >= home.at(MAY + 69), 20.0, 0.0)
    read_seldomer(home, MAY, MAY + 35, 1)
    read_seldomer(home, MAY + 69, MAY + DAYS, 1)
    for f in home.account().findings:
        assert f.until is None or f.until <= home.at(MAY + 36), "over before the hours"
        assert f.until is not None or f.since >= home.at(MAY + 68), "or begun after them"
