"""The days of one planting, from its record, the weather and the water it was given: need, store and stress.

planting_days(row, days, reference_et_mm, rain_mm, applied_l, *, wetted_fraction=1.0, start_depletion_mm=0.0,
              start_outside_mm=None, month_factors=None, parts=1) -> DataFrame, one row per day
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from core.water.need import daily_need_mm
from core.water.planting import Row, planting_factors, planting_store
from core.water.rain import drop_light_rain
from core.water.soil import root_zone_balance
from core.water.sun import floats


def planting_days(
    row: Row,
    days: pd.DatetimeIndex,
    reference_et_mm: ArrayLike,
    rain_mm: ArrayLike,
    applied_l: ArrayLike,
    *,
    wetted_fraction: float = 1.0,
    start_depletion_mm: float = 0.0,
    start_outside_mm: float | None = None,
    month_factors: Mapping[int, float] | None = None,
    parts: int = 1,
) -> pd.DataFrame:
    """Walk a planting through its days.

    Args:
        row: one planting of the book's frame (:mod:`core.water.planting`).
        days: local days it stands, in order.
        reference_et_mm: of each day; NaN where not known.
        rain_mm: rain of each day in the open; a roof or a pot's opening is reckoned with here.
        applied_l: litres the planting was given each day.
        wetted_fraction: share of its root area the emitters wet (:data:`core.water.soil.WETTED_FRACTION`; pots 1).
        start_depletion_mm: depletion of the whole root zone before the first day; start_outside_mm: to go on where an
            earlier walk ended (:func:`core.water.soil.root_zone_balance`).
        month_factors: factors by month set by hand.
        parts: waterings a day the day is walked in (:func:`core.water.soil.root_zone_balance`).

    Returns:
        Frame with day, factor, need_mm, need_l, rain_mm (that reached it), applied_mm, the columns of
        :meth:`core.water.soil.Balance.frame`, and effective_rain_l, percolated_l. Depths are over the water area.

    Raises:
        EntryError: the planting cannot be worked out (unknown type or soil, no size).
    """
    store = planting_store(row)
    area = store.water_area_m2
    reference = floats(reference_et_mm)
    factor = planting_factors(row, days, month_factors)
    need = daily_need_mm(reference, factor)
    counts, light = (store.rain_share * part for part in drop_light_rain(rain_mm, reference))
    applied = floats(applied_l) / area if area > 0 else np.zeros(len(days))
    balance = root_zone_balance(
        need,
        counts,
        applied,
        store.total_available_mm,
        store.depletion_fraction,
        start_depletion_mm=start_depletion_mm,
        start_outside_mm=start_outside_mm,
        wetted_fraction=wetted_fraction,
        parts=parts,
    )
    out = balance.frame(days)
    out["light_rain_mm"] = light
    reached = {
        "factor": factor,
        "need_mm": need,
        "need_l": need * area,
        "rain_mm": counts + light,
        "applied_mm": applied,
    }
    for place, (name, values) in enumerate(reached.items(), start=1):
        out.insert(place, name, values)
    out["effective_rain_l"] = out["effective_rain_mm"] * area
    out["percolated_l"] = out["percolated_mm"] * area
    return out
