"""Other use somebody wrote down, as single uses with a time, a volume and a spread."""

from __future__ import annotations

from datetime import date
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from core.accounts.instants import HOUR_MS, Ints, day_edges, from_ms, local_days, local_times, to_ms, wall_to_ms

COLUMNS = ("start", "end", "what", "volume_l", "sd_l", "meter", "zone", "planting")


def logged_uses(other_use: pd.DataFrame, tz: ZoneInfo, last: date) -> pd.DataFrame:
    """Every single use up to the end of the local day ``last``.

    A repeating use happens at the same time on the clock every so many days until its end, or until now when it
    has none, with the whole volume each time. A use without an end lasts an hour; one written with days alone
    lasts from the start of the first day to the end of the last.

    Args:
        other_use: frame of the book. ``spread`` is one standard deviation in percent of the volume.

    Returns:
        start, end (UTC), what, volume_l, sd_l, meter, zone, planting (None where not said), by start.
    """
    closing = int(day_edges(last, last, tz)[1])
    written, written_end = to_ms(other_use["start"]), to_ms(other_use["end"])
    by_day = (other_use["start_exact"] == "day").to_numpy(dtype=bool)
    ended = other_use["end"].notna().to_numpy(dtype=bool)
    end_by_day = ended & (other_use["end_exact"] == "day").to_numpy(dtype=bool)
    every = other_use["every_days"].astype("Float64").fillna(0).to_numpy(dtype=float).astype(np.int64)
    start = _moved_to_midnight(written, by_day, tz, 0)
    until = _moved_to_midnight(np.where(ended, written_end, written), end_by_day | (by_day & ~ended), tz, 1)

    repeats = every > 0
    once_end = np.where(ended | by_day, until, start + HOUR_MS)
    times = np.where(repeats, _occurrences(start, np.where(ended, until, closing), every, tz), 1)
    row = np.repeat(np.arange(len(start)), times)
    nth = np.arange(len(row)) - np.repeat(np.cumsum(times) - times, times)
    begins = np.where(repeats[row], _days_later(start[row], nth * every[row], tz), start[row])
    length = np.where(by_day[row], _days_later(begins, np.ones_like(begins), tz) - begins, HOUR_MS)
    ends = np.where(repeats[row], begins + length, once_end[row])
    kept = begins < closing
    volume = other_use["volume_l"].to_numpy(dtype=float)[row]
    text = {n: other_use[n].to_numpy(dtype=object)[row][kept] for n in ("what", "meter", "zone", "planting")}
    table = pd.DataFrame(
        {
            "start": from_ms(begins[kept]),
            "end": from_ms(ends[kept]),
            "volume_l": volume[kept],
            "sd_l": (volume * other_use["spread"].to_numpy(dtype=float)[row] / 100)[kept],
        }
        | {n: [v if isinstance(v, str) and v else None for v in values] for n, values in text.items()}
    )
    return table.sort_values("start", kind="stable", ignore_index=True)[list(COLUMNS)]


def _moved_to_midnight(at: Ints, which: np.ndarray, tz: ZoneInfo, days: int) -> Ints:
    """Instants of day-exact records (noon) moved to the midnight that opens (0) or closes (1) their day."""
    midnight = wall_to_ms((local_days(at, tz) + np.timedelta64(days, "D")).astype("datetime64[m]"), tz)
    return np.where(which, midnight, at)


def _days_later(at: Ints, days: Ints, tz: ZoneInfo) -> Ints:
    """The same time on the clock so many local days later."""
    return wall_to_ms(local_times(at, tz) + days.astype("timedelta64[D]"), tz)


def _occurrences(start: Ints, until: Ints, every: Ints, tz: ZoneInfo) -> Ints:
    """How often a repeating use happens from its start to ``until``, both included."""
    from_day, to_day = local_days(start, tz).astype(np.int64), local_days(until, tz).astype(np.int64)
    steps = np.maximum(to_day - from_day, -1) // np.maximum(every, 1)
    last = _days_later(start, np.maximum(steps, 0) * every, tz)
    return np.where(steps < 0, 0, steps + (last <= until))
