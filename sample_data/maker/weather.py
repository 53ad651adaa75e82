"""Weather of a high desert: hard winters, most rain from November to May, next to none in July and August."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date

from maker.clock import days
from maker.dice import Dice

# What months are like there, invented in the manner of the Snake River plain at 4,000 ft.
HIGH_F = (35, 42, 53, 62, 71, 81, 91, 90, 79, 65, 47, 36)
LOW_F = (18, 22, 29, 34, 41, 48, 55, 53, 44, 34, 26, 18)
RAIN_IN = (1.25, 0.85, 0.95, 0.80, 1.05, 0.70, 0.25, 0.20, 0.40, 0.70, 1.10, 1.35)
_RAIN_STARTS = (0.24, 0.20, 0.20, 0.17, 0.18, 0.13, 0.05, 0.05, 0.08, 0.12, 0.21, 0.25)
_RAIN_GOES_ON = (0.48, 0.42, 0.40, 0.36, 0.40, 0.34, 0.22, 0.22, 0.30, 0.36, 0.44, 0.50)


@dataclass(frozen=True)
class Day:
    """One day's true weather: temperatures in F, rain in inches, the hours it fell, sun in MJ on a square metre."""

    day: date
    low: float
    high: float
    rain: float
    rain_from: float
    rain_hours: float
    sun: float

    @property
    def thirst(self) -> float:
        """Millimetres a well watered, full green cover would give off: sun times warmth, with constants of our own."""
        warmth = (self.low + self.high - 64.0) / 3.6 + 4.0
        return max(0.15, 0.0103 * self.sun * max(warmth, 0.0))

    def rain_before(self, hour: float) -> float:
        """Inches of the day's rain that fell before ``hour`` o'clock."""
        return self.rain * min(max((hour - self.rain_from) / self.rain_hours, 0.0), 1.0)


def _between_months(table: tuple[float, ...], day: date) -> float:
    place = day.month - 1 + (day.day - 15.5) / 30.4
    low = math.floor(place)
    return table[low % 12] + (place - low) * (table[(low + 1) % 12] - table[low % 12])


def make() -> list[Day]:
    """The weather of every day of the sample."""
    dice = Dice("weather")
    made, wet, warm, wide = [], False, 0.0, 0.0
    for day in days():
        month = day.month - 1
        wet = dice.chance(_RAIN_GOES_ON[month] if wet else _RAIN_STARTS[month])
        warm = 0.72 * warm + dice.normal(0, 0.69)
        wide = 0.45 * wide + dice.normal(0, 0.80)
        middle = (_between_months(HIGH_F, day) + _between_months(LOW_F, day)) / 2
        reach = _between_months(HIGH_F, day) - _between_months(LOW_F, day)
        winter = 0.5 + 0.5 * math.cos(2 * math.pi * (day.timetuple().tm_yday - 15) / 365.25)
        middle += warm * (5.2 + 2.8 * winter) - (3.5 * (1 - winter) if wet else -1.0 * winter)
        reach = max(reach * (0.68 if wet else 1.04) + 4.5 * wide, 5.0)
        share_wet = _RAIN_STARTS[month] / (1 + _RAIN_STARTS[month] - _RAIN_GOES_ON[month])
        usual = RAIN_IN[month] / (30.4 * share_wet)
        rain = min(dice.about(usual, 1.15), 1.3) if wet else (0.004 * dice.uniform() if dice.chance(0.03) else 0.0)
        sky = dice.uniform(0.35, 0.72) if wet else min(1.0, dice.normal(0.93, 0.07))
        clear = 17.2 + 11.6 * math.cos(2 * math.pi * (day.timetuple().tm_yday - 173) / 365.25)
        starts = dice.uniform(0, 20)
        made.append(
            Day(day, middle - reach / 2, middle + reach / 2, rain, starts, dice.uniform(1, 24 - starts), clear * sky)
        )
    return made
