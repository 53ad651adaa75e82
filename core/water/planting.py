"""One planting, as the garden's records describe it, turned into what the equations take.

    planting_store(row, *, available_share=None) -> PlantingStore
    planting_factors(row, days, month_factors=None) -> factor of each day

``row`` is one planting of the book's frame (a Series or a mapping): plant_type, count, canopy_m, bed_m2, in_pots,
pot_l, pot_width_m, soil, root_depth_m, factor, factor_reason, species_factor, density_factor, microclimate_factor,
planted_on, mulched, under_roof. Empty cells (None, NaN, NaT, "") fall back to the tables.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, Literal

import numpy as np
import pandas as pd

from core.figures import Line
from core.water.need import circle_m2, factor_through, landscape_coefficient, planting_water_area_m2
from core.water.sun import Floats, floats
from core.water.tables import SOURCES, PlantType, Soil, plant_type, soil

Row = Mapping[str, Any] | pd.Series

POT_FILL = 0.75  # mix in a pot over a cylinder as deep as wide: taper and rim [common practice, no source]

Method = Literal["your own plant factor", "landscape coefficient", "plant factor"]


@dataclass(frozen=True, slots=True)
class PlantingStore:
    """What the water balance of one planting starts from.

    Attributes:
        water_area_m2: area its water use is reckoned over; litres = mm x this.
        factor, factor_low, factor_high: factor on reference ET, established, and its range.
        method: which published method the factor is of.
        total_available_mm: TAW over the water area (FAO-56 eq. 82; pots: share of the mix volume over the area).
        depletion_fraction: p at 5 mm a day (FAO-56 Table 22, shifted for sand and clay).
        rain_share: share of the rain on the water area that reaches the roots: 0 under a roof, the pot's opening over
            the canopy for pots, else 1.
        sources: the working, line by line.
    """

    water_area_m2: float
    factor: float
    factor_low: float
    factor_high: float
    method: Method
    total_available_mm: float
    depletion_fraction: float
    rain_share: float
    sources: tuple[Line, ...]


def planting_store(row: Row, *, available_share: float | None = None) -> PlantingStore:
    """Area, factor and water store of one planting, with where each number comes from.

    Args:
        row: one planting (see the module).
        available_share: water a potting mix holds as a share of its volume, instead of the table's 0.30.

    Raises:
        EntryError: an unknown plant type or soil, or a planting without a size.
    """
    kind, ground = plant_type(str(row["plant_type"])), soil(str(row["soil"]))
    count, in_pots = _number(row, "count"), bool(row["in_pots"])
    count = 1.0 if count is None else count
    canopy, bed, pot_width = _number(row, "canopy_m"), _number(row, "bed_m2"), _number(row, "pot_width_m")
    pot_l = _number(row, "pot_l")
    if in_pots and pot_width is None and pot_l is not None:
        pot_width = (pot_l / 1000 / (POT_FILL * np.pi / 4)) ** (1 / 3)
    area = planting_water_area_m2(count, canopy, bed, in_pots=in_pots, pot_width_m=pot_width)
    method, factor, low, high, factor_line = _factor(row, kind)
    lines = [
        Line("water area", area, "m2", "bed when canopies cover 80 % of it, else canopies (UC rule)"),
        factor_line,
    ]
    if in_pots and pot_width is not None:
        total, pot_lines = _pot(
            ground, pot_l, pot_width, area / count if count else circle_m2(pot_width), available_share
        )
        lines += pot_lines
    else:
        own = _number(row, "root_depth_m")
        depth = kind.root_m if own is None else own
        total = ground.available_mm_m * depth
        lines += [
            Line("depth of roots", depth, "m", kind.root_source if own is None else "your own"),
            Line(f"{ground.name}: available water", ground.available_mm_m, "mm/m", ground.available_source),
            Line("total available water", total, "mm", "FAO-56 eq. 82"),
        ]
    fraction = float(np.clip(kind.depletion * (1 + ground.depletion_shift), 0.1, 0.8))
    lines.append(Line("share that can go before stress", fraction, "", kind.depletion_source))
    share = _rain_share(row, in_pots, count, pot_width, area)
    if share < 1:
        lines.append(Line("share of rain that reaches it", share, "", "under a roof" if share == 0 else "pot opening"))
    return PlantingStore(
        water_area_m2=area,
        factor=factor,
        factor_low=low,
        factor_high=high,
        method=method,
        total_available_mm=total,
        depletion_fraction=fraction,
        rain_share=share,
        sources=tuple(lines),
    )


def planting_factors(row: Row, days: pd.DatetimeIndex, month_factors: Mapping[int, float] | None = None) -> Floats:
    """Factor of a planting on each day: its own or a landscape coefficient as they stand, else the plant type's
    through the season and after planting (:func:`core.water.need.factor_through`); ``month_factors`` win.
    """
    kind = plant_type(str(row["plant_type"]))
    method, factor, *_ = _factor(row, kind)
    if method == "plant factor":
        return factor_through(kind, days, _day(row, "planted_on"), month_factors)
    by_month = [(month_factors or {}).get(m, factor) for m in range(13)]
    return floats(np.array(by_month)[days.month.to_numpy()])


def _factor(row: Row, kind: PlantType) -> tuple[Method, float, float, float, Line]:
    own, species = _number(row, "factor"), _number(row, "species_factor")
    if own is not None:
        reason = str(row.get("factor_reason") or "").strip()
        line = Line("plant factor", own, "", f"your own: {reason}" if reason else "your own")
        return "your own plant factor", own, own, own, line
    if species is not None:
        density, micro = _number(row, "density_factor"), _number(row, "microclimate_factor")
        density, micro = 1.0 if density is None else density, 1.0 if micro is None else micro
        value = landscape_coefficient(species, density, micro)
        line = Line(
            "landscape coefficient",
            value,
            "",
            f"species {species:g} x density {density:g} x microclimate {micro:g} (UC/DWR guide, 2000)",
        )
        return "landscape coefficient", value, value, value, line
    line = Line(f"plant factor, {kind.name}", kind.factor, "", kind.factor_source)
    if _day(row, "planted_on") is not None and kind.stages is not None and kind.stages.days is not None:
        line = Line(f"crop coefficient at mid-season, {kind.name}", kind.stages.mid, "", SOURCES["stages"])
    return "plant factor", kind.factor, kind.factor_low, kind.factor_high, line


def _pot(
    ground: Soil, pot_l: float | None, width_m: float, area_each_m2: float, available_share: float | None
) -> tuple[float, list[Line]]:
    """Available water of a pot over the area of its plant, mm, and its working."""
    guessed = pot_l is None
    litres = POT_FILL * circle_m2(width_m) * width_m * 1000 if pot_l is None else pot_l
    share = ground.available_mm_m / 1000 if available_share is None else available_share
    total = share * litres / area_each_m2 if area_each_m2 > 0 else 0.0
    said = "as deep as wide, less a quarter [common practice, no source]" if guessed else "your own"
    return total, [
        Line("soil in one pot", litres, "l", said),
        Line("share of it that is available water", share, "", ground.available_source),
        Line("total available water", total, "mm", "available water over the area of the plant"),
    ]


def _rain_share(row: Row, in_pots: bool, count: float, pot_width: float | None, area: float) -> float:
    if bool(row["under_roof"]):
        return 0.0
    if in_pots and pot_width is not None and area > 0:
        return float(min(1.0, count * circle_m2(pot_width) / area))
    return 1.0


def _number(row: Row, name: str) -> float | None:
    value = row.get(name)
    return None if value is None or value == "" or pd.isna(value) else float(value)


def _day(row: Row, name: str) -> date | None:
    value = row.get(name)
    return None if value is None or value == "" or pd.isna(value) else pd.Timestamp(value).date()
