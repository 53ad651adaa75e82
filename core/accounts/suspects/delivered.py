"""More than set, less than set, not delivered: a zone that brings another amount than it should when it runs."""

from __future__ import annotations

import numpy as np

from core.accounts.findings import FindingKind
from core.accounts.instants import Floats
from core.accounts.suspects.case import Case, Rows, Suspect, best_stretches
from core.accounts.suspects.slow import SlowView

SHARES = np.array([-1.0, -0.85, -0.65, -0.5, -0.35, -0.22, 0.22, 0.35, 0.6, 1.0, 1.7, 3.0])
LEAST_SHARE, MOST_SHARE = 0.15, 8.0
LEAST_AMOUNT = -1.4  # a shortfall beyond all of the runs is not a matter of the runs
TIMES, ALL_TIMES = {"not_delivered": 1.0, "more_than_set": 0.7, "less_than_set": 0.7}, 1.0  # a year
SHARE_COST, CLOSED_COST = 2.0, 1.0
FROM = 6.0
WANDER = 0.04  # how far a zone's delivery strays from month to month; common practice, no source
NOTHING = -0.8  # less than a fifth came: not delivered


def delivered(case: Case, view: SlowView) -> list[Suspect]:
    """Stretches of runs that brought more, less or nothing: zone by zone, and all zones together."""
    zones = case.reference.zones
    suspects = []
    for k, code in enumerate(case.ledger.zones):
        suspects += _fine(case, zones[:, k], (code,), SHARES)
        suspects += _slow(case, view, zones[:, k], (code,))
    if len(case.ledger.zones) > 1:
        suspects += _fine(case, zones.sum(axis=1), case.ledger.zones, SHARES[:1])
        suspects += [s for s in _slow(case, view, zones.sum(axis=1), case.ledger.zones) if s.kind == "not_delivered"]
    return suspects


def _slow(case: Case, view: SlowView, expected: Floats, zones: tuple[str, ...]) -> list[Suspect]:
    found = [
        *view.stretches(expected[view.rows], -1, WANDER, 2, FROM),
        *view.stretches(expected[view.rows], +1, WANDER, 2, FROM),
    ]
    suspects = []
    for s in found:
        rows = view.rows[s.first : s.last + 1]
        rows = rows[expected[rows] > 0]
        share = max(s.amount, -1.0)
        if abs(share) >= LEAST_SHARE and LEAST_AMOUNT < s.amount < MOST_SHARE and len(rows):
            suspects.append(_make(case, rows, expected, zones, share, s.gain, s.last == len(view.rows) - 1))
    return suspects


def _fine(case: Case, expected: Floats, zones: tuple[str, ...], shares: Floats) -> list[Suspect]:
    rows = case.fine[expected[case.fine] > 1.0]
    if not len(rows):
        return []
    gain = case.gain(rows, shares[:, None] * expected[rows])
    suspects = []
    for which, first, last, alone in best_stretches(gain, 3, FROM):
        best = alone
        touched = rows[first : last + 1]
        share = float(shares[which])
        if len(shares) > 1:
            near = np.unique(np.clip(share + np.linspace(-0.12, 0.12, 9) * (1 + abs(share)), -1, 6))
            finer = case.gain(touched, near[:, None] * expected[touched]).sum(axis=1)
            share, best = float(near[finer.argmax()]), float(finer.max())
        if abs(share) >= LEAST_SHARE:
            gain_ = best * (1.0 if share < NOTHING else case.drift_share(touched))
            suspects.append(_make(case, touched, expected, zones, share, gain_, last == len(rows) - 1))
    return suspects


def _make(
    case: Case, rows: Rows, expected: Floats, zones: tuple[str, ...], share: float, gain: float, going: bool
) -> Suspect:
    kind: FindingKind = "more_than_set" if share > 0 else "not_delivered" if share < NOTHING else "less_than_set"
    since, until = _span(case, rows, zones)
    litres = share * expected[rows]
    return Suspect(
        kind,
        zones,
        rows,
        litres,
        since,
        None if going else until,
        gain,
        _cost(case, kind, zones, share, going),
        _rate(case, rows, litres, zones),
        detail={"share": share, "runs": float(len(rows))},
    )


def _cost(case: Case, kind: FindingKind, zones: tuple[str, ...], share: float, going: bool) -> float:
    """How rare it is: a dead battery or a closed faucet stops all zones at once, a line off has any size."""
    if len(zones) > 1:
        return case.run_rarity(ALL_TIMES * len(zones))
    if kind == "not_delivered":
        return case.run_rarity(TIMES[kind])
    return case.run_rarity(TIMES[kind]) + SHARE_COST + 1.5 * max(share - 1, 0.0) + (0.0 if going else CLOSED_COST)


def _span(case: Case, rows: Rows, zones: tuple[str, ...]) -> tuple[float, float]:
    """From the start of the first run in these intervals to the end of the last."""
    ledger = case.ledger
    which = [ledger.zones.index(z) for z in zones]
    runs = ledger.runs
    mine = runs.counted & np.isin(runs.zone, which)
    first, last = ledger.start[rows[0]], ledger.end[rows[-1]]
    inside = mine & (runs.end > first) & (runs.start < last)
    if not inside.any():
        return float(first), float(last)
    return float(max(first, runs.start[inside].min())), float(min(last, runs.end[inside].max()))


def _rate(case: Case, rows: Rows, litres: Floats, zones: tuple[str, ...]) -> float:
    which = [case.ledger.zones.index(z) for z in zones]
    flow = max(sum(case.flow(k) for k in which), 1e-9)
    expected = case.reference.zones[rows][:, which].sum()
    return float(litres.sum() / max(expected, 1e-9) * flow)
