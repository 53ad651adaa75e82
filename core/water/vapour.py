"""Air pressure, vapour pressure and wind (FAO Irrigation and Drainage Paper 56, chapter 3).

Every function takes plain numbers or numpy arrays; temperatures in C, pressures in kPa, humidity in percent.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from core.water.sun import Floats, floats

DEFAULT_WIND_MPS = 2.0  # mean of over 2000 stations, FAO-56 chapter 3, missing wind
LEAST_WIND_MPS = 0.5  # FAO-56: still air is not modelled below this


def air_pressure(elevation_m: ArrayLike) -> Floats:
    """Mean air pressure at an elevation (FAO-56 eq. 7)."""
    return 101.3 * ((293 - 0.0065 * floats(elevation_m)) / 293) ** 5.26


def psychrometric_constant(pressure_kpa: ArrayLike) -> Floats:
    """Psychrometric constant, kPa per C (FAO-56 eq. 8)."""
    return 0.665e-3 * floats(pressure_kpa)


def saturation_vapour(temperature_c: ArrayLike) -> Floats:
    """Saturation vapour pressure at one temperature (FAO-56 eq. 11)."""
    t = floats(temperature_c)
    return 0.6108 * np.exp(17.27 * t / (t + 237.3))


def mean_saturation_vapour(tmin_c: ArrayLike, tmax_c: ArrayLike) -> Floats:
    """Mean of the saturation vapour pressures of the two extremes, never that of the mean (FAO-56 eq. 12)."""
    return (saturation_vapour(tmin_c) + saturation_vapour(tmax_c)) / 2


def vapour_slope(temperature_c: ArrayLike) -> Floats:
    """Slope of the saturation vapour pressure curve, kPa per C (FAO-56 eq. 13)."""
    t = floats(temperature_c)
    return 4098 * saturation_vapour(t) / (t + 237.3) ** 2


def vapour_from_dewpoint(dewpoint_c: ArrayLike) -> Floats:
    """Actual vapour pressure from the dew point (FAO-56 eq. 14): the best way."""
    return saturation_vapour(dewpoint_c)


def vapour_from_humidity(
    tmin_c: ArrayLike, tmax_c: ArrayLike, humidity_min: ArrayLike, humidity_max: ArrayLike
) -> Floats:
    """Actual vapour pressure from lowest and highest humidity (FAO-56 eq. 17)."""
    morning = saturation_vapour(tmin_c) * floats(humidity_max)
    return (morning + saturation_vapour(tmax_c) * floats(humidity_min)) / 200


def vapour_from_highest_humidity(tmin_c: ArrayLike, humidity_max: ArrayLike) -> Floats:
    """Actual vapour pressure from the highest humidity alone (FAO-56 eq. 18)."""
    return saturation_vapour(tmin_c) * floats(humidity_max) / 100


def vapour_from_lowest_temperature(tmin_c: ArrayLike, below_c: float = 0.0) -> Floats:
    """Actual vapour pressure when humidity is not known: the dew point is near the lowest temperature (FAO-56 eq. 48).

    ``below_c`` lowers the dew point under the lowest temperature; FAO-56 suggests 2 to 3 C in arid places.
    """
    return saturation_vapour(floats(tmin_c) - below_c)


def wind_at_2m(wind_mps: ArrayLike, height_m: ArrayLike) -> Floats:
    """Wind speed at 2 m from that at another height over grass (FAO-56 eq. 47), m/s."""
    return floats(wind_mps) * 4.87 / np.log(67.8 * floats(height_m) - 5.42)
