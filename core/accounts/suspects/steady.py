"""Steady: water that moves all the time, a slow leak or something left running."""

from __future__ import annotations

import numpy as np

from core.accounts.suspects.case import Case, Rows, Suspect, best_stretches
from core.accounts.suspects.slow import SlowView

RATES = 0.9 * 1.7 ** np.arange(12)  # litres an hour: from a quarter of a gallon to eighty
LEAST_HOURS = 20.0  # of hourly readings in a row
LEAST_READINGS = 2  # of slow ones
TIMES = 0.5  # a year; the rates it could have cost RATES_COST
RATES_COST = 1.5
CLOSED_COST = 2.5  # most leaks do not end by themselves


def steady(case: Case, view: SlowView) -> list[Suspect]:
    """Stretches in which every reading holds about the same flow more than it should."""
    return [*_slow(case, view), *_fine(case)]


def _slow(case: Case, view: SlowView) -> list[Suspect]:
    cost = case.rarity(case.slow, TIMES) + RATES_COST
    hours = case.ledger.hours[view.rows]
    found = view.stretches(hours, +1, 0.0, 1, cost, LEAST_READINGS, going=True)
    found += view.stretches(hours, +1, 0.0, 2, cost + CLOSED_COST, LEAST_READINGS, going=False)
    return [_make(case, view.rows[s.first : s.last + 1], s.amount, s.gain, cost) for s in found]


def _fine(case: Case) -> list[Suspect]:
    ledger, rows = case.ledger, case.fine
    cost = case.rarity(rows, TIMES) + RATES_COST
    gain = case.gain(rows, RATES[:, None] * ledger.hours[rows])
    suspects = []
    for which, first, last, found in best_stretches(gain, 4, cost - 2):
        touched = rows[first : last + 1]
        if found < cost - 1 or ledger.end[touched[-1]] - ledger.start[touched[0]] < LEAST_HOURS:
            continue
        rates = RATES[which] * np.linspace(0.7, 1.6, 19)
        finer = case.gain(touched, rates[:, None] * ledger.hours[touched]).sum(axis=1)
        suspects.append(_make(case, touched, float(rates[finer.argmax()]), float(finer.max()), cost))
    return suspects


def _make(case: Case, rows: Rows, rate: float, gain: float, cost: float) -> Suspect:
    ledger = case.ledger
    going = rows[-1] == case.rows[-1]
    return Suspect(
        "steady",
        (),
        rows,
        rate * ledger.hours[rows],
        float(ledger.start[rows[0]]),
        None if going else float(ledger.end[rows[-1]]),
        gain,
        cost + (0.0 if going else CLOSED_COST),
        rate,
    )
