"""Intervals shorter than an hour gathered into hours, which is the finest pace an account reasons at."""

from __future__ import annotations

from dataclasses import dataclass
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt
import pandas as pd

from core.accounts.instants import HOUR_MS, Flags, Floats, Ints, local_times, to_ms
from core.accounts.remarks import joined as one_note

FINE_HOURS = (0.7, 1.35)  # an interval of about an hour tells the hour of day
TOUCHING = 1e-6  # hours
OF_READING = 2.0  # an sd of so many times that of two rounded readings is still that of the readings alone


@dataclass(frozen=True, slots=True)
class Intervals:
    """One meter's intervals in order of time: hours since 1970 UTC, litres; see :class:`core.accounts.ledger.Ledger`.

    ``register``: the volume is the difference of two register readings.
    """

    start: Floats
    end: Floats
    volume: Floats
    read_sd: Floats
    step: Floats
    usable: Flags
    register: Flags
    notes: npt.NDArray[np.object_]


def intervals_until(frame: pd.DataFrame, now: float) -> Intervals:
    """The intervals of a frame, as meter_intervals gives it, that ended by ``now`` (hours since 1970 UTC)."""
    start, end = to_ms(frame["start"]) / HOUR_MS, to_ms(frame["end"]) / HOUR_MS
    order = np.argsort(start, kind="stable")
    order = order[(end[order] <= now + 1e-9) & (end[order] > start[order])]
    volume = frame["volume_l"].to_numpy(float)[order]
    step = np.nan_to_num(frame["resolution_l"].to_numpy(float)[order], nan=0.0)
    read_sd = frame["sd_l"].to_numpy(float)[order]
    return Intervals(
        start=start[order],
        end=end[order],
        volume=volume,
        read_sd=np.where(np.isfinite(read_sd), read_sd, step / np.sqrt(6)),
        step=step,
        usable=np.isfinite(volume) & ~frame["estimated"].fillna(False).to_numpy(bool)[order],
        register=(frame["source"] == "register").to_numpy(bool)[order],
        notes=frame["note"].fillna("").astype(str).to_numpy(object)[order],
    )


def by_the_hour(each: Intervals, zone: ZoneInfo) -> Intervals:
    """Intervals that touch each other and are shorter than an hour, joined so that they end with the home's hours.

    Joined are known volumes that are all usable or all estimated; none is divided, so one that reaches over the end of
    an hour goes where most of it lies. What is left of an hour at the end of a row of them joins the hour beside it if
    both still make about an hour, and else stays a short interval. Longer intervals are untouched.

    A difference of register readings is only as wrong as the two readings at its ends, however many lie between
    (the errors of those cancel; arithmetic); volumes that were each rounded add their variances.
    """
    known, hours = np.isfinite(each.volume), each.end - each.start
    short = known & (hours < FINE_HOURS[0])
    follows = short[1:] & short[:-1] & (each.usable[1:] == each.usable[:-1])
    follows &= np.abs(each.start[1:] - each.end[:-1]) < TOUCHING
    if not follows.any():
        return each
    number, past = _local_hours((each.start + each.end) / 2, zone)
    new_hour = (number[1:] != number[:-1]) | (past[1:] != past[:-1])
    firsts = np.flatnonzero(np.concatenate([[True], ~follows | new_hour]))
    firsts = _without_stubs(firsts, each, np.concatenate([[False], follows]))
    return _joined(each, firsts)


def _local_hours(at: Floats, zone: ZoneInfo) -> tuple[Ints, Ints]:
    """Number of the hour by the home's clock, and the minutes its hours lie off those of UTC."""
    utc = np.round(at * HOUR_MS).astype(np.int64)
    ahead = (local_times(utc, zone) - utc.astype("datetime64[ms]")).astype("timedelta64[m]").astype(np.int64) % 60
    return np.floor(at + ahead / 60).astype(np.int64), ahead


def _without_stubs(firsts: Ints, each: Intervals, follows: Flags) -> Ints:
    """First rows of the joined intervals, those far shorter than an hour taken into the one beside them."""
    lasts = np.append(firsts[1:], len(each.start)) - 1
    since, until = each.start[firsts], each.end[lasts]
    stub = until - since < FINE_HOURS[0]
    stay = np.ones(len(firsts), dtype=bool)
    beside = follows[firsts[1:]] & (stub[1:] | stub[:-1]) & (until[1:] - since[:-1] <= FINE_HOURS[1])
    for k in np.flatnonzero(beside) + 1:
        if until[k] - since[k - 1] <= FINE_HOURS[1]:  # the one before may have grown
            stay[k], since[k] = False, since[k - 1]
    return firsts[stay]


def _joined(each: Intervals, firsts: Ints) -> Intervals:
    lasts = np.append(firsts[1:], len(each.start)) - 1
    notes = each.notes[firsts]
    for row in np.flatnonzero(lasts > firsts):
        if any(within := each.notes[firsts[row] : lasts[row] + 1]):
            notes[row] = one_note(within)
    return Intervals(
        start=each.start[firsts],
        end=each.end[lasts],
        volume=np.add.reduceat(each.volume, firsts),
        read_sd=np.sqrt(_variance(each, firsts)),
        step=np.maximum.reduceat(each.step, firsts),
        usable=each.usable[firsts],
        register=np.logical_and.reduceat(each.register, firsts),
        notes=notes,
    )


def _variance(each: Intervals, firsts: Ints) -> Floats:
    """Variances added, of register readings in a row only the larger one at the ends of the row."""
    variance = each.read_sd**2
    of_ends = each.register & (each.read_sd <= OF_READING * each.step / np.sqrt(6))
    goes_on = np.concatenate([[False], of_ends[1:] & of_ends[:-1]])
    goes_on[firsts] = False
    begins = np.flatnonzero(~goes_on)
    finish = np.append(begins[1:], len(variance)) - 1
    rows = np.maximum(variance[begins], variance[finish])
    result: Floats = np.add.reduceat(rows, np.searchsorted(begins, firsts))
    return result
