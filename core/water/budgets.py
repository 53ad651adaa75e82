"""Published water budgets, in metric: depth in mm x area in m2 is litres.

    mawa_l(reference_et_mm, area_m2, special_area_m2=0, factor=0.55)      etwu_l(reference_et_mm, plant_factor,
    efficiency, area_m2)      watersense_net_mm(reference_et_mm, rain_mm)      watersense_requirement_l(...)

The sources print gallons with 0.62 or 0.623 for 144/231 gallons per inch and square foot; exact units differ from
them by 0.5 % and 0.06 %.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from core.water.need import daily_need_mm
from core.water.rain import quarter
from core.water.sun import Floats, floats


def mawa_l(reference_et_mm: float, area_m2: float, special_area_m2: float = 0.0, factor: float = 0.55) -> float:
    """Maximum applied water allowance of the California landscape rules (MWELO), litres a year.

    Args:
        reference_et_mm: of the year.
        area_m2: landscape area, the special area included.
        special_area_m2: area that counts in full (edible plants, recycled water).
        factor: ETAF, 0.55 homes and 0.45 others since 2015; 0.70 in 2009.
    """
    return reference_et_mm * (factor * area_m2 + (1 - factor) * special_area_m2)


def etwu_l(reference_et_mm: float, plant_factor: float, efficiency: float, area_m2: float) -> float:
    """Estimated total water use of one hydrozone (MWELO), litres a year: ETo x PF / IE x area.

    The rules' floors of efficiency are 0.81 for drip and 0.75 for overhead spray.
    """
    return reference_et_mm * plant_factor / efficiency * area_m2


def watersense_net_mm(reference_et_mm: ArrayLike, rain_mm: ArrayLike) -> Floats:
    """Reference ET less a quarter of the rain, never below zero, of a month (EPA WaterSense Water Budget Tool v2.0)."""
    return np.maximum(floats(reference_et_mm) - quarter(rain_mm), 0.0)


def watersense_requirement_l(
    reference_et_mm: float, factor: float, rain_mm: float, uniformity: float, area_m2: float
) -> float:
    """Water a zone requires in its peak month (EPA WaterSense approach v1 [form from memory]), litres:
    (ETo x KL - a quarter of the rain) / DUlq x area, never below zero.
    """
    net = daily_need_mm(reference_et_mm, factor) - quarter(rain_mm)
    return float(np.maximum(net, 0.0) / uniformity * area_m2)
