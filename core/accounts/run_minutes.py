"""Minutes of runs within any spans of time, by overlap, for tens of thousands of spans at once."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from core.accounts.instants import MINUTE_MS, Floats, Ints, day_edges, day_range, to_ms


def run_minutes_by_interval(
    runs: pd.DataFrame, intervals: pd.DataFrame, zones: Sequence[str] | None = None
) -> pd.DataFrame:
    """Minutes each zone ran within each interval.

    Args:
        runs: as :func:`core.accounts.runs.runs_between` gives them; those that did not run are left out.
        intervals: any frame with ``start`` and ``end`` (UTC).
        zones: columns wanted; all zones with runs, in order, when None.

    Returns:
        minutes, one row per interval (the index of ``intervals``), one column per zone. Overlapping runs of one
        zone count each.
    """
    return _by_zone(runs, to_ms(intervals["start"]), to_ms(intervals["end"]), intervals.index, zones)


def run_minutes_by_day(
    runs: pd.DataFrame, tz: ZoneInfo, first: date, last: date, zones: Sequence[str] | None = None
) -> pd.DataFrame:
    """Minutes each zone ran on each local day from ``first`` to ``last``; a run over midnight counts on both days."""
    edges = day_edges(first, last, tz)
    index = day_range(first, last).rename("day")
    return _by_zone(runs, edges[:-1], edges[1:], index, zones)


def _by_zone(
    runs: pd.DataFrame, since: Ints, until: Ints, index: pd.Index, zones: Sequence[str] | None
) -> pd.DataFrame:
    happened = runs[(runs["basis"] != "did_not").to_numpy(dtype=bool)]
    zone = happened["zone"].to_numpy(dtype=object)
    start, end = to_ms(happened["start"]), to_ms(happened["end"])
    wanted = sorted(set(zone)) if zones is None else list(zones)
    columns = {}
    for code in wanted:
        mine = zone == code
        begins, ends = np.sort(start[mine]), np.sort(end[mine])
        columns[code] = _until(until, begins, ends) - _until(since, begins, ends)
    return pd.DataFrame(columns, index=index, columns=pd.Index(wanted, name="zone"), dtype=float)


def _until(at: Ints, begins: Ints, ends: Ints) -> Floats:
    """Minutes run before each instant: all elapsed since each start, less all elapsed since each end."""
    base = int(begins[0]) if len(begins) else 0  # whole milliseconds from here keep the sums exact
    elapsed = _elapsed(at - base, begins - base) - _elapsed(at - base, ends - base)
    return elapsed / MINUTE_MS


def _elapsed(at: Ints, marks: Ints) -> Ints:
    passed = np.searchsorted(marks, at)
    sums = np.concatenate([[0], np.cumsum(marks)])
    elapsed: Ints = passed * at - sums[passed]
    return elapsed
