"""Rain in gauges, put on local days."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from core.accounts.cover import finest_cover
from core.accounts.instants import (
    HOUR_MS,
    Flags,
    Floats,
    Ints,
    day_edges,
    day_range,
    day_shares,
    local_days,
    to_ms,
    wall_to_ms,
)

KNOWN_SHARE = 0.9  # a day counts as known when gauges cover this share of it; common practice, no source
LONG_MS = 36 * HOUR_MS  # a record longer than this holds more than one day's rain


def rain_by_day(rain: pd.DataFrame, tz: ZoneInfo, first: date, last: date, prefer: Sequence[str] = ()) -> pd.DataFrame:
    """Rain of each local day from ``first`` to ``last``.

    A record is spread evenly over its hours, so most of what a gauge shows at 7 in the morning lies on the day
    before. Times written as days alone mean midnight: from 14 July to 15 July is the rain of 14 July. Within one
    gauge the finest record holds (:func:`core.accounts.cover.finest_cover`). Of several gauges one is taken per
    day, never their sum: of those that cover the day the first named in ``prefer``, then the one read most
    often, then by name; if none covers it, the one that covers most.

    Returns:
        day (naive), rain_mm (NaN where no gauge reaches; a lower bound where ``known`` is False), known, covered
        (share of the day), trace (some record of the day was a trace, which counts as 0), spread (some of it comes
        from a record of more than a day and a half), gauge ("" where none).
    """
    edges = day_edges(first, last, tz)
    days = day_range(first, last)
    gauges = sorted(rain["gauge"].unique(), key=lambda g: _rank(g, rain, prefer)) if len(rain) else []
    found = [_gauge_days(rain[rain["gauge"] == g], tz, edges) for g in gauges]
    if not found:
        nothing, never = np.full(len(days), np.nan), np.zeros(len(days), dtype=bool)
        return _frame(days, nothing, np.zeros(len(days)), never, never, np.full(len(days), "", dtype=object))
    covered = np.array([f[1] for f in found])
    rank = np.arange(len(found))[:, None].astype(float)
    # Gauges that cover the day first, by rank; then the fullest.
    chosen = np.argmin(np.where(covered >= KNOWN_SHARE, rank, len(found) + 1 - covered), axis=0)
    pick = (chosen, np.arange(len(days)))
    share = covered[pick]
    amount = np.where(share > 0, np.array([f[0] for f in found])[pick], np.nan)
    trace, spread = (np.array([f[k] for f in found])[pick] for k in (2, 3))
    return _frame(days, amount, share, trace, spread, np.where(share > 0, np.array(gauges, dtype=object)[chosen], ""))


def _rank(gauge: str, rain: pd.DataFrame, prefer: Sequence[str]) -> tuple[int, float, str]:
    mine = rain[rain["gauge"] == gauge]
    named = list(prefer).index(gauge) if gauge in prefer else len(prefer)
    return named, float(np.median(to_ms(mine["end"]) - to_ms(mine["start"]))), gauge


def _gauge_days(rain: pd.DataFrame, tz: ZoneInfo, edges: Ints) -> tuple[Floats, Floats, Flags, Flags]:
    """Depth, covered share, trace and long-record flags of one gauge, per day."""
    start, end = (_midnight_if_day(rain, name, tz) for name in ("start", "end"))
    sound = end > start
    start, end = start[sound], end[sound]
    depth = rain["rain_mm"].to_numpy(dtype=float)[sound]
    none = np.zeros(len(depth))
    cover = finest_cover(start, end, depth, none, none.astype(bool))
    row, day, share = day_shares(cover.start, cover.end, edges)
    count = len(edges) - 1
    length = (cover.end - cover.start)[row] * share
    # What finer records leave of a longer one is never below nothing: rain does not flow back.
    amount = np.maximum(np.nan_to_num(cover.amount), 0.0)[row] * share
    owner, touched = cover.owner[row], share > 0
    trace = rain["trace"].to_numpy(dtype=bool)[sound][owner] & touched
    long = ((end - start) > LONG_MS)[owner] & touched
    known = touched & np.isfinite(cover.amount[row])
    return (
        np.bincount(day, amount, minlength=count).astype(float),
        np.bincount(day, length * known, minlength=count) / np.diff(edges),
        np.bincount(day, trace, minlength=count) > 0,
        np.bincount(day, long, minlength=count) > 0,
    )


def _midnight_if_day(rain: pd.DataFrame, name: str, tz: ZoneInfo) -> Ints:
    at = to_ms(rain[name])
    by_day = (rain[f"{name}_exact"] == "day").to_numpy(dtype=bool)
    if by_day.any():
        at[by_day] = wall_to_ms(local_days(at[by_day], tz).astype("datetime64[m]"), tz)
    return at


def _frame(
    days: pd.DatetimeIndex, amount: Floats, covered: Floats, trace: Flags, spread: Flags, gauge: object
) -> pd.DataFrame:
    return pd.DataFrame(
        {
            "day": days,
            "rain_mm": amount,
            "known": covered >= KNOWN_SHARE,
            "covered": covered,
            "trace": trace,
            "spread": spread,
            "gauge": gauge,
        }
    )
