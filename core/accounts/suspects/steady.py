"""Steady: water that moves all the time, a slow leak or something left running."""

from __future__ import annotations

import numpy as np

from core.accounts.instants import Floats
from core.accounts.suspects.case import Case, Rows, Suspect, best_stretches
from core.accounts.suspects.view import View, Views

RATES = 0.9 * 1.3 ** np.arange(24)  # litres an hour: from a quarter of a gallon to a hundred
LEAST_HOURS, LEAST_GOING = 20.0, 4.0  # of hourly readings in a row; of those that reach the last reading
LEAST_READINGS, LEAST_SLOW_HOURS = 2, 96.0  # of slow ones; what is over sooner may have been any use
BLOCK, DAY, MOST = 4, 24, 4  # hourly readings looked at together, and around a start; stretches told in one round
TIMES = 1.0  # a year
CHOICES_COST = 1.5  # of the rates and lengths it could have had
LEAST_GAIN = 5.0  # worth a closer look
FINE_TIMES = 3.0  # at hourly pace, where more of them show
BUSIER, BUSIER_SD = (0.05, 0.1, 0.2, 0.4), 0.12  # shares of a household twice as full, and how they are spread
FINER = np.linspace(0.7, 1.6, 19)  # of a rate found roughly
CLOSED_COST = 2.5  # most leaks do not end by themselves, least of all within days
BRIEF_COST, BRIEF_HOURS = 2.5, 96.0


def steady(case: Case, views: Views) -> list[Suspect]:
    """Stretches in which every reading holds about the same flow more than it should."""
    return [*_slow(case, views[0]), *_fine(case)]


def _slow(case: Case, view: View) -> list[Suspect]:
    hours = case.ledger.hours[view.rows]
    if not len(hours):
        return []
    least = max(LEAST_READINGS, round(LEAST_SLOW_HOURS / float(np.median(hours))))
    found = view.stretches(hours, +1, 0.0, 1, LEAST_GAIN, least, going=True)
    found += view.stretches(hours, +1, 0.0, 2, LEAST_GAIN + CLOSED_COST, least, going=False)
    return [_make(case, s.rows, s.amount, s.gain, TIMES, s.likelier) for s in found]


def _fine(case: Case) -> list[Suspect]:
    """Sought in blocks of a few hours, then from reading to reading."""
    ledger, rows = case.ledger, case.fine
    suspects: list[Suspect] = []
    if not len(rows):
        return suspects
    table = case.table(_at_rates)
    blocks = np.add.reduceat(table, np.arange(0, len(rows), BLOCK), axis=1)
    for which, first, last, _ in best_stretches(blocks, 2 * MOST, LEAST_GAIN):
        part = _sharpened(table[which], first * BLOCK, min((last + 1) * BLOCK, len(rows)))
        if table[which, part.stop :].sum() > -CLOSED_COST:  # a few last hours do not tell that it ended
            part = slice(part.start, len(rows))
        touched = rows[part]
        least = LEAST_GOING if case.to_the_end(touched) else LEAST_HOURS
        if len(suspects) == MOST or ledger.end[touched[-1]] - ledger.start[touched[0]] < least:
            continue
        touched = _from_its_start(case, touched, RATES[which])
        rates = RATES[which] * FINER
        gains = _wandering(case, touched, case.left[touched] - rates[:, None] * ledger.hours[touched])
        gained = float(gains.max() - _wandering(case, touched, case.left[touched]))
        suspects.append(_make(case, touched, float(rates[gains.argmax()]), gained, FINE_TIMES))
    return suspects


def _sharpened(gain: Floats, first: int, end: int) -> slice:
    """The stretch of most gain that begins and ends near these readings."""
    low, high = max(first - BLOCK, 0), min(end + BLOCK, len(gain))
    middle = (first + end) // 2
    begin = low + int(np.cumsum(gain[low:middle][::-1])[::-1].argmax()) if middle > low else low
    return slice(begin, middle + int(np.cumsum(gain[middle:high]).argmax()) + 1)


def _from_its_start(case: Case, rows: Rows, rate: float) -> Rows:
    """The same stretch with its first reading looked for up to a day before and after, at the rate that fits it."""
    fine, hours = case.fine, case.ledger.hours
    at = int(np.searchsorted(fine, rows[0]))
    low, high = max(at - DAY, 0), min(at + DAY, at + len(rows) - 1)
    around = fine[low:high]
    if not len(around):
        return rows
    rates = rate * FINER
    best = rates[case.gain(rows, rates[:, None] * hours[rows]).sum(axis=1).argmax()]
    onward = np.cumsum(case.gain(around, best * hours[around])[::-1])[::-1]
    return fine[low + int(onward.argmax()) : at + len(rows)]


def _at_rates(case: Case, rows: Rows) -> Floats:
    return case.gain(rows, RATES[:, None] * case.ledger.hours[rows])


def told_at(case: Case, rows: Rows, more: Floats, rate: float) -> bool:
    """Whether hourly readings with ``more`` litres in each would be told as a leak of about ``rate``."""
    left, hours = case.left[rows] + more, case.ledger.hours[rows]
    rates = rate * np.array([0.8, 0.9, 1.0, 1.1, 1.25])
    gain = float(_wandering(case, rows, left - rates[:, None] * hours).max() - _wandering(case, rows, left))
    return gain > case.scarcity(rows, gain, FINE_TIMES) + CHOICES_COST


def least_gain(case: Case, rows: Rows) -> float:
    """Evidence that these slow readings must bring for a leak that goes on to be told."""
    gain = LEAST_GAIN
    for _ in range(4):
        gain = case.scarcity(rows, gain, TIMES) + CHOICES_COST
    return gain


def _wandering(case: Case, rows: Rows, left: Floats) -> Floats:
    """Log density of litres left (shape (..., rows)), summed over ``rows``, in a household that may have been a little
    busier for a while: that much is no evidence of a leak, and no part of its rate.
    """
    plain = case.noise.log_density(rows, left)
    fuller = case.noise.relabelled(rows, 1).log_density(rows, left)
    best = plain.sum(axis=-1)
    for share in BUSIER:
        mixed = np.logaddexp(np.log(1 - share) + plain, np.log(share) + fuller).sum(axis=-1)
        best = np.maximum(best, mixed - 0.5 * (share / BUSIER_SD) ** 2)
    return np.asarray(best)


def _make(case: Case, rows: Rows, rate: float, gain: float, times: float, likelier: float = 0.0) -> Suspect:
    ledger = case.ledger
    cost = case.scarcity(rows, gain, times) + CHOICES_COST
    going = case.to_the_end(rows)
    brief = ledger.end[rows[-1]] - ledger.start[rows[0]] < BRIEF_HOURS
    return Suspect(
        "steady",
        (),
        rows,
        rate * ledger.hours[rows],
        float(ledger.start[rows[0]]),
        None if going else float(ledger.end[rows[-1]]),
        gain,
        cost + (0.0 if going else CLOSED_COST + (BRIEF_COST if brief else 0.0)),
        rate,
        detail={"likelier": likelier},
    )
