"""Meters behind other meters: what each one measures that no meter behind it does."""

from __future__ import annotations

import numpy as np
import pandas as pd

from core.accounts.instants import MINUTE_MS, Flags, Floats, Ints, from_ms, to_ms
from core.accounts.remarks import NOT_ALL_BEHIND, add, joined

TOGETHER_MS = 15 * MINUTE_MS  # two meters read on one round count as read at one time; common practice, no source


def own_use(intervals: pd.DataFrame, meters: pd.DataFrame) -> pd.DataFrame:
    """Each meter's intervals less those of the meters directly behind it (``downstream_of``).

    Subtraction is done between boundaries that a meter shares with all meters behind it (within 15 minutes), so
    its intervals are joined where a meter behind it is read more seldom. Where one behind it is not read at all
    its use stays in, and the note says so. Parallel meters and meters without others behind them are unchanged.
    The own volumes of all meters sum to those of the outermost ones.

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
    start, end = to_ms(outer["start"]), to_ms(outer["end"])
    spans = [(to_ms(child["start"]), to_ms(child["end"])) for child in inner]
    inside = np.zeros(len(start) - 1, dtype=bool)
    for begins, ends in spans:
        inside |= _within_a_row(start[1:], begins, ends)
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
        estimated |= _amount(a, b, begins, ends, child["estimated"].to_numpy(dtype=float)) > 0
        covered &= _amount(a, b, begins, ends, (ends - begins).astype(float)) >= (b - a) * (1 - 1e-9)
    for row in np.flatnonzero(~covered):
        add(note, int(row), NOT_ALL_BEHIND)
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


def _within_a_row(at: Ints, begins: Ints, ends: Ints) -> Flags:
    """Instants inside an interval of the inner meter and not, within the time of one round, at its edge."""
    row = np.searchsorted(begins, at, side="right") - 1
    held = row >= 0
    return held & (at - begins[row] > TOGETHER_MS) & (ends[row] - at > TOGETHER_MS)


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
