"""Stuck open: a valve that did not close after its run, so that water went on at about the zone's flow."""

from __future__ import annotations

import numpy as np

from core.accounts.suspects.case import Case, Suspect

LONGEST_HOURS = 24 * 10.0
PARTS = np.array([0.8, 0.9, 1.0, 1.1, 1.2])  # of the zone's flow
MOST_RUNS = 400


def stuck_open(case: Case) -> list[Suspect]:
    """For each run, the excess that follows its end at about its zone's flow."""
    suspects = []
    for k, code in enumerate(case.ledger.zones):
        flow = case.flow(k)
        if flow > 0:
            suspects += _zone(case, k, code, flow)
    return suspects


def _zone(case: Case, k: int, code: str, flow: float) -> list[Suspect]:
    ledger, runs = case.ledger, case.ledger.runs
    ends = runs.end[runs.counted & (runs.zone == k)]
    ends = ends[ends < ledger.end[case.rows[-1]]] if len(case.rows) else ends[:0]
    if not len(ends):
        return []
    at = np.searchsorted(ledger.end[case.rows], ends, side="right")
    at = np.minimum(at, len(case.rows) - 1)
    # the first interval that is wholly after the run, or the run's own when readings are slow
    first = case.rows[at]
    full = np.minimum(at + 1, len(case.rows) - 1)
    share = np.where(ledger.fine[first], 0.6 * flow * ledger.hours[case.rows[full]], 0.05 * flow * 24)
    look = np.where(ledger.fine[first], case.rows[full], first)
    promising = np.flatnonzero((case.excess(look) > share) & (ledger.end[first] > ends))
    suspects = []
    for run in promising[-MOST_RUNS:]:
        found = _after(case, float(ends[run]), int(at[run]), flow, code)
        if found is not None:
            suspects.append(found)
    return suspects


def _after(case: Case, end: float, at: int, flow: float, code: str) -> Suspect | None:
    ledger = case.ledger
    rows = case.rows[at : at + 250]
    rows = rows[ledger.start[rows] < end + LONGEST_HOURS]
    open_hours = np.clip(ledger.end[rows] - np.maximum(ledger.start[rows], end), 0, None)
    litres = PARTS[:, None] * flow * open_hours
    gain = np.cumsum(case.gain(rows, litres), axis=1)
    before = np.concatenate([np.zeros((len(PARTS), 1)), gain[:, :-1]], axis=1)
    # the last interval may hold only part of the flow: what is left there, weighed against a flat chance of its size
    excess = np.clip(case.excess(rows), 0, litres)
    part = before + case.gain(rows, excess) - np.log(np.maximum(litres / np.maximum(case.reference.sigma[rows], 1), 2))
    best_full, best_part = gain.max(), part.max()
    table = gain if best_full >= best_part else part
    which, last = np.unravel_index(int(table.argmax()), table.shape)
    touched = rows[: last + 1]
    taken = litres[which, : last + 1].copy()
    until = float(ledger.end[touched[-1]])
    if table is part:
        taken[-1] = excess[which, last]
        until = float(max(ledger.start[touched[-1]], end) + taken[-1] / (PARTS[which] * flow))
    if taken.sum() < 0.3 * flow:
        return None
    going = bool(touched[-1] == case.rows[-1] and table is gain)
    return Suspect(
        "stuck_open",
        (code,),
        touched,
        taken,
        end,
        None if going else until,
        float(table[which, last]),
        6.5,
        float(PARTS[which] * flow),
        detail={"flow": flow, "hours": until - end},
    )
