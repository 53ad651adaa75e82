"""The minutes of the sample, counted from its first midnight, and the home's wall clock."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import numpy as np

ZONE_NAME = "America/Boise"
HOME = ZoneInfo(ZONE_NAME)
FIRST = date(2024, 11, 1)
AFTER = date(2026, 11, 23)  # the first day that is no longer simulated
_ZERO = datetime.combine(FIRST, time(0), HOME).astimezone(UTC)
CONTROLLER_HOURS = -6  # set right each April, so to summer time; it does not change by itself


def minute(wall: datetime) -> int:
    """Minutes from the first midnight to a wall-clock time at the home."""
    return int((wall.replace(tzinfo=HOME).astimezone(UTC) - _ZERO).total_seconds() // 60)


def wall(at: int) -> datetime:
    """The wall clock at a minute."""
    return (_ZERO + timedelta(minutes=int(at))).astimezone(HOME).replace(tzinfo=None)


def on_controller(day: date, start: time, fast_minutes: float) -> int:
    """The minute at which a controller that is ``fast_minutes`` fast shows ``start`` on ``day``."""
    shown = datetime.combine(day, start, UTC) - timedelta(hours=CONTROLLER_HOURS, minutes=fast_minutes)
    return int((shown - _ZERO).total_seconds() // 60)


def days(first: date = FIRST, after: date = AFTER) -> list[date]:
    return [first + timedelta(days=n) for n in range((after - first).days)]


def on(text: str) -> datetime:
    """A wall-clock time written as ``2026-07-17 06:35``."""
    return datetime.fromisoformat(text)


def at(day: date, hour: int, minute_of_hour: int = 0) -> datetime:
    return datetime.combine(day, time(hour, minute_of_hour))


MINUTES = minute(datetime.combine(AFTER, time(0)))
MIDNIGHTS = np.array([minute(datetime.combine(d, time(0))) for d in [*days(), AFTER]])


def by_day(per_minute: np.ndarray) -> np.ndarray:
    """Sums of a series of minutes over the home's days."""
    return np.add.reduceat(per_minute, MIDNIGHTS[:-1])
