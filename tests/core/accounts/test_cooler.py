"""A home with an evaporative cooler: what it drinks in summer is not put down to a zone that runs every summer day.

The cooler's 3 gal/h of summer afternoons is common practice, no source.
"""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest

from core.accounts.baseline import drinking_hours
from core.accounts.ledger import Ledger
from tests.core.accounts import books
from tests.core.accounts.books import ledger_of
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


def warmest(ledger: Ledger) -> int:
    """Day of the year on which a cooler is taken to drink most."""
    by_hour = drinking_hours(ledger, "evaporative cooler")["evaporative cooler"]
    day = ledger.season[int(by_hour.argmax())] / (2 * np.pi) * 365.25
    return round(float(day)) % 365


def test_a_summer_does_not_move_with_days_that_pass_without_a_reading() -> None:
    """Runs of every season up to the last reading; ten weeks later more of them are presumed."""
    home = books.plain_home(1, 300)
    last = home.intervals["end"].max().to_pydatetime()
    then, later = (drinking_hours(ledger_of(home, as_of=last + d), "evaporative cooler") for d in (DAY, 70 * DAY))
    hours = len(then["evaporative cooler"])
    assert (later["evaporative cooler"][:hours] == then["evaporative cooler"]).all()


def test_the_south_has_its_cooler_in_january() -> None:
    """By runs from October to March; the middle of January is half a year from that of July."""
    home = books.plain_home(1, 380)
    assert abs(warmest(ledger_of(home)) - 200) <= 3
    home.runs = books.runs_of("hedge", [home.at(d) for d in (*range(5, 80), *range(280, 370))], 60.0)
    assert abs(warmest(ledger_of(home)) - 17) <= 3
