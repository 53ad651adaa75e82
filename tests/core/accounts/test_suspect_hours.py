"""What only hourly readings show: hours of one use, a leak of hours, who was written down, steps of a coarse register.

Homes are made by hand (books.py) and read from a register of whole steps; what was added is what is expected.
"""

from __future__ import annotations

from datetime import datetime, timedelta

import numpy as np
import pandas as pd
import pytest
from numpy.typing import NDArray

from core.accounts.findings import Finding
from core.accounts.suspects import standing
from tests.core.accounts import books
from tests.core.accounts.books import PlainHome, case_of, metered, runs_of
from tests.core.accounts.frames import GALLON_L

Floats = NDArray[np.float64]

HOURLY, MAY = 1 / 24, 120
MONDAY = 152  # days after 1 January 2025: 2 June, a Monday, on which both zones run


def hourly_home(days: int = 40) -> PlainHome:
    return books.plain_home(HOURLY, days, first_day=MAY)


def small_home(days: int = 40) -> PlainHome:
    """One person whose uses are of a few litres each, and seldom in the evening from 20:00 on."""
    home = hourly_home(days)
    home.people = 1
    rng = np.random.default_rng(1)
    clock = np.arange(len(home.indoor)) % 24
    often = np.select([clock < 6, clock < 9, clock < 17, clock < 20], [0.03, 1.5, 0.5, 1.0], 0.2)
    home.indoor = np.array([rng.gamma(2.0, 3.0, n).sum() for n in rng.poisson(often)])
    return home


def flow(home: PlainHome, begin: float, hours: float, litres_h: float) -> Floats:
    """Litres by interval of one flow from a day of the year on: its first and last hour in part."""
    edge = np.arange(len(home.indoor) + 1.0)
    first = (begin - MAY) * 24
    inside = np.clip(np.minimum(edge[1:], first + hours) - np.maximum(edge[:-1], first), 0.0, None)
    return np.asarray(litres_h * inside)


def near(found: datetime | None, true: datetime, hours: float) -> bool:
    return found is not None and abs(found - true) <= timedelta(hours=hours)


def only(found: tuple[Finding, ...], kind: str) -> Finding:
    assert [f.kind for f in found] == [kind]
    return found[0]


# --- who was written down ---------------------------------------------------------------------------------------


def with_guests(times: float) -> PlainHome:
    """A home of one that uses so many times as much in every hour of a week."""
    home = hourly_home()
    home.people = 1
    week = (np.arange(len(home.indoor)) >= 20 * 24) & (np.arange(len(home.indoor)) < 27 * 24)
    return metered(home, np.where(week, (times - 1) * home.indoor, 0.0))


def written_down(home: PlainHome) -> pd.DataFrame:
    """Four people at home in that week."""
    since, until = (pd.Timestamp(home.at(MAY + day).date()) for day in (20, 27))
    return pd.DataFrame({"since": [since], "until": [until], "people": [4], "reason": ["guests"]})


@pytest.mark.parametrize("times", [3, 4])
def test_four_written_down_may_use_three_and_four_times_as_much(times: float) -> None:
    home = with_guests(times)
    home.household = written_down(home)
    assert standing(case_of(home)) == []
    assert home.account().findings == ()


@pytest.mark.parametrize("times", [3, 4])
def test_guests_nobody_wrote_down_are_guests_and_no_leak(times: float) -> None:
    home = with_guests(times)
    assert [s.kind for s in standing(case_of(home))] == ["busier"]
    assert "steady" not in {f.kind for f in home.account().findings}


# --- one use over hours -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("clock", "litres_h"), [(2.8, 150.0), (2.8, 300.0), (13.3, 150.0), (13.3, 300.0), (19.1, 150.0)]
)
def test_one_flow_of_some_hours_is_one_use(clock: float, litres_h: float) -> None:
    """3.4 hours, of which the first and the last fill an hour of the register in part."""
    home = small_home()
    begin = MAY + 30 + clock / 24
    metered(home, flow(home, begin, 3.4, litres_h))
    found = only(home.account().findings, "one_off")
    assert near(found.since, home.at(begin), 1)
    assert near(found.until, home.at(begin + 3.4 / 24), 1)
    assert found.volume.value == pytest.approx(3.4 * litres_h, rel=0.1)


def test_one_flow_still_going_is_one_use_so_far() -> None:
    """At the last reading 2.9 hours of it have come."""
    home = small_home()
    begin = MAY + 30 + 19.1 / 24
    metered(home, flow(home, begin, 3.4, 300.0))
    found = only(home.account(as_of=home.at(MAY + 30 + 22 / 24)).findings, "one_off")
    assert found.until is None
    assert near(found.since, home.at(begin), 1)
    assert found.volume.value == pytest.approx(2.9 * 300, rel=0.1)


# --- a leak of hours --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("hours", [5, 6, 8])
def test_a_leak_of_some_evening_hours_is_told_while_it_runs(hours: int) -> None:
    home = small_home()
    begin = MAY + 40 - hours / 24
    metered(home, flow(home, begin, hours, 8 * GALLON_L))
    found = only(home.account().findings, "steady")
    assert found.until is None
    assert near(found.since, home.at(begin), 1)
    assert found.rate_lph == pytest.approx(8 * GALLON_L, rel=0.1)


@pytest.mark.parametrize("last_hour", [0, 1, 2, 3])
def test_the_same_of_three_hours_may_be_any_use(last_hour: int) -> None:
    """Whichever hour before midnight is the last that was read."""
    home = small_home()
    end = MAY + 40 - last_hour / 24
    metered(home, flow(home, end - 3 / 24, 3, 8 * GALLON_L))
    assert "steady" not in {f.kind for f in home.account(as_of=home.at(end)).findings}


def test_the_same_that_is_over_may_be_any_use() -> None:
    """Six hours of the evening before the last."""
    home = metered(small_home(), flow(hourly_home(), MAY + 38.75, 6, 8 * GALLON_L))
    assert "steady" not in {f.kind for f in home.account().findings}


# --- steps of a coarse register ---------------------------------------------------------------------------------


@pytest.mark.parametrize("days", [70, 80])
def test_a_register_of_ten_gallons_does_not_overstate_a_leak(days: int) -> None:
    """Five gallons an hour for thirty days, up to the last reading and ended ten days before it."""
    home = hourly_home(days)
    metered(home, flow(home, MAY + 40, 30 * 24, 5 * GALLON_L), step_l=10 * GALLON_L)
    found = [f for f in home.account().findings if f.kind == "steady"]
    assert [f.until is None for f in found] == [days == 70]
    assert found[0].volume.value == pytest.approx(30 * 24 * 5 * GALLON_L, rel=0.1)


# --- a valve that lets through less -----------------------------------------------------------------------------


@pytest.mark.parametrize("share", [0.85, 1.1])
def test_a_valve_that_stays_open_at_another_flow_is_told_in_a_house_of_dry_hours(share: float) -> None:
    """From 5:00 on, when the hedge's run was over, for six hours; nobody uses anything before noon."""
    home = small_home(60)
    clock = np.arange(len(home.indoor)) % 24
    home.indoor = np.where(clock < 12, 0.0, home.indoor)
    hedge_lph = books.PROGRAMS["hedge"][0]
    home.zone_l["tubs"] = np.zeros(len(home.indoor))
    home.runs = home.runs[home.runs["zone"] == "hedge"]
    metered(home, flow(home, MONDAY + 5 / 24, 6, share * hedge_lph), GALLON_L)
    found = only(home.account().findings, "stuck_open")
    assert found.zone == "hedge"
    assert near(found.since, home.at(MONDAY + 5 / 24), 1)
    assert near(found.until, home.at(MONDAY + 11 / 24), 1)
    assert found.volume.value == pytest.approx(6 * share * hedge_lph, rel=0.1)


# --- runs that did not come -------------------------------------------------------------------------------------


@pytest.mark.parametrize("days", [13, 7])
def test_nothing_came_from_the_second_run_of_a_day_on(days: int) -> None:
    """On that Monday the hedge ran from 3 to 5 h; the tubs, due at 5:00, and all runs after them brought nothing."""
    home = hourly_home(45)
    missing = sum(home.zone_l.values())
    since = np.arange(len(missing)) - (MONDAY - MAY) * 24
    metered(home, np.where((since >= 5) & (since < 24 * days), -missing, 0.0))
    found = only(home.account().findings, "not_delivered")
    assert set(found.group) == {"hedge", "tubs"}
    assert near(found.since, home.at(MONDAY + 5 / 24), 1)
    assert (found.until is None) == (days == 13)


# --- an hour in which a zone runs every day ---------------------------------------------------------------------


def with_daily_drip(litres_h: float) -> PlainHome:
    """Two weeks of a home asleep until eight, whose one drip line (100 L/h on paper) runs from 3:45 to 4:45."""
    home = hourly_home(14)
    clock = np.arange(len(home.indoor)) % 24
    home.indoor = np.where(clock < 8, 0.0, home.indoor)
    home.zone_l = {"tubs": litres_h * np.select([clock == 3, clock == 4], [0.25, 0.75], 0.0)}
    home.runs = runs_of("tubs", [home.at(MAY + day + 3.75 / 24) for day in range(14)], 60.0)
    home.flows = home.flows[home.flows["zone"] == "tubs"].assign(paper_lph=100.0, flow_lph=100.0, sd_share=0.3)
    return metered(home)


@pytest.mark.parametrize("share", [0.8, 1.0, 1.2, 1.5])
def test_the_hours_beside_tell_what_the_house_uses_while_a_zone_runs(share: float) -> None:
    found = with_daily_drip(100 * share).account()
    assert found.delivery["factor"].iloc[0] == pytest.approx(share, rel=0.04)
    assert found.findings == ()


# --- how sure to be ---------------------------------------------------------------------------------------------


def test_readings_that_come_often_must_speak_clearer() -> None:
    """Common practice, no source: who reads every day or hour looks often, weekly readings are looked at seldom. What
    is asked beyond rarity itself is part of the cost.
    """
    weekly, daily, hourly = (case_of(books.plain_home(pace, 70)) for pace in (7, 1, HOURLY))
    assert weekly.margin == 0 < hourly.margin == daily.margin
    year = {7: weekly, 1: daily, HOURLY: hourly}
    for pace, case in year.items():  # once a year, among so many readings of a year (365.25 days)
        assert case.rarity(case.rows, 1.0) - case.margin == pytest.approx(np.log(365.25 / pace))
