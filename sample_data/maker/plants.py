"""What the plants drew and whether they had it: one small tank of soil water for each, in gallons."""

from __future__ import annotations

from datetime import date

import numpy as np

from maker.clock import by_day
from maker.garden import PLANTS, Plants
from maker.weather import Day

GAL_PER_FT2_MM = 0.024543  # a millimetre of water on a square foot
DRY_BELOW = 0.35  # share of the tank under which plants show it
RAIN_LOST_MM = 1.6  # of each day's rain, wetting leaves and mulch only


class Tank:
    """Soil water of one planting through the days."""

    def __init__(self, plants: Plants) -> None:
        self.plants, self.left = plants, 0.8 * plants.store_gal

    def day(self, today: Day, watered_gal: float) -> tuple[float, float, bool]:
        """Gallons the plants wanted and got, and whether the tank ran low; water first, then drinking."""
        plants = self.plants
        rain = max(today.rain * 25.4 - RAIN_LOST_MM, 0.0) * GAL_PER_FT2_MM * plants.ft2 if plants.open_sky else 0.0
        self.left = min(self.left + rain + watered_gal, plants.store_gal)
        wanted = today.thirst * plants.green[today.day.month - 1] * plants.ft2 * GAL_PER_FT2_MM
        fullness = self.left / plants.store_gal
        got = min(wanted * min(1.0, fullness / DRY_BELOW), self.left)
        self.left -= got
        return wanted, got, fullness < DRY_BELOW


class Patch(Tank):
    """The grass patch, watered by hand when it looks dry."""

    def __init__(self) -> None:
        super().__init__(next(p for p in PLANTS if p.code == "patch"))
        self._coming = 0.0

    def day(self, today: Day, watered_gal: float = 0.0) -> tuple[float, float, bool]:
        coming, self._coming = self._coming, 0.0
        return super().day(today, watered_gal + coming)

    @property
    def looks_dry(self) -> bool:
        return self.left < 0.5 * self.plants.store_gal

    def water(self, gallons: float) -> None:
        self._coming += gallons


def follow(sky: list[Day], zone_gallons: dict[str, np.ndarray]) -> dict[str, dict[str, object]]:
    """For each planting: gallons wanted and got in each month and the days it ran low.

    ``zone_gallons`` is per minute, what reached each zone's plants.
    """
    watered = {zone: by_day(series) for zone, series in zone_gallons.items()}
    made: dict[str, dict[str, object]] = {}
    for plants in PLANTS:
        tank = Tank(plants)
        entry = made.setdefault(f"{plants.zone}.{plants.code}", {"wanted_gal": {}, "got_gal": {}, "low_days": []})
        for index, today in enumerate(sky):
            if not plants.since <= today.day < plants.until:
                continue
            wanted, got, low = tank.day(today, watered[plants.zone][index] * plants.share)
            month = f"{today.day:%Y-%m}"
            for name, gallons in (("wanted_gal", wanted), ("got_gal", got)):
                sums: dict[str, float] = entry[name]  # type: ignore[assignment]
                sums[month] = sums.get(month, 0.0) + gallons
            if low and wanted > 0.02 * plants.ft2 * GAL_PER_FT2_MM * 25.4 / 2 and _growing(today.day):
                entry["low_days"].append(today.day.isoformat())  # type: ignore[attr-defined]
    return made


def _growing(day: date) -> bool:
    return 4 <= day.month <= 10
