"""A zone that runs while the house gets up: what its runs bring is told by the hours in which nobody used anything.

Homes are made by hand; what was added or taken away is what is expected.
"""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pandas as pd
import pytest

from core.accounts.findings import Finding
from tests.core.accounts import books
from tests.core.accounts.books import PlainHome, metered, runs_of

HOURLY, FIRST_DAY = 1 / 24, 60
SEASON, DAYS = 50, 150  # days after the first: the first run, and the end of the readings
RUN_L = 60.0  # litres of one run on paper, at 7:00 every day


def morning_home() -> PlainHome:
    """Two people; every other morning nobody uses anything from seven to eight, on the others about 90 litres."""
    home = books.plain_home(HOURLY, DAYS, first_day=FIRST_DAY)
    rng = np.random.default_rng(7)
    clock, day = np.arange(len(home.indoor)) % 24, np.arange(len(home.indoor)) // 24
    showers = np.where(rng.random(len(home.indoor)) < 0.5, 0.0, rng.gamma(6.0, 15.0, len(home.indoor)))
    home.indoor = np.where(clock == 7, showers, home.indoor)
    home.zone_l = {"tubs": np.where((clock == 7) & (day >= SEASON), RUN_L, 0.0)}
    home.runs = runs_of("tubs", [home.at(FIRST_DAY + n + 7 / 24) for n in range(SEASON, DAYS)], 40.0)
    home.flows = home.flows[home.flows["zone"] == "tubs"].assign(paper_lph=90.0, flow_lph=90.0)
    return home


def bringing(share: float, since: int, until: int = DAYS) -> PlainHome:
    """The home with another share of each run on the days ``since`` to ``until``."""
    home = morning_home()
    day = np.arange(len(home.indoor)) // 24
    return metered(home, (share - 1) * home.zone_l["tubs"] * ((day >= since) & (day < until)))


def only(home: PlainHome, kind: str) -> Finding:
    found = home.account().findings
    assert [f.kind for f in found] == [kind]
    return found[0]


def litres(found: Finding) -> float:
    assert found.volume.value is not None
    return found.volume.value


def test_as_many_litres_every_run_are_no_news() -> None:
    assert metered(morning_home()).account().findings == ()


def test_a_third_less_is_told_where_showers_scatter_twice_as_far() -> None:
    """20 litres a run less in an hour that varies by some 50 (standard deviation of the mornings made above)."""
    found = only(bringing(0.67, DAYS - 30), "less_than_set")
    assert found.zone == "tubs"
    assert found.until is None
    assert abs((found.since - morning_home().at(FIRST_DAY + DAYS - 30 + 7 / 24)).total_seconds()) <= 86_400
    assert litres(found) == pytest.approx(-0.33 * RUN_L * 30, rel=0.1)


def test_a_clog_that_was_cleared_is_told_with_its_end() -> None:
    found = only(bringing(0.5, 90, 120), "less_than_set")
    assert found.until is not None
    assert litres(found) == pytest.approx(-0.5 * RUN_L * 30, rel=0.1)


@pytest.mark.parametrize(("share", "kind"), [(1.6, "more_than_set"), (0.5, "less_than_set")])
def test_what_came_later_is_the_news_even_if_it_lasted_longer(share: float, kind: str) -> None:
    """Of a hundred days the last sixty: the first forty are not called the odd ones."""
    found = only(bringing(share, DAYS - 60), kind)
    assert found.until is None
    assert litres(found) == pytest.approx((share - 1) * RUN_L * 60, rel=0.1)


@pytest.mark.parametrize(("share", "kind"), [(2.5, "more_than_set"), (0.35, "less_than_set")])
def test_the_flow_on_paper_says_what_is_usual_where_few_runs_were_sound(share: float, kind: str) -> None:
    """Of a hundred days the last eighty-five: emitters of the same make do not bring two and a half times theirs."""
    found = only(bringing(share, DAYS - 85), kind)
    assert found.until is None
    assert abs((found.since - morning_home().at(FIRST_DAY + DAYS - 85 + 7 / 24)).total_seconds()) <= 2 * 86_400
    assert litres(found) == pytest.approx((share - 1) * RUN_L * 85, rel=0.15)


def test_nothing_came_for_ten_days() -> None:
    found = only(bringing(0.0, 100, 110), "not_delivered")
    assert litres(found) == pytest.approx(-RUN_L * 10, rel=0.25)  # mornings with a shower hide the first and the last


def test_one_run_with_more_is_the_house_if_anything() -> None:
    """A bath of 150 litres in the hour of one run: no line comes off for one run and mends itself."""
    home = morning_home()
    hours = np.arange(len(home.indoor))
    found = metered(home, np.where(hours == 120 * 24 + 7, 150.0, 0.0)).account().findings
    assert {f.kind for f in found} <= {"one_off"}


@pytest.mark.parametrize(("step", "share", "kind"), [(3.785, 0.5, "less_than_set"), (37.85, 0.0, "not_delivered")])
def test_a_coarser_register_tells_it_as_well(step: float, share: float, kind: str) -> None:
    """Registers of one and of ten gallons."""
    home = morning_home()
    day = np.arange(len(home.indoor)) // 24
    metered(home, np.where(day >= DAYS - 30, share - 1, 0.0) * home.zone_l["tubs"], step)
    found = home.account().findings[0]
    assert found.kind == kind
    assert litres(found) == pytest.approx((share - 1) * RUN_L * 30, rel=0.2)


def test_nobody_at_home_during_a_clog_does_not_make_the_runs_before_it_the_odd_ones() -> None:
    """Of a hundred runs the last forty at two thirds; on five of these days nobody was in and nobody wrote it down."""
    home = morning_home()
    day = np.arange(len(home.indoor)) // 24
    gone = np.where((day >= DAYS - 20) & (day < DAYS - 15), -home.indoor, 0.0)
    metered(home, gone - 0.33 * home.zone_l["tubs"] * (day >= DAYS - 40))
    assert [f.kind for f in home.account().findings if f.zone] == ["less_than_set"]


def test_a_flow_written_down_too_low_does_not_move_the_clock() -> None:
    """On paper 60 % of what the zone brings, and a clog in the last sixty-five days: the runs keep their hour."""
    home = bringing(0.55, DAYS - 65)
    home.flows = home.flows.assign(paper_lph=54.0, flow_lph=54.0)
    assert "another_schedule" not in [f.kind for f in home.account().findings]


# --- two zones in one hour --------------------------------------------------------------------------------------


def two_in_an_hour(tubs_l: float, hedge_l: float, share: float, days: int) -> PlainHome:
    """Every day at 7:00 the tubs for forty minutes, then the hedge for twenty; of late the tubs got only a share."""
    home = morning_home()
    hours = np.arange(len(home.indoor))
    run = (hours % 24 == 7) & (hours // 24 >= SEASON)
    home.zone_l = {"tubs": np.where(run, tubs_l, 0.0), "hedge": np.where(run, hedge_l, 0.0)}
    at = [home.at(FIRST_DAY + n + 7 / 24) for n in range(SEASON, DAYS)]
    after = [start + timedelta(minutes=40) for start in at]
    home.runs = pd.concat([runs_of("tubs", at, 40.0), runs_of("hedge", after, 20.0)], ignore_index=True)
    flows = {"tubs": tubs_l * 60 / 40, "hedge": hedge_l * 60 / 20}
    home.flows = pd.concat(
        [home.flows.assign(zone=zone, paper_lph=lph, flow_lph=lph) for zone, lph in flows.items()], ignore_index=True
    )
    return metered(home, (share - 1) * home.zone_l["tubs"] * (hours // 24 >= DAYS - days), 3.785)


@pytest.mark.parametrize("days", [20, 35, 52])
@pytest.mark.parametrize(("tubs_l", "hedge_l"), [(90.0, 30.0), (60.0, 25.0)])
def test_a_clog_in_the_larger_of_two_is_not_the_smaller_that_brought_nothing(
    tubs_l: float, hedge_l: float, days: int
) -> None:
    """What is missing is nearly twice all that the hedge brings on paper; that both bent before is no reason."""
    found = only(two_in_an_hour(tubs_l, hedge_l, 0.4, days), "less_than_set")
    assert found.zone == "tubs"
    assert litres(found) == pytest.approx(-0.6 * tubs_l * days, rel=0.15)


def test_a_zone_that_brought_nothing_does_not_make_the_runs_beside_it_too_large_before() -> None:
    found = only(two_in_an_hour(90.0, 30.0, 0.0, 52), "not_delivered")
    assert found.zone == "tubs"
    assert litres(found) == pytest.approx(-90.0 * 52, rel=0.1)
