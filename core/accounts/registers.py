"""From registers and metered volumes to one row per interval: what passed each meter, when, and how surely.

A register shows the last whole step it has passed, so the true count lies up to one step above; half a step is
added to each end, which cancels between readings of one resolution, and the difference of two readings has a
standard deviation of step / sqrt 6 (two rounding errors, uniform over a step; arithmetic).
"""

from __future__ import annotations

import math
from collections.abc import Hashable
from typing import Any, Literal

import numpy as np
import pandas as pd

from core.accounts import remarks
from core.accounts.cover import finest_cover
from core.accounts.instants import HOUR_MS, Flags, Floats, Ints, from_ms, to_ms
from core.accounts.steps import fallen_steps, left_out
from core.accounts.two_registers import of_another
from core.accounts.volume_steps import volume_steps
from core.units import to_base

COLUMNS = ("meter", "start", "end", "volume_l", "sd_l", "resolution_l", "source", "estimated", "note")
ESTIMATE_SHARE = 0.3  # spread of a utility's estimated reading, share of its volume; common practice, no source
TIME_SPLIT_SHARE = 0.5  # spread of a volume divided by time alone, share of it; common practice, no source
NOT_READ_STEPS = 3  # an unmoved register is remarked on when this many steps were due


def meter_intervals(readings: pd.DataFrame, meters: pd.DataFrame, metered_use: pd.DataFrame) -> pd.DataFrame:
    """What passed each meter between readings, in one cover of time without overlap.

    Readings of a register and metered volumes of one meter are laid over each other and the finest wins
    (:func:`core.accounts.cover.finest_cover`): of a weekly register reading over an hourly file only what the
    file leaves is kept. Rules for registers:

    - A register that falls near its top and wraps by a plausible volume
      (:func:`core.accounts.steps.rollover_l`) has rolled over; any other fall gives a volume of NaN, never an
      invention. A step back of at most 20 L (or one step) is kept as it is.
    - A first reading after a change is taken as the new register's start; with the old register's last number
      the volume before it is known, without it NaN.
    - A reading that neither neighbour can follow, while they follow each other, is left out and named in the note.
    - Readings that follow another register, to which the numbers jump and back more than once, are not counted
      (:func:`core.accounts.two_registers.of_another`); up to a last one of them the volume is NaN.
    - An estimated reading between real ones is settled by the later real one: it bounds no interval. One that
      nothing has settled yet gives an interval marked estimated, with a wide spread.
    - Of two entries for one instant a real one goes before an estimate, then the later entry.

    Args:
        readings, meters, metered_use: frames of the book (meter_reading, meter, metered_use).

    Returns:
        meter, start, end (UTC), volume_l (NaN: not knowable), sd_l, resolution_l, source ("register" or "use"),
        estimated, note; by meter and start. Stretches with neither a reading nor a volume have no row.
    """
    facts = {str(row["code"]): row for row in meters.to_dict("records")}
    codes = {*readings["meter"].unique(), *metered_use["meter"].unique()}
    by_reading, by_use = dict(list(readings.groupby("meter"))), dict(list(metered_use.groupby("meter")))
    frames = []
    for code in sorted(codes):
        meter = facts[code]
        unit_l = to_base(1, meter["unit"], "volume")
        rows = [
            _register_rows(by_reading.get(code, readings.iloc[:0]), meter, unit_l),
            _use_rows(by_use.get(code, metered_use.iloc[:0]), float(meter["resolution"]) * unit_l),
        ]
        frames.append(_merged(code, [r for r in rows if len(r["start"])]))
    return pd.concat(frames, ignore_index=True) if frames else _frame("", {})


def _register_rows(readings: pd.DataFrame, meter: dict[Hashable, Any], unit_l: float) -> dict[str, Any]:
    at, real = to_ms(readings["at"]), (readings["how"] != "estimated").to_numpy(dtype=bool)
    order = np.lexsort((np.arange(len(at)), real, at))
    last_of_instant = np.append(at[order][1:] != at[order][:-1], True)[: len(order)]
    doubled = _disagreeing(at[order], readings["register_value"].to_numpy(dtype=float)[order])
    kept = readings.iloc[order[last_of_instant]]
    at, real = at[order[last_of_instant]], real[order[last_of_instant]]
    value = kept["register_value"].to_numpy(dtype=float)
    read_to = float(meter["resolution"])
    step = kept["resolution"].fillna(read_to).to_numpy(dtype=float)
    changed = kept["first_after_change"].to_numpy(dtype=bool)
    old_final = kept["old_final"].to_numpy(dtype=float)
    settled = _settled(real, changed, old_final)
    at, real, value, step, changed, old_final = (a[~settled] for a in (at, real, value, step, changed, old_final))
    slack_h = kept["at_exact"].map({"minute": 0.0, "hour": 1.0, "day": 24.0}).to_numpy(dtype=float)[~settled]
    top = 10.0 ** int(meter["digits"])
    other = of_another(value * unit_l, step * unit_l, changed)
    foreign, last_foreign = (at[other], value[other]), bool(other[-1:].any())
    other[-1:] = False  # the last one stays, so that the time up to it is there, its use unknown
    at, real, value, step, changed, old_final, slack_h = (
        a[~other] for a in (at, real, value, step, changed, old_final, slack_h)
    )
    odd = left_out(at, value * unit_l, step * unit_l, changed, top * unit_l)
    dropped = [(int(t), float(v)) for t, v in zip(at[odd], value[odd], strict=True)]
    at, real, value, step, changed, old_final, slack_h = (
        a[~odd] for a in (at, real, value, step, changed, old_final, slack_h)
    )
    if len(at) < 2:
        return {"start": np.empty(0, np.int64)}

    start, end = at[:-1], at[1:]
    reached = np.where(changed[1:], old_final[1:], value[1:])
    volume, note = fallen_steps(
        value[:-1] * unit_l, reached * unit_l, step[1:] * unit_l, start, end, slack_h[:-1] + slack_h[1:], top * unit_l
    )
    if last_foreign:
        volume[-1], note[-1] = np.nan, ""
    note[changed[1:] & (note == "")] = remarks.CHANGED
    note[changed[1:] & np.isnan(old_final[1:])] = remarks.CHANGED_FROM_UNKNOWN
    volume = volume + np.where(np.isfinite(volume), (step[1:] - step[:-1]) * unit_l / 2, 0.0)
    estimated = ~(real[:-1] & real[1:])
    _remark_unmoved(volume, (end - start) / HOUR_MS, step[1:] * unit_l, note)
    for when, number in dropped:
        remarks.add(note, int(np.searchsorted(end, when)), remarks.unfit(number, read_to))
    of_row = np.searchsorted(end, foreign[0])
    for row in np.unique(of_row):
        remarks.add(note, int(row), remarks.of_another(foreign[1][of_row == row], read_to))
    for when in doubled.intersection(end.tolist()):
        remarks.add(note, int(np.searchsorted(end, when)), remarks.DOUBLED)
    variance = (step[:-1] ** 2 + step[1:] ** 2) / 12 * unit_l**2
    return {
        "start": start,
        "end": end,
        "volume": volume,
        "variance": variance + np.where(estimated, (ESTIMATE_SHARE * np.nan_to_num(volume)) ** 2, 0.0),
        "resolution": np.maximum(step[:-1], step[1:]) * unit_l,
        "estimated": estimated,
        "note": note,
        "source": np.full(len(start), "register", dtype=object),
    }


def _disagreeing(at: Ints, value: Floats) -> set[int]:
    """Instants (in order) with two readings of different numbers."""
    return set(at[1:][(at[1:] == at[:-1]) & (value[1:] != value[:-1])].tolist())


def _settled(real: Flags, changed: Flags, old_final: Floats) -> Flags:
    """Estimated readings with a real one before and after in the life of one register."""
    count = len(real)
    if real.all():
        return np.zeros(count, dtype=bool)
    place = np.arange(count)
    before = np.maximum.accumulate(np.where(real, place, -1))
    after = np.minimum.accumulate(np.where(real, place, count)[::-1])[::-1]
    life = np.cumsum(changed)
    next_real = np.minimum(after, count - 1)
    ends_known = (life[next_real] == life) | np.isfinite(old_final[next_real])
    same_life = life[np.maximum(before, 0)] == life
    settled: Flags = ~real & ~changed & (before >= 0) & (after < count) & ends_known & same_life
    return settled


def _remark_unmoved(volume: Floats, hours: Floats, step_l: Floats, note: remarks.Notes) -> None:
    """Say so where a register stands still although the meter's usual rate would have moved it."""
    moving = volume > 0
    if moving.sum() >= 3:
        usual = float(np.median(volume[moving] / hours[moving])) * float(moving.mean())
        note[(volume == 0) & (note == "") & (usual * hours >= NOT_READ_STEPS * step_l) & (hours > 24)] = remarks.UNMOVED


def _use_rows(use: pd.DataFrame, meter_step_l: float) -> dict[str, Any]:
    """Volumes from a file or bill, each in the step that those about its time were written in."""
    volume, start, end = use["volume_l"].to_numpy(dtype=float), to_ms(use["start"]), to_ms(use["end"])
    order, step_l = np.argsort(start, kind="stable"), np.empty(len(volume))
    step_l[order] = volume_steps((end - start)[order] / HOUR_MS, volume[order], meter_step_l)
    estimated = use["estimated"].to_numpy(dtype=bool)
    count = len(volume)
    return {
        "start": start,
        "end": end,
        "volume": volume,
        "variance": step_l**2 / 6 + np.where(estimated, (ESTIMATE_SHARE * np.nan_to_num(volume)) ** 2, 0.0),
        "resolution": step_l,
        "estimated": estimated,
        "note": np.full(count, "", dtype=object),
        "source": np.full(count, "use", dtype=object),
    }


def _merged(code: str, parts: list[dict[str, Any]]) -> pd.DataFrame:
    if not parts:
        return _frame(code, {})
    rows = {name: np.concatenate([p[name] for p in parts]) for name in parts[0]}
    if len(parts) == 1 and parts[0]["source"][0] == "register":
        return _frame(code, rows)  # readings in a row cannot overlap
    cover = finest_cover(rows["start"], rows["end"], rows["volume"], rows["variance"], rows["estimated"])
    out = {name: rows[name][cover.owner] for name in ("resolution", "estimated", "note", "source")}
    spread = np.where(cover.shared, (TIME_SPLIT_SHARE * np.nan_to_num(cover.amount)) ** 2, 0.0)
    note = out["note"].copy()
    for row in np.flatnonzero(cover.cut):
        remarks.add(note, int(row), remarks.CUT)
    out |= {"start": cover.start, "end": cover.end, "volume": cover.amount, "note": note}
    return _frame(code, out | {"variance": cover.variance + spread})


def _frame(code: str, rows: dict[str, Any]) -> pd.DataFrame:
    empty: Ints = np.empty(0, np.int64)
    start = rows.get("start", empty)
    text = np.empty(0, dtype=object)
    return pd.DataFrame(
        {
            "meter": np.full(len(start), code, dtype=object),
            "start": from_ms(start),
            "end": from_ms(rows.get("end", empty)),
            "volume_l": np.asarray(rows.get("volume", empty), dtype=float),
            "sd_l": np.sqrt(np.asarray(rows.get("variance", empty), dtype=float)),
            "resolution_l": np.asarray(rows.get("resolution", empty), dtype=float),
            "source": rows.get("source", text),
            "estimated": np.asarray(rows.get("estimated", empty), dtype=bool),
            "note": rows.get("note", text),
        }
    )


def billed_units(value: float, step: float, rounding: Literal["none", "down", "up"]) -> float:
    """A register or volume in whole billing steps of ``step``, as a utility counts it.

    Most drop the digits below the step (Rainbow MWD: 34,458 ft3 is 344 units of 100 ft3), some round up (AWSD
    Colorado: 4,001 gal is billed as 41 hundreds). Units of ``value`` and ``step`` are the same.
    """
    units = value / step
    if rounding == "none":
        return units
    whole = round(units)
    if math.isclose(units, whole, rel_tol=1e-12, abs_tol=1e-9):
        return float(whole)  # 4,000 gal in hundreds is 40 whatever binary fractions say
    return float(math.floor(units) if rounding == "down" else math.ceil(units))
