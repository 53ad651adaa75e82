"""Rain that counts: published rules of effective rain. Each is for its own span of time; never a monthly rule on a day.

drop_light_rain(rain_mm, reference_et_mm) -> (kept, dropped)     daily, FAO-56 p. 170
texas_daily(rain_mm)                                             daily, Texas A&M AgriLife
scs_monthly(rain_mm)                                             monthly, USDA Soil Conservation Service
quarter(rain_mm)                                                 any span, water budgets
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from core.water.sun import Floats, floats

_INCH = 25.4  # mm
LIGHT_RAIN_SHARE = 0.2  # of reference ET, FAO-56 p. 170
BUDGET_SHARE = 0.25  # EPA WaterSense v2.0; California MWELO


def drop_light_rain(rain_mm: ArrayLike, reference_et_mm: ArrayLike | None) -> tuple[Floats, Floats]:
    """Daily rain without days below 0.2 of reference ET, which evaporate before they reach roots (FAO-56 p. 170).

    Returns:
        Rain that counts and rain dropped, mm, shaped like ``rain_mm``; a reference ET by day serves all columns.
    """
    rain = floats(rain_mm)
    if reference_et_mm is None:
        return rain, np.zeros_like(rain)
    reference = floats(reference_et_mm)
    if rain.ndim == 2 and reference.ndim == 1:
        reference = reference[:, None]
    light = rain < LIGHT_RAIN_SHARE * reference
    return np.where(light, 0.0, rain), np.where(light, rain, 0.0)


def texas_daily(rain_mm: ArrayLike) -> Floats:
    """Effective rain of a day (TexasET Network, Texas A&M AgriLife): the first 0.1 in is lost, the rest up to 1 in
    counts in full, two thirds of what falls between 1 and 2 in, nothing above.
    """
    rain = floats(rain_mm)
    return floats(np.clip(rain - 0.1 * _INCH, 0, 0.9 * _INCH) + 2 / 3 * np.clip(rain - _INCH, 0, _INCH))


def scs_monthly(rain_mm: ArrayLike) -> Floats:
    """Effective rain of a month (USDA-SCS as given by Smith, CROPWAT, 1992): P (125 - 0.2 P) / 125 up to 250 mm, above
    that 125 + 0.1 P.
    """
    rain = floats(rain_mm)
    return np.where(rain <= 250, rain * (125 - 0.2 * rain) / 125, 125 + 0.1 * rain)


def quarter(rain_mm: ArrayLike) -> Floats:
    """A quarter of the rain, as water budgets count it (EPA WaterSense v2.0; California MWELO)."""
    return BUDGET_SHARE * floats(rain_mm)
