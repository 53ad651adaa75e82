"""A register held against the volumes metered by interval since the reading before it: two witnesses of one flow."""

from __future__ import annotations

import pandas as pd

from core.accounts.instants import HOUR_MS, to_ms
from core.book.kinds import Meter, MeterReading
from core.book.store import Book
from core.review.entry_register import SPAN, day, history, plain, with_unit
from core.units import show, to_base

SHARE = 0.1  # a logger and its register agree better than so; a choice of our own
_HALF_A_DAY_H = 12.0  # a day alone is kept as its noon


def about_intervals(book: Book, reading: MeterReading, meter: Meter, gone: int | None = None) -> list[str]:
    """A question about a register far from what the intervals since the reading before add up to; empty if it fits.

    Only intervals that lie wholly between the two readings count, and only where they cover most of that time. What
    passed in the rest of it may be anything from nothing to the most that goes unasked in so many hours.
    """
    at, own = pd.Timestamp(reading.at.utc), history(book, meter, pd.Timestamp(reading.at.utc), gone)
    if own.rows.empty:
        return []
    hours = own.hours(at)
    told_l, told_hours = _between(book, meter, own.last["at"], at)
    if told_hours < SPAN * hours:
        return []
    by_day = (reading.at.exact == "day") + (own.last["at_exact"] == "day")
    untold_l, unsure_l = (own.most_l(h) if h else 0.0 for h in (hours - told_hours, _HALF_A_DAY_H * by_day))
    step_l = own.step_l(float(reading.register_value))
    may_differ_l = SHARE * told_l + to_base(reading.resolution or meter.resolution, meter.unit, "volume") + unsure_l
    if told_l - may_differ_l <= step_l <= told_l + untold_l + may_differ_l:
        return []
    system, register = book.home().display, float(own.last["register_value"]) + told_l / own.unit_l
    return [
        f"That is {show(step_l, 'volume', system)} since the last reading, "
        f"{with_unit(own.last['register_value'], meter)} on {day(own.last['at'], book)}, but the volumes metered by "
        "interval since then add up to "
        f"{show(told_l, 'volume', system)}: the register would show about {plain(_rounded(register, meter), meter)}. "
        "Is a digit wrong?"
    ]


def _between(book: Book, meter: Meter, since: pd.Timestamp, until: pd.Timestamp) -> tuple[float, float]:
    """Litres and hours of the intervals wholly between two instants, none of them counted twice."""
    rows = book.frame("metered_use")
    rows = rows[(rows["meter"] == meter.code) & (rows["start"] >= since) & (rows["end"] <= until)]
    rows = rows.sort_values(["start", "end"], kind="stable")
    start, end = to_ms(rows["start"]), to_ms(rows["end"])
    reached = pd.Series(end).cummax().shift(fill_value=0).to_numpy()
    alone = start >= reached
    return float(rows["volume_l"].to_numpy()[alone].sum()), float((end - start)[alone].sum() / HOUR_MS)


def _rounded(register: float, meter: Meter) -> float:
    """To the step of the register."""
    step = float(meter.resolution)
    return round(round(register / step) * step, 6)
