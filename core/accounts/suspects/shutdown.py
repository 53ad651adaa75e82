"""After shutdown: water at the drip line although the system was shut down for the winter."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from core.accounts.instants import Floats
from core.accounts.ledger import Ledger
from core.accounts.suspects.case import Case, Rows, Suspect, best_stretches
from core.accounts.suspects.ends import Least
from core.accounts.suspects.view import View

EXTRA = ("steady", "one_off", "stuck_open", "another_schedule")  # kinds of water that may be the drip line's
WINTERS = float(np.log(20))  # a controller left on in one winter of twenty; common practice, no source
SHARES, SHARE_SD = np.linspace(0.6, 1.4, 9), 0.2  # of what the runs should bring: the parts known by their makers
FACTORS = (0.75, 1.25)  # of what a zone should bring, whatever the readings say of it so far
RUN_STRAYS = 0.15  # by which a run's water may differ from the next run's; common practice, no source
SIZES = 6.0  # natural log of the largest over the smallest use worth telling
LEAST_COST, DRY = 5.0, 0.5  # of water nobody expects, and of each reading without it
CLOSED_COST = 4.0  # nobody looks at a box in winter: what is left on stays on; and it could end at any reading
LEAST_L = 2.0  # of would-be runs in a reading; less says nothing
LEAST_READINGS = 2  # one alone is any use of that size


def after_shutdown(ledger: Ledger, suspects: list[Suspect]) -> list[Suspect]:
    """Call extra water that began while the system was shut down by its name.

    On a meter that serves only the garden any such water is at the drip line. On a house meter only water that
    fits a zone is; the rest stays what it was, with the drip line among its rivals. Behind a meter without zones
    there is no drip line.
    """
    if not ledger.winter or not ledger.zones:
        return suspects
    garden_only = ledger.home_people == 0
    return [_named(s, garden_only) if s.kind in EXTRA and _in_winter(ledger, s) else s for s in suspects]


def _named(suspect: Suspect, garden_only: bool) -> Suspect:
    told = [r for r in suspect.rivals if r.kind == "after_shutdown"]  # by the programs' days, nearly as well
    if garden_only or suspect.zones:
        zones = suspect.zones or tuple(z for r in told[:1] for z in r.zones)
        others = tuple(r for r in suspect.rivals if r.kind != "after_shutdown")
        return replace(suspect, kind="after_shutdown", zones=zones, rivals=(replace(suspect, rivals=()), *others))
    if told:
        return suspect
    return replace(suspect, rivals=(*suspect.rivals, replace(suspect, kind="after_shutdown", rivals=())))


def _in_winter(ledger: Ledger, suspect: Suspect) -> bool:
    """Whether it adds water that began in a shutdown.

    A reading that straddles the shutdown does not tell on which side its water began: then most of the water must lie
    behind it. What began in an earlier reading merely goes on.
    """
    if suspect.total <= 0:
        return False
    start, end = ledger.start[suspect.rows], ledger.end[suspect.rows]
    for first, last in ledger.winter:
        if first <= suspect.since < last:
            return True
        inside = np.clip(np.minimum(end, last) - np.maximum(start, first), 0, None) / (end - start)
        if suspect.since < first < end[0] and (suspect.litres * inside).sum() > 0.5 * suspect.total:
            return True
    return False


def still_running(case: Case, view: View) -> list[Suspect]:
    """Programs that went on after the shutdown, one zone's or all: water on the days and hours they were set to."""
    ledger = case.ledger
    if not ledger.winter:
        return []
    held = [d.between(ledger.start, ledger.end) for d in ledger.drawn_held]
    # runs that went on on the same weekdays all year may look like the house's own days, and leave the zones little
    factor = np.clip(case.reference.factor, *FACTORS)
    drawn = [litres * factor[k] for k, litres in enumerate(held)]
    off = [k for k in range(len(ledger.zones)) if (drawn[k] > LEAST_L).any()]
    garden_only = ledger.home_people == 0
    each: dict[tuple[str, ...], Floats] = {(ledger.zones[k],): drawn[k] for k in off}
    if len(off) > 1:
        each[tuple(ledger.zones[k] for k in off)] = np.sum([drawn[k] for k in off], axis=0)
    found = []
    for zones, litres in each.items():
        if garden_only:
            found += _direct(case, case.slow, zones, litres, len(each))
        else:
            found += _slow(case, view, zones, litres, len(each))
        found += _direct(case, case.fine, zones, litres, len(each))
    return found + (_moving(case) if garden_only and ledger.zones else [])


def _moving(case: Case) -> list[Suspect]:
    """Water of any amount through a meter of the garden alone, read slowly: nothing is expected of it in winter.

    Each reading's amount is free, any size as likely as ten times it. Nothing else moves this meter, so that its
    readings are known far better than those with runs, and a search over all of them would miss where it began.
    """
    ledger = case.ledger
    middle = (ledger.start + ledger.end)[case.slow] / 2
    rows = case.slow[np.any([(middle >= a) & (middle < b) for a, b in ledger.winter], axis=0)]
    left = np.maximum(case.left[rows], 1.0)
    gain = np.where(case.left[rows] > 1.0, -np.log(SIZES * left) - case.plain[rows], -DRY)
    suspects = []
    for _, first, last, found in best_stretches(gain[None], 4, LEAST_COST):
        touched, litres = rows[first : last + 1], np.maximum(case.left[rows[first : last + 1]], 0.0)
        since, until = float(ledger.start[touched[0]]), float(ledger.end[touched[-1]])
        going = touched[-1] == case.rows[-1] and len(touched) > 1
        rate = float(litres.sum() / (until - since))
        suspects.append(
            Suspect("after_shutdown", (), touched, litres, since, None if going else until, found, LEAST_COST, rate)
        )
    return suspects


def _cost(readings: int, hypotheses: int) -> float:
    """How rare it is, and that it could have begun at any reading and be any zone's."""
    return WINTERS + float(np.log(max(readings, 1) * hypotheses))


def _slow(case: Case, view: View, zones: tuple[str, ...], litres: Floats, hypotheses: int) -> list[Suspect]:
    column = np.where(litres > LEAST_L, litres, 0.0)[view.rows]
    cost = _cost(int((column > 0).sum()), hypotheses)
    suspects = []
    for s in view.stretches(column, +1, 0.0, 2, cost, Least(LEAST_READINGS), whole=True):
        gain = s.gain - 0.5 * ((s.amount - 1) / SHARE_SD) ** 2
        if SHARES[0] <= s.amount <= SHARES[-1]:
            suspects.append(_make(case, zones, s.rows, s.amount * s.part * litres[s.rows], s.amount, gain, cost))
    return suspects


def _direct(case: Case, among: Rows, zones: tuple[str, ...], litres: Floats, hypotheses: int) -> list[Suspect]:
    """Where what is expected otherwise is well known: reading by reading, each run straying a little by itself."""
    rows = among[litres[among] > LEAST_L]
    if (case.left[rows] > SHARES[0] * litres[rows]).sum() < LEAST_READINGS:
        return []
    cost = _cost(len(rows), hypotheses)
    expected = SHARES[:, None] * litres[rows]
    near = np.abs(case.left[rows] - expected) < RUN_STRAYS * expected
    strays = np.where(near, -np.log(2 * RUN_STRAYS * expected) - case.plain[rows], -np.inf)
    gain = np.logaddexp(case.gain(rows, expected), strays) - np.log(2)
    suspects = []
    for which, first, last, found in best_stretches(gain, 2, cost):
        if last - first + 1 < LEAST_READINGS:
            continue
        share, touched = float(SHARES[which]), rows[first : last + 1]
        gained = found - 0.5 * ((share - 1) / SHARE_SD) ** 2
        suspects.append(_make(case, zones, touched, share * litres[touched], share, gained, cost))
    return suspects


def _make(
    case: Case, zones: tuple[str, ...], rows: Rows, litres: Floats, share: float, gain: float, cost: float
) -> Suspect:
    ledger = case.ledger
    since, until = float(ledger.start[rows[0]]), float(ledger.end[rows[-1]])
    which = [ledger.zones.index(z) for z in zones]
    due = ledger.held[case.rows[case.rows > rows[-1]]][:, which]
    going = bool(due.sum() <= LEAST_L)  # it goes on while no run has failed to come
    flow = share * sum(case.flow(k) for k in which)
    return Suspect(
        "after_shutdown",
        zones,
        rows,
        litres,
        since,
        None if going else until,
        gain,
        cost + (0.0 if going else CLOSED_COST),
        flow or float(litres.sum() / (until - since)),
        detail={"share": share, "runs": float(len(rows)), "all": float(len(zones) > 1)},
    )
