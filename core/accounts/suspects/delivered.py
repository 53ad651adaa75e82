"""More than set, less than set, not delivered: a zone that brings another amount than it should when it runs."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from core.accounts.findings import FindingKind
from core.accounts.instants import Floats
from core.accounts.suspects.case import Case, Rows, Suspect
from core.accounts.suspects.schedule import another_schedule
from core.accounts.suspects.view import Stretch, Views

LEAST_SHARE, MOST_SHARE = 0.15, 8.0
LEAST_AMOUNT = -1.4  # a shortfall beyond all of the runs is not a matter of the runs
TIMES, ALL_TIMES = {"not_delivered": 1.0, "more_than_set": 2.2, "less_than_set": 1.0}, 1.0  # a year
SHARE_COST, CLOSED_COST = 1.5, 1.0
FROM = 6.0
LOOK = 36.0  # hours around the ends of a stretch of hourly readings
WANDER = 0.04  # how far a zone's delivery strays from month to month; common practice, no source
NOTHING_TOGETHER = -0.6  # of all zones at once, which seldom clog together; the fit bends their factors as well
NOTHING = -0.87  # less than an eighth came: not delivered


def delivered(case: Case, views: Views) -> list[Suspect]:
    """Stretches of runs that brought more, less or nothing: zone by zone, and all zones together."""
    ledger, expected = case.ledger, case.reference.zones @ np.ones(len(case.ledger.zones))
    running = tuple(code for k, code in enumerate(ledger.zones) if (ledger.paper[:, k] > 0).any())
    suspects = []
    for view in views:
        for k, code in enumerate(ledger.zones):
            paper = ledger.paper[:, k]
            for sign in (-1, +1):
                for s in view.stretches(paper[view.rows], sign, WANDER, 2, FROM):
                    share = s.amount / max(float(s.fitted[k - len(ledger.zones)]), 0.3)
                    if abs(share) >= LEAST_SHARE and LEAST_AMOUNT < share < MOST_SHARE:
                        sharp = _sharpened(case, s, paper * s.amount)
                        suspects.append(_make(case, sharp, paper * s.amount / share, (code,), max(share, -1.0)))
        if len(running) > 1:
            suspects += [
                _make(case, _sharpened(case, s, expected * s.amount), expected, running, max(s.amount, -1.0))
                for s in view.stretches(expected[view.rows], -1, WANDER, 2, FROM)
                if LEAST_AMOUNT < s.amount < NOTHING_TOGETHER
            ]
    short = [s for s in suspects if s.kind != "more_than_set" and s.score > 0]
    return [*suspects, *another_schedule(case, short)]


def _sharpened(case: Case, found: Stretch, litres: Floats) -> Stretch:
    """The same stretch with its ends among single hours looked for within two days: the first and last day of runs may
    belong to it in part.

    Args:
        litres: that every interval would hold more.
    """
    fine, start = case.fine, case.ledger.start
    if not case.ledger.fine[found.rows].all():
        return found
    rows = fine[litres[fine] != 0]
    begin, end = (int(np.searchsorted(rows, found.rows[n])) for n in (0, -1))
    low, high = (int(np.searchsorted(start[rows], start[found.rows[n]] + h)) for n, h in ((0, -LOOK), (-1, LOOK)))
    middle = (begin + end) // 2
    if middle > low:
        begin = low + int(np.cumsum(case.gain(rows[low:middle], litres[rows[low:middle]])[::-1])[::-1].argmax())
    if not found.going and high > middle:
        end = middle + int(np.cumsum(case.gain(rows[middle:high], litres[rows[middle:high]])).argmax())
    return replace(found, rows=rows[begin : end + 1])


def _make(case: Case, found: Stretch, expected: Floats, zones: tuple[str, ...], share: float) -> Suspect:
    rows, gain, going = found.rows, found.gain, found.going
    nothing = share < (NOTHING_TOGETHER if len(zones) > 1 else NOTHING)
    kind: FindingKind = "more_than_set" if share > 0 else "not_delivered" if nothing else "less_than_set"
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
        detail={"share": share, "likelier": found.likelier, "runs": float(_count(case, rows, zones))},
    )


def _cost(case: Case, kind: FindingKind, zones: tuple[str, ...], share: float, going: bool) -> float:
    """How rare it is: a dead battery or a closed faucet stops all zones at once, a line off has any size."""
    if len(zones) > 1:
        return case.run_rarity(ALL_TIMES * len(zones))
    if kind == "not_delivered":
        return case.run_rarity(TIMES[kind])
    return case.run_rarity(TIMES[kind]) + SHARE_COST + 0.7 * max(share - 1, 0.0) + (0.0 if going else CLOSED_COST)


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
