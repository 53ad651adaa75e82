"""What could hide: the smallest steady leak that this book's readings would tell within a week and a month.

At hourly pace leaks of all sizes are poured into stretches of the household's own readings and weighed as any leak is,
by what the house would by then have been learned to be with the leak in it; the smallest that nine stretches of ten
would tell is the answer. At a slower pace the regression says how well it knows a rate over so many readings.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from core.accounts.hourly import FINE_HOURS
from core.accounts.instants import Floats
from core.accounts.leaktest import TESTED_DOWN_TO_LPH
from core.accounts.suspects.appliances import taken_for_them
from core.accounts.suspects.case import Case, Rows
from core.accounts.suspects.steady import least_gain, told_at
from core.accounts.suspects.view import View
from core.accounts.suspects.words import say
from core.units import System, to_base

CHANCE, CHANCE_SD = 0.9, 1.2816  # nine in ten, and so many standard deviations above the middle of a normal error
RATES = 0.4 * 1.12 ** np.arange(52, dtype=np.float64)  # litres an hour: from a tenth of a gallon to forty
STRETCHES, OF_LATE = 20, 2400  # stretches of hourly readings that are tried, among so many
LAST, SLOW_LAST = 5, 3  # readings that say whether it is read by the hour now, and how seldom
SPANS = 1.25  # so much of the days the readings that are weighed may span, since none comes on its hour
LEAST_LPH = to_base(0.1, "gph", "flow")  # of a meter that is still for weeks too: what drips slower turns none
ROBUST = 1.05  # a rate fitted so that odd readings do not bend it is known this much less well


@dataclass(frozen=True, slots=True)
class Hide:
    """The smallest steady leak (litres an hour) told with nine chances in ten within ``days``; None: none would be.

    ``under_read``: so slow that meters show less of it than passes.
    """

    days: int
    rate_lph: float | None
    sentence: str
    under_read: bool = False


def what_could_hide(case: Case, system: System) -> tuple[Hide, ...]:
    """For 7 and 30 days at the book's present pace. What a week tells a month tells as well."""
    week = _hide(case, 7, system)
    month = _hide(case, 30, system, week.rate_lph)
    if len(case.fine):
        week = replace(week, sentence=week.sentence + taken_for_them(case, system))
    return (week, month)


def _hide(case: Case, days: int, system: System, most: float | None = None) -> Hide:
    if not len(case.rows):
        return Hide(days, None, f"Without readings no leak would be told within {days} days.")
    pace = _pace(case)
    count = int(days * 24 // pace)
    if count < 2:
        seldom = f"One reading in {pace / 24:.0f} days does not tell how small a leak would show within {days} days"
        return Hide(days, None, f"{seldom}: that takes two or more. Read oftener to know.")
    rate = _hourly(case, count) if pace <= FINE_HOURS[1] else _slower(case, count, days)
    if rate is None:
        return Hide(days, None, f"There are too few readings yet to say what could hide for {days} days.")
    rate = max(rate if most is None else min(rate, most), LEAST_LPH)
    how_much = f"{say(rate, system, 'flow')}, {say(rate * 24, system)} a day"
    sentence = f"A steady leak under {how_much}, can hide for {days} days at the pace of the last readings."
    return Hide(days, rate, sentence, rate < TESTED_DOWN_TO_LPH)


def _pace(case: Case) -> float:
    """Hours between readings now. By the hour the newest may be the beginning of one, or read by eye; else the last few
    say it, for whoever begins to read oftener reads so from then on.
    """
    of_late = case.ledger.hours[case.rows[-LAST:]]
    hourly = float(np.median(of_late))
    return hourly if hourly <= FINE_HOURS[1] else float(np.median(of_late[-SLOW_LAST:]))


def _hourly(case: Case, count: int) -> float | None:
    rows = case.fine[-max(OF_LATE, 2 * count) :]
    if len(rows) < 2 * count:
        return None
    firsts = np.unique(np.linspace(0, len(rows) - count, STRETCHES).astype(int))
    stretches = [rows[first : first + count] for first in firsts]
    share = count / (len(case.fine) + count)  # of the hours there will be, those with the leak
    low, high = 0, len(RATES)
    while low < high:  # the smallest rate that enough stretches tell
        middle = (low + high) // 2
        rate = float(RATES[middle])
        then = replace(case, noise=case.noise.learned_with(rate, share))
        told = [told_at(then, stretch, _poured(case, stretch, rate), rate) for stretch in stretches]
        low, high = (low, middle) if np.mean(told) >= CHANCE else (middle + 1, high)
    return float(RATES[low]) if low < len(RATES) else None


def _poured(case: Case, rows: Rows, rate: float) -> Floats:
    """Litres the register shows more in each of ``rows`` with a leak of ``rate``: whole steps."""
    step = np.maximum(case.ledger.step[rows], 1e-3)
    shown = np.floor(np.cumsum(rate * case.ledger.hours[rows]) / step + 0.5)
    result: Floats = np.diff(shown, prepend=0.0) * step
    return result


def _slower(case: Case, count: int, days: int) -> float | None:
    view = View.of(case)
    hours = case.ledger.hours[view.rows]
    within = np.cumsum(hours[::-1][:count]) <= days * 24 * SPANS  # readings of the pace before reach back too far
    count = int(within.sum())
    if count < 2 or len(view.rows) < count + 2:
        return None
    sd = view.spread_of(hours, slice(-count, None)) * ROBUST
    need = least_gain(case, view.rows[-count:])
    return float(sd * (np.sqrt(2 * need) + CHANCE_SD))
