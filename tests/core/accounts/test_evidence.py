"""What hourly readings say of each run in a first season, where a zone runs every morning and the house is little known
at that hour. Homes are made by hand.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from core.accounts.evidence import AGAINST, FOR
from tests.core.accounts import books
from tests.core.accounts.books import PlainHome, metered, runs_of

HOURLY, FIRST_DAY, DAYS, OFF = 1 / 24, 120, 70, 6  # days of readings; without a run before the first
RUN_L = 75.0  # litres of one run, at 5:00 every day
NO_RUN = range(48, 53)


def first_season(missing: range = range(0), drawn: dict[int, float] | None = None) -> PlainHome:
    """Two people who get up at six and shower from six to eight; the tubs run at five, but for the days ``missing``.

    Args:
        drawn: litres that the house uses from five to six on some days.
    """
    home = books.plain_home(HOURLY, DAYS, first_day=FIRST_DAY)
    rng = np.random.default_rng(3)
    clock, day = np.arange(len(home.indoor)) % 24, np.arange(len(home.indoor)) // 24
    showers = rng.gamma(6.0, 12.0, len(home.indoor))
    home.indoor = np.select(
        [clock == 5, (clock == 6) | (clock == 7)], [rng.gamma(1.0, 4.0, len(clock)), showers], home.indoor
    )
    for which, litres in (drawn or {}).items():
        home.indoor[which * 24 + 5] = litres
    runs = (clock == 5) & (day >= OFF)
    home.zone_l = {"tubs": np.where(runs & ~np.isin(day, list(missing)), RUN_L, 0.0)}
    home.runs = runs_of("tubs", [home.at(FIRST_DAY + n + 5 / 24) for n in range(OFF, DAYS)], 50.0)
    home.flows = home.flows[home.flows["zone"] == "tubs"].assign(paper_lph=90.0, flow_lph=90.0)
    return metered(home, np.zeros(len(home.indoor)))


def said_of(home: PlainHome) -> pd.Series:
    told = home.account().evidence
    day = (told["day"] - pd.Timestamp(home.start.replace(tzinfo=None))).dt.days - FIRST_DAY
    return told.set_index(day)["evidence"]


def test_the_meter_vouches_for_nearly_every_morning_run() -> None:
    said = said_of(first_season())
    assert (said == FOR).mean() >= 0.9
    assert not (said == AGAINST).any()


def test_days_on_which_nothing_came_are_known_and_the_days_around_them_as_well() -> None:
    said = said_of(first_season(NO_RUN))
    assert (said[list(NO_RUN)] == AGAINST).all()
    assert (said.drop(list(NO_RUN)) == FOR).mean() >= 0.85


def test_who_showers_at_five_on_a_day_without_a_run_is_no_run() -> None:
    """Sixty litres by the house amid days that brought nothing: that runs came on most other days is no reason."""
    said = said_of(first_season(NO_RUN, {50: 60.0}))
    assert said[50] != FOR


def test_a_reading_that_does_not_speak_for_a_run_is_not_made_to() -> None:
    """One run that brought nothing and hides behind ten litres of the house stays unvouched for, at least."""
    said = said_of(first_season(range(30, 31)))
    assert said[30] != FOR


def test_a_program_that_never_ran_is_vouched_for_by_nothing() -> None:
    assert not (said_of(first_season(range(OFF, DAYS))) == FOR).any()
