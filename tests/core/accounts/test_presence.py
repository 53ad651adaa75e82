"""Who is at home: dates are written, hours are lived, and appliances draw while nobody is up.

Homes are made by hand; what was added is what is expected or left in peace.
"""

from __future__ import annotations

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest

from core.accounts.presence import EMPTY, UNSURE, people_share, presence
from tests.core.accounts import books
from tests.core.accounts.books import PlainHome, metered

HOURLY, FIRST_DAY, DAYS = 1 / 24, 60, 120
GALLON_L = 3.785411784


def edges(days: int) -> np.ndarray:
    first = datetime(2025, 3, 1, tzinfo=UTC).timestamp() / 3600
    return first + np.arange(24 * days + 1.0)


def stay(home_from: str, until: str, people: int, reason: str = "away") -> pd.DataFrame:
    return pd.DataFrame(
        {"since": [pd.Timestamp(home_from)], "until": [pd.Timestamp(until)], "people": [people], "reason": [reason]}
    )


# --- hour by hour -----------------------------------------------------------------------------------------------


def test_the_days_of_leaving_and_of_coming_back_are_unsure() -> None:
    found = presence(stay("2025-03-03", "2025-03-08", 0), 2, edges(10), ZoneInfo("UTC"))
    by_day = found.share.reshape(10, 24)
    assert found.unsure.reshape(10, 24).all(axis=1).tolist() == [d in (2, 6) for d in range(10)]
    assert (by_day[[2, 6]] == UNSURE).all()
    assert (by_day[3:6] == EMPTY).all()
    assert (by_day[[0, 1, 7, 8, 9]] == 1).all()


def test_a_night_away_is_unsure_from_end_to_end() -> None:
    found = presence(stay("2025-03-03", "2025-03-04", 0), 2, edges(5), ZoneInfo("UTC"))
    assert found.unsure.reshape(5, 24).all(axis=1).tolist() == [False, False, True, False, False]


def test_fewer_people_are_somebody() -> None:
    found = presence(stay("2025-03-03", "2025-03-06", 1), 5, edges(8), ZoneInfo("UTC"))
    assert not found.unsure.any()
    assert EMPTY < people_share(1, 5) < people_share(3, 5) < 1


# --- trips written by the day -----------------------------------------------------------------------------------


def hourly_home() -> PlainHome:
    return books.plain_home(HOURLY, DAYS, first_day=FIRST_DAY)


def date_of(home: PlainHome, day: int) -> str:
    return str(home.at(FIRST_DAY + day).date())


@pytest.mark.parametrize(("leaves", "returns"), [(0, 24), (9, 18), (20, 8)])
@pytest.mark.parametrize("shown", [HOURLY, 1])
def test_a_trip_written_by_the_day_is_no_news_whatever_the_hour(leaves: int, returns: int, shown: float) -> None:
    """They leave on the first day written and come back on the last, at some hour; all else is as ever."""
    home = books.plain_home(shown, DAYS, first_day=FIRST_DAY)
    hours = np.arange(len(home.indoor)) * (24 * shown)
    gone = (hours >= 70 * 24 + leaves) & (hours < 76 * 24 + returns)
    if shown == 1:  # of a day half is used before noon, as good as
        part = np.where(np.isin(hours // 24, (70, 76)), 0.5, 1.0)
        home = metered(home, np.where((hours >= 70 * 24) & (hours < 77 * 24), -part * home.indoor, 0.0))
    else:
        home = metered(home, np.where(gone, -home.indoor, 0.0))
    home.household = stay(date_of(home, 70), date_of(home, 77), 0)
    assert home.account().findings == ()


def test_a_leak_in_the_middle_of_a_trip_is_told_all_the_same() -> None:
    home = hourly_home()
    hours = np.arange(len(home.indoor))
    away = (hours >= 70 * 24 + 9) & (hours < 78 * 24)
    leak = (hours >= 72 * 24) & (hours < 77 * 24)
    metered(home, np.where(away, -home.indoor, 0.0) + np.where(leak, 4.0, 0.0))
    home.household = stay(date_of(home, 70), date_of(home, 78), 0)
    found = home.account().findings
    assert [f.kind for f in found] == ["steady"]
    assert found[0].volume.value == pytest.approx(4.0 * 24 * 5, rel=0.1)


# --- guests -----------------------------------------------------------------------------------------------------


def test_guests_who_were_written_down_may_stay_in_by_day() -> None:
    """One person, out from nine to five as a rule; for six days two guests use water in every waking hour."""
    home = hourly_home()
    home.people = 1
    hours, clock = np.arange(len(home.indoor)), np.arange(len(home.indoor)) % 24
    home.indoor = np.where((clock >= 9) & (clock < 17), 0.0, home.indoor)
    stay_in = (hours // 24 >= 70) & (hours // 24 < 76) & (clock >= 8) & (clock < 23)
    used = np.random.default_rng(3).gamma(1.0, 25.0, len(hours))
    metered(home, np.where(stay_in, used, 0.0))
    home.household = stay(date_of(home, 70), date_of(home, 76), 3, "guests")
    assert home.account().findings == ()


@pytest.mark.parametrize(("first", "days", "times"), [(60, 4, 1.0), (65, 7, 1.5), (62, 9, 1.6)])
def test_unwritten_guests_of_some_days_are_likelier_than_a_leak_that_ends(first: int, days: int, times: float) -> None:
    """Daily readings, as much more on each of some days, in spring before the first run."""
    home = books.plain_home(1, 140, first_day=0)
    day = np.arange(len(home.indoor))
    metered(home, np.where((day >= first) & (day < first + days), times * home.indoor.mean(), 0.0))
    said = home.account()
    assert said.findings == ()
    (stay,) = said.stays
    assert stay.people == pytest.approx(2 * times, rel=0.25)
    assert stay.volume_l == pytest.approx(times * home.indoor.mean() * days, rel=0.2)


# --- appliances of the home record ------------------------------------------------------------------------------


def winter_home(trickle_l: float, drinks: str) -> PlainHome:
    """October to March, a trickle from December to February."""
    home = books.plain_home(HOURLY, 150, first_day=280)
    day = np.arange(len(home.indoor)) // 24
    metered(home, np.where((day >= 60) & (day < 120), trickle_l, 0.0), GALLON_L)
    home.drinks = drinks
    return home


def test_a_humidifier_of_the_home_record_may_trickle_in_winter() -> None:
    assert [f.kind for f in winter_home(1.5, "").account().findings] == ["steady"]
    assert winter_home(1.5, "softener, humidifier").account().findings == ()


def test_more_than_a_humidifier_draws_is_told_beside_one() -> None:
    """Two gallons an hour; a humidifier is taken to draw one at most."""
    assert "steady" in [f.kind for f in winter_home(7.6, "humidifier").account().findings]


def test_a_softener_of_the_home_record_may_rinse_at_night() -> None:
    home = hourly_home()
    hours = np.arange(len(home.indoor))
    rinse = np.where(np.isin(hours, [80 * 24 + 2, 80 * 24 + 3]), 180.0, 0.0)
    metered(home, rinse)
    assert [f.kind for f in home.account().findings] == ["one_off"]
    home.drinks = "softener"
    assert home.account().findings == ()


def test_what_appliances_hide_is_said_with_what_could_hide() -> None:
    """One gallon an hour and a hundred gallons, the limits of the two tests above."""
    week, month = winter_home(0.0, "humidifier").account().hide
    assert "In the cold half of the year a leak under 1.0 gph is taken for the humidifier." in week.sentence
    assert "humidifier" not in month.sentence
    assert "under-read" not in week.sentence, "said once, by the room that speaks"
    assert week.under_read
    home = hourly_home()
    assert "softener" not in home.account().hide[0].sentence
    home.drinks = "softener"
    assert "under 100 gal after midnight is taken for the softener" in home.account().hide[0].sentence


# --- what looks like a leak and is the household ----------------------------------------------------------------


def test_one_of_five_at_home_is_no_empty_house() -> None:
    """Ten days with a third of the use, as often in small sips as a person alone takes them."""
    home = hourly_home()
    home.people = 5
    day = np.arange(len(home.indoor)) // 24
    metered(home, np.where((day >= 70) & (day < 80), -0.6 * home.indoor, 0.0))
    home.household = stay(date_of(home, 70), date_of(home, 80), 1, "other")
    assert home.account().findings == ()
