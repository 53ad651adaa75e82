"""Sun geometry at its edges: poles, hemispheres, leap day; and guards of the net radiation."""

from __future__ import annotations

import numpy as np
import pytest

from core.water import reference_et, sun

JUNE, DECEMBER = 172, 355


def test_polar_night_and_polar_day() -> None:
    assert sun.extraterrestrial_radiation(80, DECEMBER) == 0
    assert sun.daylight_hours(80, DECEMBER) == 0
    assert sun.daylight_hours(80, JUNE) == 24
    assert sun.daylight_hours(-80, DECEMBER) == 24
    assert sun.extraterrestrial_radiation(-80, JUNE) == 0
    assert sun.extraterrestrial_radiation(90, JUNE) > 40  # the pole gets most of all at midsummer


def test_hemispheres_mirror_within_the_change_of_distance() -> None:
    north, south = sun.extraterrestrial_radiation(35, JUNE), sun.extraterrestrial_radiation(-35, DECEMBER)
    assert south > north  # the earth is nearest the sun in January
    assert south == pytest.approx(north, rel=0.08)


def test_equator_has_twelve_hours_all_year() -> None:
    assert np.allclose(sun.daylight_hours(0, np.arange(1, 367)), 12)


def test_lookup_of_many_days_equals_one_by_one() -> None:
    days = np.tile(np.arange(1.0, 367.0), 3)
    many = sun.extraterrestrial_radiation(52.0, days)
    assert np.allclose(many[:366], [sun.extraterrestrial_radiation(52.0, d) for d in days[:366]], rtol=1e-14)


def test_sunshine_in_polar_night_gives_nothing() -> None:
    assert sun.solar_from_sunshine(0.0, 0.0, 0.0) == 0
    assert sun.solar_from_sunshine(20.0, 30.0, 10.0) == pytest.approx(0.75 * 20)  # held to the length of the day


def test_solar_from_temperature_is_capped_and_never_imaginary() -> None:
    assert sun.solar_from_temperature(40.0, 0.0, 40.0, clear_sky_mj_m2=30.0) == 30.0
    assert sun.solar_from_temperature(40.0, 10.0, 10.0) == 0.0


def test_net_longwave_never_warms_under_dense_cloud() -> None:
    """ASCE-EWRI 2005 holds Rs/Rso to 0.3 at least; without it a black sky would give heat."""
    assert sun.net_longwave(10, 20, 1.0, 0.5, 30.0) > 0
    assert np.isfinite(sun.net_longwave(-30, -25, 0.05, 0.0, 0.0))


def test_hargreaves_in_deep_cold_is_zero_not_negative() -> None:
    assert reference_et.hargreaves(-40, -25, 65, 30) == 0.0
    assert reference_et.hargreaves(5, 15, 80, DECEMBER) == 0.0


def test_still_air_counts_as_half_a_metre_per_second() -> None:
    """FAO-56 chapter 3, wind: u2 not below 0.5 m/s."""
    common = {"latitude_deg": 40, "day_of_year": 200, "elevation_m": 100}
    still = reference_et.penman_monteith(15, 30, 1.2, 0.0, 25, **common)
    assert still == reference_et.penman_monteith(15, 30, 1.2, 0.5, 25, **common)
    assert still < reference_et.penman_monteith(15, 30, 1.2, 2.0, 25, **common)
