"""Instants as whole milliseconds since 1970 UTC, so that overlaps and sums of time come out exact."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt
import pandas as pd

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]
Days = npt.NDArray[np.datetime64]

HOUR_MS = 3_600_000
MINUTE_MS = 60_000


def to_ms(instants: pd.Series | pd.DatetimeIndex) -> Ints:
    """Aware (or naive UTC) instants as milliseconds; NaT becomes the smallest integer."""
    index = pd.DatetimeIndex(instants)
    plain = index.tz_convert("UTC").tz_localize(None) if index.tz is not None else index
    return plain.to_numpy().astype("datetime64[ms]").astype(np.int64)


def from_ms(ms: npt.ArrayLike) -> pd.DatetimeIndex:
    """Milliseconds as aware UTC instants (datetime64[ns, UTC])."""
    stamps = np.asarray(ms, dtype=np.int64).astype("datetime64[ms]").astype("datetime64[ns]")
    return pd.DatetimeIndex(stamps).tz_localize("UTC")


def local_days(ms: npt.ArrayLike, zone: ZoneInfo) -> Days:
    """The local day each instant falls on, as datetime64[D]."""
    return local_times(ms, zone).astype("datetime64[D]")


def local_times(ms: npt.ArrayLike, zone: ZoneInfo) -> Days:
    """What the clock on the wall shows at each instant, as datetime64[ms]."""
    at = np.asarray(ms, dtype=np.int64)
    known = ~np.isnat(at.view("datetime64[ms]"))
    changes, offsets = _offsets(*_years(at[known]), zone)
    shown = at + offsets[np.searchsorted(changes, at, side="right")]
    return np.where(known, shown, at).astype("datetime64[ms]")


def wall_to_ms(wall: Days, zone: ZoneInfo) -> Ints:
    """Local wall times (datetime64 of any unit) as milliseconds.

    In a doubled hour the first time round is meant; a time that clocks jumped over is taken as that much later.
    """
    known = ~np.isnat(wall)
    shown = np.asarray(wall).astype("datetime64[ms]").astype(np.int64)
    return np.where(known, _first_time_round(shown, _years(shown[known]), zone)[0], shown)


def _first_time_round(shown: Ints, years: tuple[int, int], zone: ZoneInfo) -> tuple[Ints, Ints]:
    """The instants of wall times of these years, and the instant of the change of clocks that comes after each.

    A time that clocks jumped over is taken as that much later, so that it lies after that change.
    """
    changes, offsets = _offsets(*years, zone)
    # old time holds until clocks show a time that only the new one has: past the gap, or past the second time round
    until = changes + np.maximum(offsets[:-1], offsets[1:])
    place = np.searchsorted(until, shown, side="right")
    return shown - offsets[place], np.append(changes, np.iinfo(np.int64).max)[place]


def _years(ms: Ints) -> tuple[int, int]:
    """The first and the last year of some times."""
    if not len(ms):
        return 1970, 1970
    ends = np.array([ms.min(), ms.max()], dtype="datetime64[ms]").astype("datetime64[Y]").astype(np.int64) + 1970
    return int(ends[0]), int(ends[1])


@lru_cache(maxsize=64)
def _offsets(first: int, last: int, zone: ZoneInfo) -> tuple[Ints, Ints]:
    """Instants at which clocks changed over these years and those beside them, and the offsets from UTC before,
    between and after, ms.
    """
    years = [_changes(year, zone) for year in range(first - 1, last + 2)]
    changes = [at for _, found in years for at, _ in found]
    offsets = [years[0][0], *(offset for _, found in years for _, offset in found)]
    return np.array(changes, dtype=np.int64) * 1000, np.array(offsets, dtype=np.int64) * 1000


@lru_cache(maxsize=1024)
def _changes(year: int, zone: ZoneInfo) -> tuple[int, tuple[tuple[int, int], ...]]:
    """The offset from UTC at the beginning of a year, and each instant of it with the offset from then on, seconds."""

    def offset(second: int) -> int:
        told = datetime.fromtimestamp(second, zone).utcoffset()
        return round(told.total_seconds()) if told else 0

    day, end = (int(datetime(y, 1, 1, tzinfo=UTC).timestamp()) for y in (year, year + 1))
    first = held = offset(day)
    changes = []
    for begun in range(day, end, 86_400):
        low, high, after = begun, begun + 86_400, offset(begun + 86_400)
        if after == held:
            continue
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (low, middle) if offset(middle) == after else (middle, high)
        changes.append((high, after))
        held = after
    return first, tuple(changes)


@lru_cache(maxsize=64)
def day_edges(first: date, last: date, zone: ZoneInfo) -> Ints:
    """Local midnights from ``first`` to the one that ends ``last``: one more than there are days. Not to be changed.

    A day whose midnight clocks jumped over begins as they do.
    """
    days = np.arange(np.datetime64(first), np.datetime64(last + timedelta(days=2)))
    midnight = days.astype("datetime64[ms]").astype(np.int64)
    edges = np.minimum(*_first_time_round(midnight, _years(midnight), zone))
    edges.flags.writeable = False  # one array is handed to all who ask for these days
    return edges


def day_range(first: date, last: date) -> pd.DatetimeIndex:
    """Local days from ``first`` to ``last``, both included, as naive datetime64[ns]."""
    days = np.arange(np.datetime64(first), np.datetime64(last + timedelta(days=1)))
    return pd.DatetimeIndex(days.astype("datetime64[ns]"))


def day_shares(start: Ints, end: Ints, edges: Ints) -> tuple[Ints, Ints, Floats]:
    """How spans lie over local days.

    Args:
        start, end: milliseconds, ``end`` after ``start``.
        edges: local midnights as :func:`day_edges` gives them.

    Returns:
        row of the span, number of the day, share of the span's time on that day; what lies outside is left out.
    """
    count = len(edges) - 1
    low = np.clip(np.searchsorted(edges, start, side="right") - 1, 0, count)
    high = np.clip(np.searchsorted(edges, end), 0, count)
    spanned = np.maximum(high - low, 0)
    row = np.repeat(np.arange(len(start)), spanned)
    within = np.arange(len(row)) - np.repeat(np.cumsum(spanned) - spanned, spanned)
    day = low[row] + within
    overlap = np.minimum(end[row], edges[day + 1]) - np.maximum(start[row], edges[day])
    share = np.maximum(overlap, 0) / (end - start)[row]
    return row, day, share
