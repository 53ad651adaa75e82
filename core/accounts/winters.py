"""Winters: when the system was shut down, as the pauses of all zones for the winter say."""

from __future__ import annotations

from datetime import date
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from core.accounts.instants import HOUR_MS, day_edges

Spans = tuple[tuple[float, float], ...]


def winter_pauses(pauses: pd.DataFrame) -> pd.DataFrame:
    """The pauses (frame of the book) that shut the whole system down; a zone that rests alone is no shutdown."""
    return pauses[((pauses["scope"] == "all") & (pauses["reason"] == "winter")).to_numpy(bool)]


def winter_spans(pauses: pd.DataFrame | None, zone: ZoneInfo) -> Spans:
    """From the local midnight that begins each shutdown's first day to the one that begins the first day on again.

    Hours since 1970 UTC, in order of time; infinite while the system is still shut.
    """
    if pauses is None or pauses.empty:
        return ()
    found = [
        (_midnight(row["since"], zone), np.inf if pd.isna(row["until"]) else _midnight(row["until"], zone))
        for row in winter_pauses(pauses).to_dict("records")
    ]
    return tuple(sorted(found))


def _midnight(stamp: pd.Timestamp, zone: ZoneInfo) -> float:
    day: date = pd.Timestamp(stamp).date()
    return float(day_edges(day, day, zone)[0] / HOUR_MS)
