"""Metered volumes by dates alone: of whole local days, from midnight to midnight.

What was typed is kept, a day as its noon (:class:`core.days.Moment`); which instants it stands for is told here, for
records and frames alike. The end is the first day no longer counted, as with bills, pauses and rain; one and the same
day at both ends, as daily files have it, would be nothing and is that day.
"""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt
import pandas as pd

from core.days import Moment, day_start


def goes_forward(start: Moment, end: Moment) -> bool:
    """Whether the span has a length, by what was written: a record does not know its home's clock."""
    if end.utc > start.utc:
        return True
    if end.exact == "day":
        return start.local.date() <= end.local.date()
    return start.exact == "day" and end.local.replace(tzinfo=None) > datetime.combine(start.local.date(), time(0))


def span(start: Moment, end: Moment, zone: ZoneInfo) -> tuple[datetime, datetime]:
    """From when to when a metered volume holds, in UTC.

    A day alone is the midnight with which it begins on the home's clock. As an end that would not come after the start
    it is the midnight with which that day is over.
    """
    begun = day_start(start.local.date(), zone) if start.exact == "day" else start.utc
    over = day_start(end.local.date(), zone) if end.exact == "day" else end.utc
    if end.exact == "day" and over <= begun:
        over = day_start(end.local.date() + timedelta(days=1), zone)
    return (begun, over) if over > begun else (start.utc, end.utc)  # written on clocks of two places: as it stands


def with_midnights(rows: pd.DataFrame, zone: ZoneInfo) -> pd.DataFrame:
    """The frame of metered use with ``start`` and ``end`` as :func:`span` tells them."""
    by_day = {name: (rows[f"{name}_exact"] == "day").to_numpy(bool) for name in ("start", "end")}
    if not (by_day["start"] | by_day["end"]).any():
        return rows
    stored = {name: rows[name] for name in by_day}
    begins = {name: _midnights(rows, name, by_day[name], zone, 0) for name in by_day}
    closing = by_day["end"] & (begins["end"] <= begins["start"]).to_numpy(bool)
    begins["end"] = begins["end"].mask(closing, _midnights(rows, "end", closing, zone, 1))
    forward = begins["end"] > begins["start"]
    return rows.assign(**{name: begins[name].where(forward, stored[name]) for name in by_day})


def _midnights(rows: pd.DataFrame, name: str, which: npt.NDArray[np.bool_], zone: ZoneInfo, after: int) -> pd.Series:
    """The instants of a column, those of days alone moved to the midnight so many days after the one they begin with.

    The day is the one that was written: whoever corrects the home's time zone has not written another.
    """
    at = rows[name]
    days = (at + pd.to_timedelta(rows[f"{name}_offset_min"], unit="min"))[which].dt.date
    starts: dict[date, datetime] = {day: day_start(day + timedelta(days=after), zone) for day in days.unique()}
    moved = at.copy()
    moved.loc[which] = pd.to_datetime(days.map(starts), utc=True).astype(at.dtype)
    return moved
