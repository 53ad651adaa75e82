"""A reading of a week or so that could be, yet is far from what such times took of late, to either side."""

from __future__ import annotations

from datetime import date, timedelta
from typing import NamedTuple

import numpy as np
import pandas as pd

from core.accounts.instants import HOUR_MS, Floats, to_ms
from core.accounts.steps import NEAR_TOP
from core.book.kinds import Home, Household, Meter, MeterReading, OtherUse, Pause, Program
from core.book.store import Book
from core.review.entry_register import LEAST_L, History, day, history, with_unit
from core.units import show

SHORTEST_H = 4 * 24.0  # days by themselves differ too much for a question; a choice of our own
ALIKE = (0.6, 1.6)  # of the time asked about: steps of such lengths are held against it
RECENT, FEWEST = 10, 6  # the latest of them, and with fewer nothing is usual yet
SEASON = timedelta(days=30)  # either side of the day a year before
# far is beyond both, a choice of our own: a household's own weeks are asked about rarely
WIDE_SDS, WIDE_SHARE = 6.0, 0.4
MAD_SD = 1.4826  # standard deviations in a median absolute deviation, of a normal distribution


class _Usual(NamedTuple):
    """The rate of late in litres an hour, and how far from it is far."""

    lph: float
    far_lph: float

    def near(self, lph: float) -> bool:
        return abs(lph - self.lph) <= self.far_lph


def about_usual(book: Book, reading: MeterReading, meter: Meter, gone: int | None = None) -> list[str]:
    """A question about what passed since the last reading, where it is far from the usual; empty if it is not, or if
    something in the book explains it.

    Once a new level was asked about it is not asked again: a reading like the last one is as usual.
    """
    at = pd.Timestamp(reading.at.utc)
    own = history(book, meter, at, gone)
    if reading.how == "estimated" or len(own.rows) <= FEWEST or own.hours(at) < SHORTEST_H:
        return []
    hours, step_l = own.hours(at), own.step_l(float(reading.register_value))
    begun, lasted, rates = _steps(own)
    alike = (lasted >= ALIKE[0] * hours) & (lasted <= ALIKE[1] * hours)
    recent = rates[alike][-RECENT:]
    if len(recent) < FEWEST:
        return []
    usual = _usual(recent, hours)
    lph = step_l / hours
    ago = begun + lasted / 2 - (to_ms(pd.Series([at]))[0] / HOUR_MS - hours / 2 - 365.25 * 24)
    last_year = rates[alike & (rates >= 0) & (np.abs(ago) <= SEASON / timedelta(hours=1))]
    if usual.near(lph) or abs(lph - rates[-1]) <= usual.far_lph or (len(last_year) and _within(lph, last_year)):
        return []
    since, until = (t.tz_convert(book.zone_info).date() for t in (own.last["at"], at))
    if _explained(book, since, until, step_l - usual.lph * hours):
        return []
    return [_question(book, own, reading, at, usual)]


def _steps(own: History) -> tuple[Floats, Floats, Floats]:
    """Of each step: the hour since 1970 in which it began, how many hours it lasted, and its litres an hour."""
    at, value = to_ms(own.rows["at"]) / HOUR_MS, own.rows["register_value"].to_numpy(float) * own.unit_l
    lasted = np.maximum(np.diff(at), 1e-6)
    passed, full = np.diff(value), 10.0**own.meter.digits * own.unit_l
    passed += np.where((passed < 0) & (value[:-1] >= NEAR_TOP * full), full, 0.0)
    return at[:-1], lasted, passed / lasted


def _usual(rates: Floats, hours: float) -> _Usual:
    middle = float(np.median(rates))
    sd = MAD_SD * float(np.median(np.abs(rates - middle)))
    return _Usual(middle, max(WIDE_SDS * sd, WIDE_SHARE * middle, LEAST_L / hours))


def _within(lph: float, rates: Floats) -> bool:
    """Whether it lies where the same season of last year did, give or take."""
    return bool((1 - WIDE_SHARE / 2) * rates.min() <= lph <= (1 + WIDE_SHARE / 2) * rates.max())


def _explained(book: Book, since: date, until: date, more_l: float) -> bool:
    """Whether the book says of these days, or shortly before, what makes them differ to that side: who was at home, a
    use, or zones set otherwise.
    """
    near = since - (until - since)
    set_on = [(s.record.since, s.record.until) for s in book.records(Program)]
    set_on += [(s.record.since, s.record.until) for s in book.records(Pause)]
    if any(d is not None and near <= d <= until for days in set_on for d in days):
        return True
    usual = book.records(Home)[0].record.people
    for stay in (s.record for s in book.records(Household)):
        if stay.since <= until and stay.until >= since and (stay.people - usual) * more_l > 0:
            return True
    used = sum(
        u.record.volume.base
        for u in book.records(OtherUse)
        if since <= u.record.start.utc.astimezone(book.zone_info).date() <= until
    )
    return used >= more_l / 2 > 0


def _question(book: Book, own: History, reading: MeterReading, at: pd.Timestamp, usual: _Usual) -> str:
    system, hours = book.home().display, own.hours(at)
    step_l = own.step_l(float(reading.register_value))
    more = step_l > usual.lph * hours
    asked = (
        f"That is {'' if more else 'only '}{show(step_l, 'volume', system)} since the last reading, "
        f"{with_unit(own.last['register_value'], own.meter)} on {day(own.last['at'], book)}, where as long a time took "
        f"about {show(usual.lph * hours, 'volume', system)} of late."
    )
    if len(own.rows) > 1:
        over = own.step_l(float(reading.register_value), 2) / own.hours(at, 2)
        before = History(own.meter, own.rows.iloc[:-1])
        odd = not usual.near(before.step_l(float(own.last["register_value"])) / before.hours(own.last["at"]))
        if odd and usual.near(over):
            return f"{asked} With the time before it is as usual: was the last one misread?"
    return f"{asked} {'Did you fill something' if more else 'Was nobody at home'}, or is a digit wrong?"
