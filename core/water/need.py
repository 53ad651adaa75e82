"""What plants need: the area that counts, the factor on reference ET, and how it changes through a season.

    planting_water_area_m2(count, canopy_m, bed_m2, *, in_pots=False, pot_width_m=None) -> m2
    daily_need_mm(reference_et_mm, factor) -> mm/d
    landscape_coefficient(species, density=1.0, microclimate=1.0) -> factor
    stage_factor(stages, day_number) -> factor          (FAO-56 eq. 66)
    factor_through(kind, days, planted_on=None, month_factors=None) -> factor of each day

Two published methods give a factor, and they are never mixed: a plant factor (ANSI/ASABE S623 and its kin, or an
FAO-56 crop coefficient) stands alone; species x density x microclimate is the landscape coefficient (UC Cooperative
Extension / California DWR, Guide to Estimating Irrigation Water Needs of Landscape Plantings, 2000).
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from core.errors import EntryError
from core.water.sun import Floats, floats
from core.water.tables import PlantType, Stages

COVERED_SHARE = 0.8  # UC rule: canopy over 80 % of the bed, the whole bed counts [published: UC landscape horticulture]

# A new planting is watered like bedding plants through its first weeks and weaned over its first year; S623 factors
# are for established plants. [common practice, no source]
ESTABLISHMENT_FACTOR = 0.8
ESTABLISHMENT_FULL_DAYS = 90
ESTABLISHMENT_DAYS = 365


def circle_m2(width_m: float) -> float:
    """Area of a circle of a given width, m2."""
    return float(np.pi / 4 * width_m**2)


def planting_water_area_m2(
    count: float,
    canopy_m: float | None,
    bed_m2: float | None,
    *,
    in_pots: bool = False,
    pot_width_m: float | None = None,
) -> float:
    """Area over which a planting uses water, m2.

    In the ground: the whole bed when the plants' canopies cover 80 % of it or more, else the canopies alone (rule of
    the UC Center for Landscape & Urban Horticulture for S623 factors); whichever of the two is known when only one is.
    In pots: the canopies, or the openings of the pots when the canopy is not known.

    Args:
        count: number of plants (pots).
        canopy_m: width across one plant, m.
        bed_m2: area of the bed, m2.
        in_pots: whether they grow in pots; then the bed does not count.
        pot_width_m: width across one pot, m.

    Raises:
        EntryError: none of the sizes is known, or one is below zero.
    """
    given = [v for v in (count, canopy_m, bed_m2, pot_width_m) if v is not None]
    if any(v < 0 for v in given):
        raise EntryError("A count, width or area is below zero. Expected numbers from 0 up.")
    canopies = None if canopy_m is None else count * circle_m2(canopy_m)
    openings = None if pot_width_m is None else count * circle_m2(pot_width_m)
    if in_pots:
        area = next((a for a in (canopies, openings, bed_m2) if a is not None), None)
    elif canopies is not None and bed_m2 is not None:
        area = bed_m2 if canopies >= COVERED_SHARE * bed_m2 else canopies
    else:
        area = next((a for a in (bed_m2, canopies, openings) if a is not None), None)
    if area is None:
        raise EntryError("The planting has no size. Expected the width of a plant or pot, or the area of the bed.")
    return float(area)


def daily_need_mm(reference_et_mm: ArrayLike, factor: ArrayLike) -> Floats:
    """Water a planting needs, mm over its water area (FAO-56 eq. 58): reference ET x factor. Litres = mm x m2."""
    return floats(reference_et_mm) * floats(factor)


def landscape_coefficient(species: float, density: float = 1.0, microclimate: float = 1.0) -> float:
    """Landscape coefficient KL = ks x kd x kmc (UC/DWR 2000, chapter 2).

    Ranges: ks 0.1 to 0.9 (WUCOLS category), kd 0.5 to 1.3, kmc 0.5 to 1.4.

    Raises:
        EntryError: a factor outside what the guide knows.
    """
    for name, value, least, most in (
        ("species", species, 0.0, 1.0),
        ("density", density, 0.5, 1.3),
        ("microclimate", microclimate, 0.5, 1.4),
    ):
        if not least <= value <= most:
            raise EntryError(f"The {name} factor is {value:g}. Expected {least:g} to {most:g} (UC/DWR guide, 2000).")
    return species * density * microclimate


def stage_factor(stages: Stages, day_number: ArrayLike) -> Floats:
    """Crop coefficient on a day of the season (FAO-56 eq. 66 and figure 34); day 1 is the day of planting.

    Level through the initial and mid-season stage, straight lines between; after the last day it stays at the end
    value.

    Raises:
        EntryError: the table knows no stage lengths for the plant.
    """
    if stages.days is None:
        raise EntryError("The tables have no lengths of growth stages for this plant.")
    return floats(
        np.interp(floats(day_number), np.cumsum(stages.days), [stages.ini, stages.mid, stages.mid, stages.end])
    )


def greatest_factor(wind_2m_mps: ArrayLike, humidity_min: ArrayLike, height_m: ArrayLike, basal: ArrayLike) -> Floats:
    """Upper limit of any crop coefficient, just after wetting (FAO-56 eq. 72).

    Args:
        wind_2m_mps: mean wind at 2 m; humidity_min: lowest humidity in percent; height_m: of the plants.
        basal: basal crop coefficient Kcb of the day.
    """
    climate = 0.04 * (floats(wind_2m_mps) - 2) - 0.004 * (floats(humidity_min) - 45)
    return floats(np.maximum(1.2 + climate * (floats(height_m) / 3) ** 0.3, floats(basal) + 0.05))


def factor_through(
    kind: PlantType,
    days: pd.DatetimeIndex,
    planted_on: date | None = None,
    month_factors: Mapping[int, float] | None = None,
) -> Floats:
    """Factor of a plant type on each day.

    Without a planting date it is the table's. With one, annual crops that have FAO-56 stage lengths follow their
    curve for a year from planting (:func:`stage_factor`); perennial plants, woody ones and lawns that need less than
    0.8 get 0.8 for 90 days, easing to their own factor at one year (establishment, common practice without a source).

    Args:
        days: local days.
        month_factors: month (1 to 12) to factor, set by hand; it wins over everything else.
    """
    out = np.full(len(days), kind.factor)
    if planted_on is not None:
        age = (days - pd.Timestamp(planted_on)).days.to_numpy(dtype=np.float64)
        first_year = age < ESTABLISHMENT_DAYS
        if kind.sort == "annual" and kind.stages is not None and kind.stages.days is not None:
            out = np.where(first_year, stage_factor(kind.stages, age + 1), out)
        elif kind.sort != "annual" and kind.factor < ESTABLISHMENT_FACTOR:
            span = [ESTABLISHMENT_FULL_DAYS, ESTABLISHMENT_DAYS]
            out = np.where(first_year, np.interp(age, span, [ESTABLISHMENT_FACTOR, kind.factor]), out)
    if month_factors:
        by_hand = np.array([month_factors.get(m, np.nan) for m in range(13)])[days.month.to_numpy()]
        out = np.where(np.isnan(by_hand), out, by_hand)
    return floats(out)
