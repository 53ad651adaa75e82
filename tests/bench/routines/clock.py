"""The time of a home: minutes since its record began, and the hours its people live by."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Clock:
    """Local days counted from the first; a minute is one of the meter's, since the first local midnight.

    Attributes:
        start: the first local midnight. dates: of each day, and of the one after the last.
        noon: minute at which the clock on the wall shows noon, for each of ``dates``. minutes: of the whole record.
    """

    tz: ZoneInfo
    start: datetime
    dates: tuple[date, ...]
    noon: Floats
    minutes: int

    @property
    def days(self) -> int:
        return len(self.dates) - 1

    def minute(self, day: int, since_midnight: float) -> float:
        """Minute of the record at a time of day; the day may be run over at either end.

        It is counted from noon, so that on the two days a year that are an hour longer or shorter everything by day
        happens when the clock on the wall says.
        """
        return float(self.noon[day]) - 720 + since_midnight

    def when(self, minute: float) -> datetime:
        return self.start + timedelta(minutes=float(minute))

    def find(self, month: int, day_of_month: int) -> list[int]:
        """Days of the record with this date: none, one or two."""
        return [i for i, d in enumerate(self.dates[:-1]) if (d.month, d.day) == (month, day_of_month)]


def draw_clock(rng: np.random.Generator) -> Clock:
    """Ten to fourteen months from some day of two years, in one of two time zones."""
    tz = ZoneInfo(str(rng.choice(["America/Denver", "America/New_York"])))
    days = int(rng.integers(300, 421))
    first = date(2022, 1, 1) + timedelta(days=int(rng.integers(0, 700)))
    dates = tuple(first + timedelta(days=i) for i in range(days + 1))
    start = _instant(first, 0, tz)
    noon = np.array([(_instant(d, 12, tz) - start).total_seconds() / 60 for d in dates])
    return Clock(tz, start, dates, noon, int((_instant(dates[-1], 0, tz) - start).total_seconds() / 60))


def _instant(day: date, hour: int, tz: ZoneInfo) -> datetime:
    return datetime(day.year, day.month, day.day, hour, tzinfo=tz).astimezone(UTC)
