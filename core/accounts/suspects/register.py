"""Misread: a register read or typed wrongly. Two meters: readings of another register mixed in."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from core.accounts.suspects.case import Case, Rows, Suspect
from core.accounts.suspects.view import View

TIMES = 1.0  # a year
CLEAR = 5.0  # standard deviations by which a reading must be off
ALLOWED = 3.0  # by which the next may fail to take it back
FAR, TIMES_DUE = 8.0, 3.0  # standard deviations and times what is due by which one reading alone may be wrong
SHIFTED, TAKEN_BACK = 3.0, 1.5  # of a number off by less than a reading: standard deviations of each, and of their sum
SIZE_COST = 1.0  # of the size that it could have had
WRONG_SIZES = 10.0  # natural log of the largest over the smallest amount by which a number may be wrong
LEAST_COST = 5.0  # as for a single large use: few readings a year are no reason to believe less
SET_ASIDE = 50.0  # log evidence of what the registers have shown already


def misread(case: Case, _: View) -> list[Suspect]:
    """A reading that gives one interval too much and takes it back in the next, or makes the register fall; or the
    newest, far above what is due.
    """
    ledger, ref = case.ledger, case.reference
    count = len(ledger.start)
    suspects = [_set_aside(case, int(i)) for i in np.flatnonzero(ledger.left_out & ~ledger.mixed)]
    if count < 2:
        return suspects
    suspects += [*_newest(case), *_shifted(case)]
    left = np.where(np.isfinite(ref.unexplained), case.left - np.where(ledger.fine, ref.indoor, 0.0), np.nan)
    with np.errstate(invalid="ignore"):
        odd = np.abs(left) > CLEAR * ref.sigma
    first = np.flatnonzero(odd[:-1] | odd[1:])
    second = first + 1
    due, due_next = (ref.indoor[rows] + ref.zones[rows].sum(axis=1) for rows in (first, second))
    touching = np.abs(ledger.start[second] - ledger.end[first]) < 1e-6
    a, b = left[first], left[second]
    fell_after, fell_before = ~np.isfinite(ledger.volume[second]), ~np.isfinite(ledger.volume[first])
    with np.errstate(invalid="ignore"):
        high = touching & fell_after & (a > FAR * ref.sigma[first]) & (a > TIMES_DUE * due)
        low = touching & fell_before & (b > FAR * ref.sigma[second]) & (b > TIMES_DUE * due_next)
        size, widest = np.minimum(np.abs(a), np.abs(b)), np.maximum(ref.sigma[first], ref.sigma[second])
        taken_back = np.abs(a + b) < ALLOWED * np.hypot(ref.sigma[first], ref.sigma[second])
        dry = np.minimum(ledger.volume[first], ledger.volume[second]) < 0.25 * np.minimum(due, due_next)
        pair = touching & (a * b < 0) & (size > CLEAR * widest) & taken_back & dry
    for n in np.flatnonzero(high | low | pair):
        i = int(first[n])
        if pair[n]:
            rows, litres, off = np.array([i, i + 1]), left[[i, i + 1]], float(a[n])
        elif high[n]:
            rows, litres, off = np.array([i]), left[[i]], float(a[n])
        else:
            rows, litres, off = np.array([i + 1]), left[[i + 1]], -float(b[n])
        known = np.isin(rows, case.rows)
        if known.all():
            suspects.append(_make(case, rows, litres, float(ledger.end[i]), float(case.gain(rows, litres).sum()), off))
    return suspects


def _shifted(case: Case) -> list[Suspect]:
    """A number that is off by less than a whole reading: as much too much before it as too little after it, which
    anything else would have to do twice.
    """
    ledger, slow = case.ledger, case.slow
    first, second = slow[:-1], slow[1:]
    beside = (second == first + 1) & (np.abs(ledger.start[second] - ledger.end[first]) < 1e-6)
    first, second = first[beside], second[beside]
    a, b, sd = case.left[first], case.left[second], case.reference.sigma
    clear = (np.minimum(np.abs(a) / sd[first], np.abs(b) / sd[second]) > SHIFTED) & (a * b < 0)
    suspects = []
    for n in np.flatnonzero(clear & (np.abs(a + b) < TAKEN_BACK * np.hypot(sd[first], sd[second]))):
        rows = np.array([first[n], second[n]])
        weight = 1 / sd[rows] ** 2
        off = float((a[n] * weight[0] - b[n] * weight[1]) / weight.sum())
        litres = np.array([off, -off])
        likelier = float(case.gain(rows, litres).sum())
        suspects.append(_make(case, rows, litres, float(ledger.end[rows[0]]), likelier - SIZE_COST, off))
    return suspects


def _newest(case: Case) -> list[Suspect]:
    """The last reading, far too high: nothing has taken it back yet, and it may as well have been a large use."""
    i = len(case.ledger.start) - 1
    if not len(case.rows) or case.rows[-1] != i or case.ledger.fine[i]:
        return []
    ref, left = case.reference, float(case.left[i])
    due = float(ref.indoor[i] + ref.zones[i].sum())
    if left < max(FAR * ref.sigma[i], TIMES_DUE * due):
        return []
    gain = -float(np.log(WRONG_SIZES * left)) - float(case.plain[i])
    made = _make(case, np.array([i]), np.array([left]), float(case.ledger.end[i]), gain, left)
    return [replace(made, cost=max(made.cost, LEAST_COST), detail=made.detail | {"newest": left / max(due, 1.0)})]


def two_meters(case: Case, _: View) -> list[Suspect]:
    """Readings of another register, which the registers do not count; like a reading set aside they explain nothing
    more. It goes on while the last reading is one of them.
    """
    ledger, rows = case.ledger, np.flatnonzero(case.ledger.mixed)
    if not len(rows):
        return []
    since, last = float(ledger.start[rows[0]]), rows[-1]
    going = last == len(ledger.start) - 1 and not np.isfinite(ledger.volume[last])
    until = None if going else float(ledger.end[last])
    cost = case.rarity(case.rows, TIMES)
    detail: dict[str, float | str] = {"note": ledger.notes[last]}
    return [Suspect("two_meters", (), rows, np.zeros(len(rows)), since, until, SET_ASIDE, cost, 0.0, detail=detail)]


def _set_aside(case: Case, i: int) -> Suspect:
    """A reading that the registers left out; its interval is whole again, so it explains nothing more."""
    at = float(case.ledger.end[i])
    made = replace(_make(case, np.array([i]), np.zeros(1), at, SET_ASIDE, 0.0), since=float(case.ledger.start[i]))
    made.detail["note"] = case.ledger.notes[i]
    return made


def _make(case: Case, rows: Rows, litres: np.ndarray, at: float, gain: float, off: float) -> Suspect:
    cost = case.rarity(case.rows, TIMES)
    return Suspect("misread", (), rows, litres, at, at, gain, cost, 0.0, detail={"off": off})
