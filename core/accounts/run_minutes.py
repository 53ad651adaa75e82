"""Minutes of runs on each local day, by overlap, for years at once."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from core.accounts.instants import MINUTE_MS, Floats, Ints, day_edges, day_range, to_ms


def run_minutes_by_day(
    runs: pd.DataFrame, tz: ZoneInfo, first: date, last: date, zones: Sequence[str] | None = None
) -> pd.DataFrame:
    """Minutes each zone ran on each local day from ``first`` to ``last``; a run over midnight counts on both days.

    Args:
        runs: as :func:`core.accounts.runs.runs_between` gives them; those that did not run are left out.
        zones: columns wanted; all zones with runs, in order, when None.

    Returns:
        minutes, one row per day, one column per zone. Overlapping runs of one zone count each.
    """
    edges = day_edges(first, last, tz)
    happened = runs[(runs["basis"] != "did_not").to_numpy(dtype=bool)]
    zone = happened["zone"].to_numpy(dtype=object)
    start, end = to_ms(happened["start"]), to_ms(happened["end"])
    wanted = sorted(set(zone)) if zones is None else list(zones)
    columns = {}
    for code in wanted:
        mine = zone == code
        begins, ends = np.sort(start[mine]), np.sort(end[mine])
        columns[code] = np.diff(_until(edges, begins, ends))
    index = day_range(first, last).rename("day")
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
