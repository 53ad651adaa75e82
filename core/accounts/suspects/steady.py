"""Steady: water that moves all the time, a slow leak or something left running."""

from __future__ import annotations

import numpy as np

from core.accounts.suspects.case import Case, Rows, Suspect, best_stretches
from core.accounts.suspects.slow import SlowView

RATES = 0.9 * 1.45 ** np.arange(16)  # litres an hour: from a quarter of a gallon to some 60
LEAST_HOURS = 20.0  # of hourly readings in a row
LEAST_READINGS = 2  # of slow ones
WANDER = 0.05  # how far the level of a stretch strays from the rest, share; common practice, no source
CLOSED_COST = 3.0  # most leaks do not end by themselves


def steady(case: Case) -> list[Suspect]:
    """Stretches in which every reading holds about the same flow more than it should."""
    return [*_slow(case), *_fine(case)]


def _slow(case: Case) -> list[Suspect]:
    view = SlowView.of(case)
    suspects = []
    hours = case.ledger.hours[view.rows]
    for s in view.stretches(hours, +1, WANDER * case.reference.baseline.level, 3, LEAST_READINGS):
        rows = view.rows[s.first : s.last + 1]
        suspects.append(_make(case, rows, s.amount, s.gain, 8.5))
    return suspects


def _fine(case: Case) -> list[Suspect]:
    ledger = case.ledger
    rows = case.rows[ledger.fine[case.rows]]
    gain = case.gain(rows, RATES[:, None] * ledger.hours[rows])
    suspects = []
    for which, first, last, _ in best_stretches(gain, 4):
        touched = rows[first : last + 1]
        if ledger.end[touched[-1]] - ledger.start[touched[0]] < LEAST_HOURS:
            continue
        rates = RATES[which] * np.linspace(0.72, 1.4, 15)
        finer = case.gain(touched, rates[:, None] * ledger.hours[touched]).sum(axis=1)
        suspects.append(_make(case, touched, float(rates[finer.argmax()]), float(finer.max()), 10.0))
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
