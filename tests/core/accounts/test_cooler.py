"""A home with an evaporative cooler: what it drinks in summer is not put down to a zone that runs every summer day.

The cooler's 3 gal/h of summer afternoons is common practice, no source.
"""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pandas as pd
import pytest

from core.accounts.drinkers import drinking_hours
from core.accounts.ledger import make_ledger
from core.accounts.reference import learn
from tests.core.accounts import books
from tests.core.accounts.frames import GALLON_L

DAY = timedelta(days=1)


@pytest.fixture
def daily_zone(monkeypatch: pytest.MonkeyPatch) -> None:
    """One zone of 200 L/h that runs two hours every day from April to October."""
    monkeypatch.setattr(books, "PROGRAMS", {"beds": (200.0, 2.0, tuple(range(7)))})


def cooler_l(home: books.PlainHome) -> np.ndarray:
    """Litres in each interval: more hours of the afternoon the nearer to the end of July, none in May and October."""
    draw = np.random.default_rng(7)
    litres = np.zeros(len(home.intervals))
    for k, (a, b) in enumerate(zip(home.intervals["start"], home.intervals["end"], strict=True)):
        hours = [a.hour] if (b - a).total_seconds() < 7200 else range(24)
        long = 8 * max(1 - abs(a.day_of_year - 210) / 60, 0.0)
        litres[k] = sum(3 * GALLON_L * min(max(12 + long - h, 0), 1) for h in hours if h >= 12) * draw.uniform(0.8, 1.2)
    return litres


@pytest.mark.parametrize(("pace", "days", "first"), [(1, 380, 0), (1 / 24, 150, 90)])
@pytest.mark.usefixtures("daily_zone")
def test_delivery_stays_near_what_it_is(pace: float, days: int, first: int) -> None:
    home = books.plain_home(pace, days, first_day=first)
    home.drinks = "evaporative cooler"
    home.intervals["volume_l"] += cooler_l(home).round()
    found = home.account()
    assert found.delivery["factor"].tolist() == pytest.approx([1.0], abs=0.1)
    assert found.findings == ()


@pytest.mark.usefixtures("daily_zone")
def test_a_cooler_written_down_that_never_runs_changes_nothing() -> None:
    home = books.plain_home(1, 380)
    home.drinks = "evaporative cooler"
    found = home.account()
    assert found.delivery["factor"].tolist() == pytest.approx([1.0], abs=0.1)
    assert found.findings == ()


@pytest.mark.parametrize(("south", "day"), [(False, 200), (True, 17)])
def test_the_south_has_its_cooler_in_january(south: bool, day: int) -> None:
    """The middle of January is half a year from that of July; programs and runs make no difference."""
    home = books.plain_home(1, 380)
    frames = home.intervals, home.runs, home.flows, home.other_use, home.household
    ledger = make_ledger(*frames, home.people, books.UTC_ZONE, home.at(380), south=south)
    by_hour = drinking_hours(ledger, "evaporative cooler")["evaporative cooler"]
    hottest = float(ledger.season[int(by_hour.argmax())] / (2 * np.pi) * 365.25)
    assert abs(round(hottest) % 365 - day) <= 3


def desert_weather(home: books.PlainHome, days: int) -> pd.DataFrame:
    """Highest temperatures from 17 C in January to 39 C in July, warm and cool spells of about a week upon them."""
    draw, rows, spell = np.random.default_rng(11), [], 0.0
    for d in range(days):
        day = pd.Timestamp(home.start.date()) + d * DAY
        spell = 0.7 * spell + draw.normal(0, 2)
        rows.append((day, 28 + 11 * np.sin((day.day_of_year - 106) / 365 * 2 * np.pi) + spell))
    return pd.DataFrame(rows, columns=["day", "tmax_c"])


def desert_home(
    leak_gph: float = 0.0, off: tuple[int, int] = (10, 1), pace: int = 7
) -> tuple[books.PlainHome, pd.DataFrame]:
    """Readings of 61 weeks; the cooler's pump runs 4 gal/h as long as the thermostat asks, from spring until somebody
    switches it off (month, day). A leak from day 161 to day 203."""
    home = books.plain_home(pace, 427)
    weather = desert_weather(home, 427)
    drunk = {}
    for day, heat in weather.itertuples(index=False):
        hours = 0.0 if (day.month, day.day) >= off else float(np.clip((heat - 29) * 1.1, 0, 20))
        drunk[day] = hours * 4 * GALLON_L
    added = [
        sum(drunk[(a + k * DAY).tz_localize(None).normalize()] for k in range(pace))
        + (leak_gph * GALLON_L * 24 * pace if home.at(160) < a < home.at(200) else 0.0)
        for a in home.intervals["start"]
    ]
    home.intervals["volume_l"] += np.round(added)
    home.drinks = "evaporative cooler"
    return home, weather


def test_the_first_season_of_a_cooler_is_no_leak() -> None:
    """Looked at every four weeks, from the first warm ones on, with the weather written down."""
    home, weather = desert_home()
    for week in range(14, 61, 4):
        found = home.account(as_of=home.at(7 * week), warmest=weather)
        assert [f.kind for f in found.findings] == [], week
        assert found.delivery["factor"].tolist() == pytest.approx([1.0, 1.0], abs=0.1)


def test_a_leak_beside_a_cooler_is_told_and_ends() -> None:
    """2 gal/h for six weeks of the first summer."""
    home, weather = desert_home(2.0)
    [leak] = home.account(warmest=weather).findings
    # by the week more at a zone that runs all the while looks the same
    assert "steady" in {leak.kind, *(r.kind for r in leak.rivals if not r.excluded)}
    assert abs(leak.since - home.at(161)) <= 7 * DAY
    assert leak.until is not None
    assert abs(leak.until - home.at(203)) <= 7 * DAY
    assert leak.volume.value == pytest.approx(2 * GALLON_L * 42 * 24, rel=0.25)


@pytest.mark.parametrize(("pace", "off"), [(1, (9, 10)), (1, (9, 20)), (3, (9, 20)), (7, (9, 10))])
def test_a_cooler_switched_off_early_is_expected_to_draw_nothing(pace: int, off: tuple[int, int]) -> None:
    """In the four weeks after that the house alone is expected, within a tenth; the cooler would have drawn a fifth."""
    home, weather = desert_home(off=off, pace=pace)
    last = home.intervals["end"].max().to_pydatetime()
    frames = home.intervals, home.runs, home.flows, home.other_use, home.household
    ledger = make_ledger(*frames, home.people, books.UTC_ZONE, last, None, None, weather)
    nothing = np.zeros(len(ledger.start))
    expected = learn(ledger, home.drinks, nothing, nothing.astype(bool)).indoor
    stood = pd.Timestamp(2025, *off, tz="UTC")
    after = ((home.intervals["start"] >= stood) & (home.intervals["start"] < stood + 28 * DAY)).to_numpy(bool)
    assert expected[after].sum() == pytest.approx(home.indoor[after].sum(), rel=0.1)
