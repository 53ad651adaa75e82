"""The sun at the top of the air and at the ground (FAO Irrigation and Drainage Paper 56, chapter 3).

Every function takes plain numbers or numpy arrays that broadcast together. Latitude is in degrees, south
negative; ``day_of_year`` is 1 to 366; radiation is MJ m-2 d-1. In polar day and night the sunset angle is clamped,
so the equations answer everywhere: no sun gives 0. FAO-56 warns that they are weak in winter above 55 degrees.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

SOLAR_CONSTANT = 0.0820  # MJ m-2 min-1, FAO-56 eq. 21
STEFAN_BOLTZMANN = 4.903e-9  # MJ K-4 m-2 d-1, FAO-56 eq. 39
ALBEDO = 0.23  # of the grass reference, FAO-56 eq. 38
WEAK_WINTER_LATITUDE = 55.0  # degrees, FAO-56 chapter 3

_YEAR = 2 * np.pi / 365


def floats(value: ArrayLike) -> Floats:
    """``value`` as a float array; a single number becomes one without dimensions."""
    return np.asarray(value, dtype=np.float64)


def sun_distance(day_of_year: ArrayLike) -> Floats:
    """Inverse relative distance of the earth from the sun (FAO-56 eq. 23)."""
    return 1 + 0.033 * np.cos(_YEAR * floats(day_of_year))


def declination(day_of_year: ArrayLike) -> Floats:
    """Solar declination in radians (FAO-56 eq. 24)."""
    return floats(0.409 * np.sin(_YEAR * floats(day_of_year) - 1.39))


def sunset_angle(latitude_deg: ArrayLike, day_of_year: ArrayLike) -> Floats:
    """Sunset hour angle in radians (FAO-56 eq. 25): 0 in polar night, pi in polar day."""
    cosine = -np.tan(np.radians(floats(latitude_deg))) * np.tan(declination(day_of_year))
    return floats(np.arccos(np.clip(cosine, -1.0, 1.0)))


def daylight_hours(latitude_deg: ArrayLike, day_of_year: ArrayLike) -> Floats:
    """Greatest possible hours of sunshine (FAO-56 eq. 34)."""
    return 24 / np.pi * sunset_angle(latitude_deg, day_of_year)


def extraterrestrial_radiation(latitude_deg: ArrayLike, day_of_year: ArrayLike) -> Floats:
    """Radiation at the top of the air, MJ m-2 d-1 (FAO-56 eq. 21); 0 in polar night.

    For one latitude and many days the 366 days of a year are worked out once and looked up.
    """
    latitude, day = floats(latitude_deg), floats(day_of_year)
    if latitude.ndim == 0 and day.size > 366:
        whole = day.astype(np.int64)
        if np.array_equal(whole, day) and whole.min() >= 0 and whole.max() <= 366:
            return _radiation(latitude, np.arange(367.0))[whole]
    return _radiation(latitude, day)


def _radiation(latitude_deg: Floats, day: Floats) -> Floats:
    phi, delta, sunset = np.radians(latitude_deg), declination(day), sunset_angle(latitude_deg, day)
    height = sunset * np.sin(phi) * np.sin(delta) + np.cos(phi) * np.cos(delta) * np.sin(sunset)
    return floats(np.maximum(24 * 60 / np.pi * SOLAR_CONSTANT * sun_distance(day) * height, 0.0))


def solar_from_sunshine(
    top_mj_m2: ArrayLike, sunshine_h: ArrayLike, daylight_h: ArrayLike, a_s: float = 0.25, b_s: float = 0.50
) -> Floats:
    """Radiation at the ground from hours of sunshine (FAO-56 eq. 35, Angstrom).

    Sunshine is held to the length of the day; in polar night the share of sunshine is 0.
    """
    sunshine, daylight = floats(sunshine_h), floats(daylight_h)
    share = np.divide(sunshine, daylight, out=np.zeros(np.broadcast(sunshine, daylight).shape), where=daylight > 0)
    return (a_s + b_s * np.minimum(share, 1.0)) * floats(top_mj_m2)


def clear_sky_radiation(top_mj_m2: ArrayLike, elevation_m: ArrayLike) -> Floats:
    """Radiation at the ground under a clear sky (FAO-56 eq. 37); elevation in metres."""
    return (0.75 + 2e-5 * floats(elevation_m)) * floats(top_mj_m2)


def solar_from_temperature(
    top_mj_m2: ArrayLike,
    tmin_c: ArrayLike,
    tmax_c: ArrayLike,
    adjustment: float = 0.16,
    clear_sky_mj_m2: ArrayLike | None = None,
) -> Floats:
    """Radiation at the ground from the day's span of temperature (FAO-56 eq. 50, Hargreaves).

    Args:
        top_mj_m2: extraterrestrial radiation, MJ m-2 d-1.
        tmin_c, tmax_c: lowest and highest air temperature, C.
        adjustment: kRs, 0.16 inland, 0.19 on a coast; not for islands.
        clear_sky_mj_m2: never more than this, when given.
    """
    span = np.sqrt(np.maximum(floats(tmax_c) - floats(tmin_c), 0.0))
    solar = adjustment * span * floats(top_mj_m2)
    return solar if clear_sky_mj_m2 is None else np.minimum(solar, floats(clear_sky_mj_m2))


def net_shortwave(solar_mj_m2: ArrayLike) -> Floats:
    """Solar radiation the grass keeps (FAO-56 eq. 38)."""
    return (1 - ALBEDO) * floats(solar_mj_m2)


def net_longwave(
    tmin_c: ArrayLike,
    tmax_c: ArrayLike,
    vapour_kpa: ArrayLike,
    solar_mj_m2: ArrayLike,
    clear_sky_mj_m2: ArrayLike,
) -> Floats:
    """Heat radiation lost to the sky, MJ m-2 d-1 (FAO-56 eq. 39).

    The ratio of real to clear-sky radiation is held to 0.3 to 1.0: FAO-56 gives the upper limit, ASCE-EWRI (2005) both.
    Where there is no sun at all the ratio has no meaning; 0.5 is taken, in the span FAO-56 chapter 3 gives for nights
    in humid places (0.4 to 0.6, from memory).
    """
    solar, clear = floats(solar_mj_m2), floats(clear_sky_mj_m2)
    ratio = np.divide(solar, clear, out=np.full(np.broadcast(solar, clear).shape, 0.5), where=clear > 0)
    low, high = floats(tmin_c) + 273.16, floats(tmax_c) + 273.16
    low, high = low * low, high * high
    air = 0.34 - 0.14 * np.sqrt(np.maximum(floats(vapour_kpa), 0.0))
    cloud = 1.35 * np.clip(ratio, 0.3, 1.0) - 0.35
    return floats(STEFAN_BOLTZMANN / 2 * (high * high + low * low) * air * cloud)


def monthly_soil_heat(previous_c: ArrayLike, following_c: ArrayLike, *, following_known: bool = True) -> Floats:
    """Heat taken up by the soil over a month, MJ m-2 d-1 (FAO-56 eqs. 43 and 44); 0 for a day (eq. 42).

    Args:
        previous_c: mean temperature of the month before.
        following_c: mean temperature of the month after (eq. 43) or, when that is not known, of this month (eq. 44).
        following_known: which of the two ``following_c`` is.
    """
    return (0.07 if following_known else 0.14) * (floats(following_c) - floats(previous_c))
