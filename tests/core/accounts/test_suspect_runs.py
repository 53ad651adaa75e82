"""What runs did: a valve that stayed open, more or less or nothing, other hours, and a clock that is off.

Homes are made by hand (books.py): the hedge takes 200 L/h from 3 to 5 h on Mondays, Wednesdays and Fridays, the tubs
90 L/h from 5:00 to 5:30 on four days a week.
"""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pandas as pd
import pytest

from core.accounts.lateness import late_minutes
from core.accounts.reference import learn
from tests.core.accounts import books
from tests.core.accounts.books import ledger_of

HOURLY, MAY = 1 / 24, 120
WEDNESDAY = 161  # days after 1 January 2025: 11 June, a Wednesday


def hourly_home(days: int = 70) -> books.PlainHome:
    return books.plain_home(HOURLY, days, first_day=MAY)


def hour(day: float, clock: float = 0.0) -> int:
    """Index of an hourly reading."""
    return round((day - MAY) * 24 + clock)


def all_zones(home: books.PlainHome) -> np.ndarray:
    return home.delivered("hedge") + home.delivered("tubs")


# --- stuck open -------------------------------------------------------------------------------------------------


def test_a_valve_that_stayed_open_has_its_zone_hours_and_volume() -> None:
    home = hourly_home()
    home.intervals.loc[hour(WEDNESDAY, 5) : hour(WEDNESDAY, 13), "volume_l"] += 200.0  # nine hours
    found = home.account().findings
    assert [(f.kind, f.zone) for f in found] == [("stuck_open", "hedge")]
    assert abs(found[0].since - home.at(WEDNESDAY + 5 / 24)) <= timedelta(minutes=15)
    assert found[0].until is not None
    assert abs(found[0].until - home.at(WEDNESDAY + 14 / 24)) <= timedelta(hours=1)
    assert found[0].volume.value == pytest.approx(1800, rel=0.1)


@pytest.mark.parametrize("flow", [0.93, 1.0, 1.07])
@pytest.mark.parametrize("asked", [6, 15, 39])
def test_what_a_told_valve_leaves_over_is_no_finding_of_its_own(flow: float, asked: int) -> None:
    """Open through a night in which the house is still: that its flow is known to some per cent only is not a leak."""
    home, since = books.plain_home(HOURLY, 80, first_day=100), 100
    home.runs = books.runs_of("hedge", [home.at(since + d + 20 / 24) for d in range(80)], 60.0)
    home.flows = home.flows[home.flows["zone"] == "hedge"]
    volume = home.indoor.copy()
    volume[20::24] += 200 * flow
    opened = 40 * 24 + 21
    volume[opened : opened + 19] += 200 * flow
    home.intervals["volume_l"] = np.round(volume)
    assert [f.kind for f in home.account(home.at(since + 40 + asked)).findings] == ["stuck_open"]


def test_a_valve_still_open_has_no_end() -> None:
    home = hourly_home()
    home.intervals.loc[hour(WEDNESDAY, 5) :, "volume_l"] += 200.0
    found = home.account(as_of=home.at(WEDNESDAY + 13 / 24)).findings
    assert [(f.kind, f.zone, f.until) for f in found] == [("stuck_open", "hedge", None)]
    assert "Shut the water to the zone" in found[0].caution


# --- more, less, nothing ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(("share", "kind"), [(1.6, "more_than_set"), (0.5, "less_than_set"), (0.0, "not_delivered")])
def test_a_zone_that_brings_another_amount(share: float, kind: str) -> None:
    home = hourly_home()
    home.intervals["volume_l"] += np.where(
        np.arange(len(home.intervals)) >= hour(WEDNESDAY), ((share - 1) * home.delivered("hedge")).round(), 0.0
    )
    found = home.account().findings
    assert [(f.kind, f.zone) for f in found] == [(kind, "hedge")]
    assert found[0].until is None
    assert abs(found[0].since - home.at(WEDNESDAY + 3 / 24)) <= timedelta(hours=1)
    missing = (share - 1) * home.delivered("hedge")[hour(WEDNESDAY) :].sum()
    assert found[0].volume.value == pytest.approx(missing, rel=0.1)


def test_a_few_lost_days_of_all_zones_have_an_end() -> None:
    home = hourly_home()
    lost = slice(hour(WEDNESDAY), hour(WEDNESDAY + 6))
    home.intervals.iloc[lost, home.intervals.columns.get_loc("volume_l")] -= all_zones(home)[lost]
    # ferns whose program was over by then did not fail
    over = books.runs_of("ferns", [home.at(MAY + day + 0.5) for day in range(4, 34)], 60.0)
    home.intervals.loc[[hour(MAY + day, 12) for day in range(4, 34)], "volume_l"] += 50.0
    home.runs = pd.concat([home.runs, over], ignore_index=True)
    ferns = home.flows.iloc[[0]].assign(zone="ferns", paper_lph=50.0, flow_lph=50.0)
    home.flows = pd.concat([home.flows, ferns], ignore_index=True)
    found = home.account().findings
    assert [(f.kind, f.zone) for f in found] == [("not_delivered", None)]
    assert set(found[0].group) == {"hedge", "tubs"}
    assert found[0].until is not None
    assert home.at(WEDNESDAY + 5) <= found[0].until <= home.at(WEDNESDAY + 6)
    assert found[0].volume.value == pytest.approx(-all_zones(home)[lost].sum(), rel=0.1)


# --- other hours, and clocks ------------------------------------------------------------------------------------


def test_runs_at_other_hours_are_another_schedule() -> None:
    home = hourly_home()
    runs = all_zones(home)
    runs[: hour(WEDNESDAY)] = 0
    home.intervals["volume_l"] += np.roll(runs, 6) - runs
    found = home.account().findings
    assert [f.kind for f in found] == ["another_schedule"]
    assert set(found[0].group) == {"hedge", "tubs"}
    assert "6.0 h later" in found[0].evidence[0]
    assert abs(found[0].since - home.at(WEDNESDAY + 3 / 24)) <= timedelta(hours=3)


@pytest.mark.parametrize(("hours", "words"), [(1, "1.0 h later"), (-1, "1.0 h earlier")])
def test_a_clock_an_hour_off_all_along_is_told_once(hours: int, words: str) -> None:
    home = hourly_home()
    runs = all_zones(home)
    home.intervals["volume_l"] += np.roll(runs, hours) - runs
    found = home.account()
    assert [f.kind for f in found.findings] == ["another_schedule"]
    assert words in found.findings[0].evidence[0]
    assert found.delivery["factor"].to_numpy() == pytest.approx(1.0, abs=0.1)


def late_home(minutes: float) -> books.PlainHome:
    """Runs so many minutes late: of the hedge's hours a share moves on; the tubs stay within theirs."""
    home = hourly_home()
    hedge = home.delivered("hedge")
    home.intervals["volume_l"] += ((np.roll(hedge, 1) - hedge) * minutes / 60).round()
    return home


@pytest.mark.parametrize("minutes", [0, 8, 12])
def test_minutes_are_found_and_are_no_news(minutes: int) -> None:
    """To a third: what spills into hours without a run was at first taken for use of the house."""
    home = late_home(minutes)
    ledger = ledger_of(home)
    nothing = np.zeros(len(ledger.start))
    known = learn(ledger, "", nothing, nothing.astype(bool))
    use = ledger.volume - ledger.other
    found = late_minutes(ledger, use, known.indoor, known.sigma, ledger.fine & ledger.usable)
    assert found == pytest.approx(minutes, rel=0.4)
    assert home.account().findings == ()


def test_a_few_hours_of_runs_do_not_tell_minutes() -> None:
    home = late_home(9)
    home.intervals = home.intervals.iloc[: 4 * 24]
    assert home.account(as_of=home.at(MAY + 4)).findings == ()
