"""More than set, less than set, not delivered: a zone that brings another amount than it should when it runs."""

from __future__ import annotations

import numpy as np

from core.accounts.findings import FindingKind
from core.accounts.instants import Floats
from core.accounts.suspects.case import Case, Rows, Suspect
from core.accounts.suspects.over_paces import runs_on
from core.accounts.suspects.schedule import another_schedule
from core.accounts.suspects.shares import Of, Shift, shifts
from core.accounts.suspects.view import Stretch, View

LEAST_SHARE = 0.15
MOST_FLOW_LPH = 2000.0  # of a line off: about what an open garden faucet gives; common practice, no source
OPEN_COST, OPEN_LOG = 2.0, 1.5  # and of a flow many times a small zone's: each tenfold as likely as the next, nearly
LEAST_AMOUNT = -1.4  # a shortfall beyond all of the runs is not a matter of the runs
TIMES, ALL_TIMES = {"not_delivered": 1.0, "more_than_set": 2.2, "less_than_set": 1.0}, 1.0  # a year
SHARE_COST, CLOSED_COST, FINE_CLOSED_COST = 1.5, 1.0, 2.0
BRIEF_COST, BRIEF_READINGS = 1.5, 2  # of slow readings so few, into which any use may fall
FROM = 6.0
TOGETHER_SD = 0.02  # of what all zones should bring together, told by many runs
MOST = 4  # stretches of one zone in one round
WANDER = 0.04  # how far a zone's delivery strays from month to month; common practice, no source
NOTHING_TOGETHER = -0.6  # of all zones at once, which seldom clog together; the fit bends their factors as well
NOTHING = -0.87  # less than an eighth came: not delivered


def delivered(case: Case, view: View) -> list[Suspect]:
    """Stretches of runs that brought more, less or nothing: zone by zone, and all zones together."""
    suspects = [*_slow(case, view), *_fine(case)]
    short = [s for s in suspects if s.kind != "more_than_set" and s.score > 0]
    return [*suspects, *another_schedule(case, short)]


def _together(case: Case, rows: Rows) -> tuple[str, ...]:
    """Zones with a run in these readings; where only one has, all that run at all."""
    ran = _running(case, rows)
    return ran if len(ran) > 1 else _running(case, slice(None))


def _running(case: Case, rows: Rows | slice) -> tuple[str, ...]:
    return tuple(code for k, code in enumerate(case.ledger.zones) if (case.ledger.paper[rows, k] > 0).any())


def _slow(case: Case, view: View) -> list[Suspect]:
    """By the regression of slow readings."""
    ledger, expected = case.ledger, case.reference.zones @ np.ones(len(case.ledger.zones))
    suspects = []
    for k, code in enumerate(ledger.zones):
        paper = ledger.paper[:, k]
        for sign in (-1, +1):
            for s in view.stretches(paper[view.rows], sign, WANDER, 2, FROM):
                share = s.amount / max(float(s.fitted[k - len(ledger.zones)]), 0.3)
                if abs(share) >= LEAST_SHARE and LEAST_AMOUNT < share < _most(case, k):
                    normal = paper[s.rows] * s.part * s.amount / share
                    suspects.append(_make(case, s, normal, (code,), max(share, -1.0)))
    if len(ledger.zones) > 1:
        suspects += [
            _make(case, s, expected[s.rows] * s.part, zones, max(s.amount, -1.0))
            for s in view.stretches(expected[view.rows], -1, WANDER, 2, FROM)
            if LEAST_AMOUNT < s.amount < NOTHING_TOGETHER and len(zones := _together(case, s.rows)) > 1
        ]
    return suspects


def _fine(case: Case) -> list[Suspect]:
    """By how likely hourly readings with runs are at other shares of what the zone should bring."""
    ledger, reference = case.ledger, case.reference
    suspects = []
    for k, code in enumerate(ledger.zones):
        paper = ledger.paper[:, k]
        of_paper = Of(paper, float(reference.factor[k]), 1.0, float(ledger.spread[k]))
        for s in shifts(case, of_paper, WANDER, MOST, FROM):
            share = s.amount / max(s.others, LEAST_SHARE)
            if LEAST_SHARE <= abs(share) < _most(case, k):
                suspects.append(_make(case, s, s.others * paper[s.rows], (code,), share))
    if len(ledger.zones) > 1:
        together = Of(reference.zones.sum(axis=1), 1.0, 1.0, TOGETHER_SD)
        suspects += [
            _make(case, s, together.litres[s.rows], zones, s.amount)
            for s in shifts(case, together, WANDER, MOST, FROM)
            if s.amount < NOTHING and len(zones := _together(case, s.rows)) > 1
        ]
    return suspects


def _make(case: Case, found: Stretch | Shift, normal: Floats, zones: tuple[str, ...], share: float) -> Suspect:
    """``normal``: litres that the zones' runs would have brought in each of its readings, were nothing wrong."""
    rows, gain = found.rows, found.gain
    going = found.going and (isinstance(found, Shift) or runs_on(case, int(rows[-1]), zones, share))
    nothing = share < (NOTHING_TOGETHER if len(zones) > 1 else NOTHING)
    kind: FindingKind = "more_than_set" if share > 0 else "not_delivered" if nothing else "less_than_set"
    since, until = _span(case, rows, zones)
    litres = share * normal
    return Suspect(
        kind,
        zones,
        rows,
        litres,
        since,
        None if going else until,
        gain,
        _cost(case, kind, zones, share, found, going),
        _rate(case, rows, litres / found.part, zones),
        detail={"share": share, "likelier": found.likelier, "runs": float(_count(case, rows, zones))},
    )


def _cost(
    case: Case, kind: FindingKind, zones: tuple[str, ...], share: float, found: Stretch | Shift, going: bool
) -> float:
    """How rare it is: a dead battery or a closed faucet stops all zones at once, a line off has any size."""
    if len(zones) > 1:
        return case.run_rarity(ALL_TIMES * len(zones))
    if kind == "not_delivered":
        return case.run_rarity(TIMES[kind])
    fine = isinstance(found, Shift)
    closed = 0.0 if going else FINE_CLOSED_COST if fine else CLOSED_COST
    if kind == "more_than_set" and isinstance(found, Stretch) and found.part.sum() < BRIEF_READINGS:
        closed += BRIEF_COST
    size = min(0.7 * max(share - 1, 0.0), OPEN_COST + OPEN_LOG * float(np.log(max(share, 1.0))))
    return case.run_rarity(TIMES[kind]) + SHARE_COST + size + closed


def _most(case: Case, k: int) -> float:
    """The largest share more that a zone's line could bring."""
    return MOST_FLOW_LPH / max(case.flow(k), 1.0) - 1


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


def _count(case: Case, rows: Rows, zones: tuple[str, ...]) -> int:
    """How many runs lie in these intervals."""
    runs = case.ledger.runs
    mine = np.sort(runs.start[runs.counted & np.isin(runs.zone, [case.ledger.zones.index(z) for z in zones])])
    first = np.searchsorted(mine, case.ledger.start[rows] - 1e-9)
    last = np.searchsorted(mine, case.ledger.end[rows] - 1e-9)
    return int((last - first).sum())


def _rate(case: Case, rows: Rows, litres: Floats, zones: tuple[str, ...]) -> float:
    which = [case.ledger.zones.index(z) for z in zones]
    flow = max(sum(case.flow(k) for k in which), 1e-9)
    expected = case.reference.zones[rows][:, which].sum()
    return float(litres.sum() / max(expected, 1e-9) * flow)
