"""How a planting's store was taken to begin, and for how long that guess matters."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import pandas as pd

from core.review.growth import Version
from core.review.picture import Picture
from core.review.spoken import counted, day_named
from core.water.soil import days_until_start_forgotten

LOOKED_AT_DAYS = 400  # a guess older than a year and a winter is not looked at


@dataclass(frozen=True, slots=True)
class Beginning:
    """The state a planting's first day was given.

    Attributes:
        since: its first day, taken as full (FAO-56 chapter 8: after a soak).
        days: days until a walk begun full and one begun empty agree within 1 mm; None: not by as-of.
        sentence: both in words.
    """

    since: date
    days: int | None
    sentence: str

    def matters(self, first: pd.Timestamp) -> bool:
        """Whether the guess still touches days from ``first`` on."""
        return self.days is None or self.since + timedelta(days=self.days) > first.date()


def beginning(picture: Picture, version: Version, first: pd.Timestamp) -> Beginning | None:
    """The beginning of a version where it still matters on ``first``; None where it followed another or is long ago."""
    followed = any(
        (v.zone, v.planting, v.last) == (version.zone, version.planting, version.first) for v in picture.growth.versions
    )
    since = picture.days[version.first]
    if followed or (first - since).days > LOOKED_AT_DAYS:
        return None
    rows = picture.growth.days
    last = picture.days[min(version.last, version.first + LOOKED_AT_DAYS) - 1]
    rows = rows[(rows["zone"] == version.zone) & (rows["planting"] == version.planting)]
    rows = rows[(rows["day"] >= since) & (rows["day"] <= last)]
    store = version.store
    days = days_until_start_forgotten(
        rows["need_mm"],
        rows["rain_mm"] - rows["light_rain_mm"],
        rows["applied_mm"],
        store.total_available_mm,
        store.depletion_fraction,
        wetted_fraction=version.wetted,
    )
    said = f"{version.name}: the soil was taken as full on {day_named(since, year=True)}; "
    if days is None:
        said += "the figures still rest on that."
    else:
        end = (since + pd.Timedelta(days=days)).date()
        said += (
            f"that mattered for {counted(days, 'day')}, until {day_named(end, year=True)}." if days else "no matter."
        )
    begun = Beginning(since.date(), days, said)
    return begun if begun.matters(first) else None
