"""Water that runs all the time: told while it runs and when it ends, known from nights alone, and what could hide.

Homes are made by hand (books.py); what was added to them is what is expected, with room for the household's own noise.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from itertools import pairwise

import numpy as np
import pandas as pd
import pytest

from core.accounts.suspects.no_rest import no_rest
from core.accounts.suspects.view import View
from tests.core.accounts import books
from tests.core.accounts.books import case_of
from tests.core.accounts.frames import DENVER

HOURLY = 1 / 24
MAY = 120  # days after the first of January


def hourly_home(days: int = 60) -> books.PlainHome:
    return books.plain_home(HOURLY, days, first_day=MAY)


def apart(a: datetime | None, b: datetime) -> timedelta:
    assert a is not None
    return abs(a - b)


def add(home: books.PlainHome, first: float, last: float, litres_h: float) -> None:
    """A flow between two days of the year."""
    inside = (home.intervals["start"] >= home.at(first)) & (home.intervals["end"] <= home.at(last))
    hours = (home.intervals["end"] - home.intervals["start"]).dt.total_seconds() / 3600
    home.intervals.loc[inside, "volume_l"] += (litres_h * hours[inside]).round()


# --- steady -----------------------------------------------------------------------------------------------------


def test_a_plain_house_has_no_leak() -> None:
    assert hourly_home().account().findings == ()


def test_a_leak_that_goes_on_has_its_rate_start_and_volume() -> None:
    home = hourly_home()
    add(home, MAY + 40, MAY + 60, 5.0)
    found = home.account().findings
    assert [f.kind for f in found] == ["steady"]
    assert (found[0].zone, found[0].until) == (None, None)
    assert found[0].rate_lph == pytest.approx(5.0, rel=0.15)
    assert found[0].volume.value == pytest.approx(5.0 * 20 * 24, rel=0.15)
    assert apart(found[0].since, home.at(MAY + 40)) <= timedelta(hours=9)


def test_a_leak_that_ended_has_its_end() -> None:
    home = hourly_home()
    add(home, MAY + 20, MAY + 35, 8.0)
    found = home.account().findings
    assert [f.kind for f in found] == ["steady"]
    assert apart(found[0].since, home.at(MAY + 20)) <= timedelta(hours=9)
    assert apart(found[0].until, home.at(MAY + 35)) <= timedelta(hours=9)


def test_weekly_readings_tell_a_leak_to_the_reading() -> None:
    home = books.plain_home(7, 364)
    add(home, 40 * 7, 364, 25.0)
    top = home.account().findings[0]
    assert top.kind == "steady"
    assert apart(top.since, home.at(40 * 7)) <= timedelta(days=7)
    assert top.rate_lph == pytest.approx(25.0, rel=0.25)


@pytest.mark.parametrize("pace", [30, 91])
def test_of_one_long_reading_a_leak_is_told_with_all_else_it_may_be(pace: int) -> None:
    """What passed in a month or a quarter may have run all the while, for days after a run, or filled a pool."""
    home = books.plain_home(pace, 3 * 364)
    first = 728 // pace * pace
    add(home, first, first + pace, 25.0)
    middle = home.at(first + pace / 2)
    told = [f for f in home.account().findings if f.since <= middle and (f.until is None or f.until >= middle)]
    assert [f.strength for f in told] == ["strong"]
    named = {told[0].kind, *(r.kind for r in told[0].rivals)}
    assert {"steady", "one_off"} <= named


# --- no rest ----------------------------------------------------------------------------------------------------


def test_a_leak_as_old_as_the_record_is_told_by_its_nights() -> None:
    home = hourly_home(25)
    add(home, MAY, MAY + 25, 4.0)
    found = home.account().findings
    assert [f.kind for f in found] == ["steady"]
    assert found[0].since == home.at(MAY)
    assert found[0].until is None
    assert found[0].rate_lph == pytest.approx(4.0, rel=0.25)


def test_nights_that_never_rest_tell_when_it_ended() -> None:
    """Asked of the nights alone, which need no record of what is normal."""
    home = hourly_home(40)
    add(home, MAY, MAY + 25, 4.0)
    case = case_of(home)
    found = no_rest(case, View.of(case))
    assert [(s.kind, s.zones, s.since) for s in found] == [("steady", (), case.ledger.start[0])]
    assert found[0].until is not None
    assert apart(case.ledger.when(found[0].until), home.at(MAY + 25)) <= timedelta(
        hours=48
    )  # a tenth of the nights may rest
    assert 12 <= found[0].detail["nights"] <= 27  # those without a run
    assert found[0].rate == pytest.approx(4.0, rel=0.25)


@pytest.mark.parametrize("as_of", [datetime(2025, 6, 30, tzinfo=UTC), datetime(2025, 11, 20, tzinfo=UTC)])
def test_a_night_of_summer_is_the_same_one_asked_in_winter(as_of: datetime) -> None:
    """A house that rests from midnight to three only, by the clock on its wall."""
    home = hourly_home(60)
    hour = home.intervals["start"].dt.tz_convert(DENVER).dt.hour
    home.intervals["volume_l"] = np.where(hour < 3, 0.0, 40.0)
    case = case_of(home, DENVER, as_of)
    assert no_rest(case, View.of(case)) == []


def test_one_night_of_rest_a_week_is_rest() -> None:
    home = hourly_home(28)
    for night in range(28):
        if night % 7:
            add(home, MAY + night, MAY + night + 5 / 24, 4.0)
    case = case_of(home)
    assert no_rest(case, View.of(case)) == []


def test_appliances_that_drink_at_night_are_no_leak() -> None:
    home = hourly_home(25)
    add(home, MAY, MAY + 25, 4.0)
    home.drinks = "humidifier"
    assert home.account().findings == ()


# --- what could hide --------------------------------------------------------------------------------------------


def test_finer_and_longer_readings_hide_less() -> None:
    rates = {}
    for pace in (7, 1, HOURLY):
        home = books.plain_home(pace, 300) if pace >= 1 else books.plain_home(pace, 120, first_day=MAY)
        rates[pace] = {h.days: h.rate_lph for h in home.account().hide}
    assert rates[7][7] is None  # one reading within the week tells nothing
    assert rates[1][30] < rates[1][7]
    assert rates[HOURLY][30] <= rates[HOURLY][7]
    assert rates[HOURLY][30] < min(rates[1][30], rates[7][30])


@pytest.mark.parametrize(("pace", "days"), [(1, 30), (HOURLY, 7)])
def test_twice_of_what_could_hide_would_be_told(pace: float, days: int) -> None:
    long, first = (300, 0) if pace == 1 else (90, MAY)
    home = books.plain_home(pace, long, first_day=first)
    begin = first + long - days - 1
    before = home.account(as_of=home.at(begin))
    rate = next(h.rate_lph for h in before.hide if h.days == days)
    assert rate is not None
    add(home, begin, first + long, 2 * rate)
    found = home.account().findings
    assert [f.kind for f in found] == ["steady"]


def test_the_pace_is_that_of_the_last_few_readings() -> None:
    """42 weeks read by the week, and the same as three quarters with three weekly readings after them."""
    weekly = books.plain_home(7, 294)
    bills = books.plain_home(7, 294)
    rows = bills.intervals
    cuts = [*range(0, 39, 13), 39, 40, 41, 42]  # 42 weeks: three quarters and three weeks
    bills.intervals = pd.concat(
        [
            rows.iloc[a:b].tail(1).assign(start=rows["start"].iloc[a], volume_l=rows["volume_l"].iloc[a:b].sum())
            for a, b in pairwise(cuts)
        ],
        ignore_index=True,
    ).astype(rows.dtypes)
    assert len(bills.intervals) == 6
    told = {h.days: h.sentence for h in bills.account().hide}
    assert "One reading in 7 days" in told[7]
    assert "91 days" not in told[30]
    rate = next(h.rate_lph for h in weekly.account().hide if h.days == 30)
    fewer = next(h.rate_lph for h in bills.account().hide if h.days == 30)
    assert rate is not None
    assert fewer is None or fewer > rate, "no better known than by weekly readings all along"


def test_a_book_without_readings_says_that_it_would_tell_nothing() -> None:
    home = books.plain_home(1, 30)
    home.intervals = home.intervals.iloc[:0]
    assert [(h.days, h.rate_lph) for h in home.account().hide] == [(7, None), (30, None)]
    assert all("Without readings" in h.sentence for h in home.account().hide)
