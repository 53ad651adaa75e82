"""Speed of what the plants rest on: thirty years of days for eight zones, and a million days of reference ET."""

from __future__ import annotations

import time
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import refet
from pytest_benchmark.fixture import BenchmarkFixture

from core.review.growth import Growth, areas, grow, planting_versions
from core.review.picture import draw
from core.review.plants import plants_month
from core.water.reference_et import hargreaves, penman_monteith
from core.water.vapour import vapour_from_dewpoint
from tests.bench.conftest import note, within
from tests.core.review.gardens import begin, drip, normals, program, shrubs, weather, zone

DAYS = pd.date_range("1996-01-01", "2025-12-31")
ZONES = 8
MILLION = 1_000_000


@pytest.fixture(scope="module")
def years() -> pd.DataFrame:
    """Thirty invented years of reference ET and rain."""
    rng = np.random.default_rng(7)
    season = 4 - 3 * np.cos(2 * np.pi * DAYS.day_of_year.to_numpy() / 365.25)
    rain = np.where(rng.random(len(DAYS)) < 0.2, rng.gamma(1.0, 9.0, len(DAYS)), 0.0)
    return pd.DataFrame({"reference_et_mm": season + rng.normal(0, 0.5, len(DAYS)), "rain_mm": rain}, index=DAYS)


def test_thirty_years_of_eight_zones(benchmark: BenchmarkFixture, years: pd.DataFrame) -> None:
    """Need, store, stress and percolation of every day of eight plantings, from their records to the frame."""
    since = DAYS[0].date()
    plantings = pd.DataFrame(
        [dict(shrubs(f"z{n}", since=since, soil="loam" if n % 2 else "sand")) for n in range(ZONES)]
    )
    for name, unit in (("canopy", "m"), ("pot", "l"), ("pot_width", "m"), ("root_depth", "m")):
        plantings[f"{name}_{unit}"] = np.nan
    plantings["bed_m2"] = 10.0
    plantings["since"], plantings["until"] = DAYS[0], pd.NaT
    emitters = pd.DataFrame([{"zone": f"z{n}", "device": "button", "waters": "shrubs"} for n in range(ZONES)])
    none = pd.DataFrame(columns=["zone", "planting", "month", "factor", "reason"])
    days = np.tile(DAYS.to_numpy(), ZONES)
    water = pd.DataFrame({
        "zone": np.repeat([f"z{n}" for n in range(ZONES)], len(DAYS)), "planting": "shrubs", "day": days,
        "applied_l": np.where(pd.DatetimeIndex(days).weekday == 0, 150.0, 0.0),
    })  # fmt: skip

    def walk() -> Growth:
        versions, problems = planting_versions(plantings, none, emitters, years, DAYS)
        return grow(versions, problems, water, years, DAYS)

    found = benchmark.pedantic(walk, rounds=3, warmup_rounds=1)
    assert len(found.days) == ZONES * len(DAYS)
    assert len(areas(list(found.versions), DAYS)) == ZONES
    assert found.problems == ()
    with within("30 years of days x 8 zones: need, store, stress", 1.0):
        walk()


def test_a_million_days_of_reference_et_beside_refet() -> None:
    """The full equation for a million days, each run after the other's in turn; the faster of three of each counts.

    refet is given what it asks for and does the same steps: from dew point, radiation, wind and temperature to mm.
    """
    rng = np.random.default_rng(3)
    doy = rng.integers(1, 366, MILLION)
    tmin = rng.normal(10, 5, MILLION)
    tmax = tmin + rng.gamma(4, 3, MILLION)
    dew, wind, solar = tmin - rng.gamma(2, 1, MILLION), rng.gamma(4, 0.5, MILLION), rng.uniform(5, 28, MILLION)
    vapour = vapour_from_dewpoint(dew)

    def ours() -> np.ndarray:
        return penman_monteith(
            tmin, tmax, vapour_from_dewpoint(dew), wind, solar, latitude_deg=40.0, day_of_year=doy, elevation_m=1000.0
        )

    def theirs() -> np.ndarray:
        daily = refet.Daily(
            tmin=tmin, tmax=tmax, ea=vapour, rs=solar, uz=wind, zw=2, elev=1000.0, lat=40.0, doy=doy, method="asce"
        )
        return np.asarray(daily.eto())

    best = {}
    for name, run in (("ours", ours), ("refet", theirs)) * 3:
        began = time.process_time()
        result = run()
        best[name] = min(best.get(name, np.inf), time.process_time() - began)
        assert result.shape == (MILLION,)
    began = time.process_time()
    hargreaves(tmin, tmax, 40.0, doy)
    simple = time.process_time() - began
    note(
        "reference ET of a million days, Penman-Monteith",
        "<= refet",
        f"{best['ours']:.2f} s",
        f"refet {best['refet']:.2f} s",
    )
    note("reference ET of a million days, Hargreaves", "", f"{simple:.2f} s")
    assert best["ours"] <= best["refet"]


def test_a_month_of_the_plants_from_a_book(benchmark: BenchmarkFixture, tmp_path: Path) -> None:
    """Three years of eight zones in a book: the month cut out of a picture that is there."""
    first = date(2023, 1, 1)
    records = [r for n in range(ZONES) for r in (
        zone(f"z{n}"), shrubs(f"z{n}", since=first), drip(f"z{n}", since=first), program(f"z{n}", since=first)
    )]  # fmt: skip
    book = begin(tmp_path, *records, *normals(), *weather(first, first + timedelta(days=1094)))
    picture = draw(book, datetime(2025, 12, 30, 18, tzinfo=UTC))
    found = benchmark.pedantic(lambda: plants_month(picture, "2025-07"), rounds=3, warmup_rounds=1)
    assert len(found.plantings) == ZONES
    with within("a month of the plants, 8 zones, 3 years", 1.0):
        plants_month(picture, "2025-07")
