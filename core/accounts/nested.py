"""Meters behind other meters: what each one measures that no meter behind it does."""

from __future__ import annotations

import numpy as np
import pandas as pd

from core.accounts.instants import MINUTE_MS, Floats, Ints, from_ms, to_ms
from core.accounts.remarks import NOT_ALL_BEHIND, add, joined

TOGETHER_MS = 15 * MINUTE_MS  # two meters read on one round count as read at one time; common practice, no source
AWAITED_MS = 45 * 24 * 60 * MINUTE_MS  # for so long the next reading of a meter is awaited; common practice, no source
UNEVEN = 0.6  # how unevenly a reading's use runs over its time, where it is cut by time; common practice, no source


def own_use(intervals: pd.DataFrame, meters: pd.DataFrame) -> pd.DataFrame:
    """Each meter's intervals less those of the meters directly behind it (``downstream_of``).

    Subtraction is done between boundaries that a meter shares with all meters behind it (within 15 minutes), so its
    intervals are joined where a meter behind it is read more seldom. Meters are seldom read at one time: of two
    readings that cross, the shorter is cut by time, which widens its spread (``UNEVEN``). Where one behind it is
    not read its use stays in, and the note says so; in the weeks since its last reading nothing is reasoned from
    that (``estimated``), since the next one will tell. Parallel meters and meters without others behind them are
    unchanged. The own volumes of all meters sum to those of the outermost ones.

    Args:
        intervals: as :func:`core.accounts.registers.meter_intervals` gives them.
        meters: frame of the book; ``downstream_of`` empty for a meter that stands alone.

    Returns:
        the columns of ``intervals``; ``volume_l`` may be negative within its ``sd_l``.
    """
    behind: dict[str, list[str]] = {}
    for code, before in zip(meters["code"], meters["downstream_of"], strict=True):
        if isinstance(before, str) and before:
            behind.setdefault(before, []).append(code)
    of = {str(code): rows for code, rows in intervals.groupby("meter", sort=True)}
    out = [_less(rows, [of[c] for c in behind.get(code, ()) if c in of]) for code, rows in of.items()]
    return pd.concat(out, ignore_index=True) if out else intervals


def _less(outer: pd.DataFrame, inner: list[pd.DataFrame]) -> pd.DataFrame:
    if not inner:
        return outer
    spans = [(to_ms(child["start"]), to_ms(child["end"])) for child in inner]
    for begins, ends in spans:
        outer = _cut(outer, begins, ends)
    start, end = to_ms(outer["start"]), to_ms(outer["end"])
    inside = np.zeros(len(start) - 1, dtype=bool)
    for begins, ends in spans:
        around = _row_around(start[1:], begins, ends)
        shorter = (ends - begins)[around] < np.minimum(end[:-1] - start[:-1], end[1:] - start[1:])
        inside |= (around >= 0) & ~shorter
    joint = (start[1:] == end[:-1]) & inside
    firsts = np.flatnonzero(np.concatenate([[True], ~joint]))
    lasts = np.append(firsts[1:], len(start)) - 1
    since, until = start[firsts], end[lasts]
    volume = np.add.reduceat(outer["volume_l"].to_numpy(dtype=float), firsts)
    variance = np.add.reduceat(outer["sd_l"].to_numpy(dtype=float) ** 2, firsts)
    estimated = np.logical_or.reduceat(outer["estimated"].to_numpy(dtype=bool), firsts)
    notes = outer["note"].to_numpy(dtype=object)
    note = notes[firsts].copy()
    for row in np.flatnonzero(lasts > firsts):
        note[row] = joined(notes[firsts[row] : lasts[row] + 1])
    covered = np.ones(len(firsts), dtype=bool)
    for child, (begins, ends) in zip(inner, spans, strict=True):
        a, b = _snapped(since, begins, ends), _snapped(until, begins, ends)
        unknown = child["volume_l"].isna().to_numpy()
        volume = volume - _amount(a, b, begins, ends, child["volume_l"].fillna(0.0).to_numpy(dtype=float))
        volume[_amount(a, b, begins, ends, unknown.astype(float)) > 0] = np.nan
        variance = variance + _amount(a, b, begins, ends, child["sd_l"].to_numpy(dtype=float) ** 2)
        variance = variance + _cut_variance(a, begins, ends, child) + _cut_variance(b, begins, ends, child)
        estimated |= _amount(a, b, begins, ends, child["estimated"].to_numpy(dtype=float)) > 0
        covered &= _amount(a, b, begins, ends, (ends - begins).astype(float)) >= (b - a) * (1 - 1e-9)
    for row in np.flatnonzero(~covered):
        add(note, int(row), NOT_ALL_BEHIND)
        estimated[row] |= any(0 <= until[row] - ends[-1] <= AWAITED_MS for _, ends in spans)
    return pd.DataFrame(
        {
            "meter": outer["meter"].to_numpy()[firsts],
            "start": from_ms(since),
            "end": from_ms(until),
            "volume_l": volume,
            "sd_l": np.sqrt(variance),
            "resolution_l": np.maximum.reduceat(outer["resolution_l"].to_numpy(dtype=float), firsts),
            "source": outer["source"].to_numpy(dtype=object)[firsts],
            "estimated": estimated,
            "note": note,
        }
    )


def _cut(outer: pd.DataFrame, begins: Ints, ends: Ints) -> pd.DataFrame:
    """The outer meter's rows cut by time where an inner one's reading falls into a row no longer than the rows that
    meet there.
    """
    start, end = to_ms(outer["start"]), to_ms(outer["end"])
    meets = begins[1:][begins[1:] == ends[:-1]]
    at = np.concatenate([begins[:1], meets, ends[-1:]])
    row = _row_around(at, start, end)
    shortest = np.full(len(at), np.iinfo(np.int64).max)
    for edges in (begins, ends):  # of the inner rows that begin or end there
        which = np.searchsorted(edges, at)
        held = (which < len(edges)) & (edges[np.minimum(which, len(edges) - 1)] == at)
        shortest[held] = np.minimum(shortest[held], (ends - begins)[which[held]])
    good = (row >= 0) & ((end - start)[row] <= shortest)
    at, row = at[good], row[good]
    once = np.unique(row, return_index=True)[1]
    at, row = at[once], row[once]
    if not len(row):
        return outer
    share = (at - start[row]) / (end[row] - start[row])
    volume, sd = (outer[name].to_numpy(dtype=float)[row] for name in ("volume_l", "sd_l"))
    uneven = (UNEVEN * volume) ** 2 * share * (1 - share)
    early, late = outer.iloc[row].copy(), outer.iloc[row].copy()
    early["end"] = late["start"] = from_ms(at)
    for part, size in ((early, share), (late, 1 - share)):
        part["volume_l"], part["sd_l"] = volume * size, np.sqrt(sd**2 * size + uneven)
    whole = outer.drop(outer.index[row])
    return pd.concat([whole, early, late]).sort_values("start", kind="stable").reset_index(drop=True)


def _row_around(at: Ints, begins: Ints, ends: Ints) -> Ints:
    """The row that each instant lies in and not, within the time of one round, at its edge; -1 for none."""
    row = np.searchsorted(begins, at, side="right") - 1
    held = (row >= 0) & (at - begins[row] > TOGETHER_MS) & (ends[row] - at > TOGETHER_MS)
    return np.where(held, row, -1)


def _cut_variance(at: Ints, begins: Ints, ends: Ints, rows: pd.DataFrame) -> Floats:
    """What cutting the rows by time at these instants adds to the variance on either side."""
    row = _row_around(at, begins, ends)
    share = np.where(row >= 0, (at - begins[row]) / (ends[row] - begins[row]), 0.0)
    result: Floats = (UNEVEN * rows["volume_l"].fillna(0.0).to_numpy(dtype=float)[row]) ** 2 * share * (1 - share)
    return result


def _snapped(at: Ints, begins: Ints, ends: Ints) -> Ints:
    """Instants moved to the inner meter's reading of the same round, where there is one."""
    edges = np.unique(np.concatenate([begins, ends]))
    right = np.clip(np.searchsorted(edges, at), 0, len(edges) - 1)
    left = np.maximum(right - 1, 0)
    near = np.where(np.abs(edges[left] - at) <= np.abs(edges[right] - at), edges[left], edges[right])
    return np.where(np.abs(near - at) <= TOGETHER_MS, near, at)


def _amount(since: Ints, until: Ints, begins: Ints, ends: Ints, amount: Floats) -> Floats:
    """Sum of ``amount`` between two instants, an interval cut by one of them counting by time."""
    knots = np.stack([begins, ends], axis=1).ravel().astype(float)
    total = np.cumsum(np.stack([np.zeros_like(amount), amount], axis=1).ravel())
    inside: Floats = np.interp(until.astype(float), knots, total) - np.interp(since.astype(float), knots, total)
    return inside
