"""Of which days of a month the meters tell nothing: its total is then that of the other days, and is said so."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise

import numpy as np
import pandas as pd

from core.accounts.instants import day_edges, to_ms
from core.review.picture import Picture
from core.review.spoken import counted, days_named

MOST_SPANS = 3  # stretches of days that a sentence can name
HALF = 0.5  # of a day that must be covered for the day to count as known; a choice of our own


def unknown_days(picture: Picture, intervals: pd.DataFrame, first: date, last: date) -> list[date]:
    """Local days from ``first`` to ``last`` of which no meter tells half; those after the last reading only once the
    month is over, for until then they are yet to be read.
    """
    if last >= picture.today and len(intervals):
        last = min(last, intervals["end"].max().tz_convert(picture.tz).date() - timedelta(days=1))
    told = intervals[intervals["metered_l"].notna()].sort_values("start")
    start, end = to_ms(told["start"]), to_ms(told["end"])
    reached = np.maximum.accumulate(np.append(0, end))[:-1]
    start = np.maximum(start, reached)  # of several meters no hour counts twice
    days = [first + timedelta(days=n) for n in range((last - first).days + 1)]
    unknown = []
    for day in days:
        opens, closes = day_edges(day, day, picture.tz)
        if np.clip(np.minimum(end, closes) - np.maximum(start, opens), 0, None).sum() < HALF * (closes - opens):
            unknown.append(day)
    return unknown


def covered_sentence(unknown: list[date], first: date, last: date) -> str:
    """On how many days the total rests, where that is not all of them; "" where it is."""
    if not unknown:
        return ""
    whole = (last - first).days + 1
    spans = 1 + sum(after - before > timedelta(days=1) for before, after in pairwise(unknown))
    which = days_named(unknown) if spans <= MOST_SPANS else counted(len(unknown), "day")
    return f"That is known for {whole - len(unknown)} of {whole} days: no reading tells what passed on {which}."
