"""Another schedule: the runs came, at other hours or on other days than the book says, so a clock or program is off."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from core.accounts.instants import Floats
from core.accounts.ledger import Ledger
from core.accounts.suspects.case import Case, Rows, Suspect

TIMES = 0.7  # a year
HOURS = np.array([s * h / 2 for h in range(2, 25) for s in (-1, 1)])  # one to twelve, earlier and later
DAYS = np.array([s * d * 24.0 for d in range(1, 4) for s in (-1, 1)])
LEAST_SHIFT = 0.7  # hours; less is no news
LOOK_HOURS = 24 * 30.0  # of a stretch that must suffice to tell by how much
LEAST_FOUND = 0.6  # share of what is missing that must turn up at the other hours
CLEARER = 6.0  # by how much coming at another hour must beat not coming, natural log
LEAST_SHORT = -0.25  # share of the runs missing at their hours that makes one ask where they went


def another_schedule(case: Case, short: list[Suspect]) -> list[Suspect]:
    """For stretches in which runs seem not to have come: whether they came at another time.

    Args:
        short: suspects for runs that brought less than they should or nothing.
    """
    found = []
    for each in short:
        if float(each.detail["share"]) <= LEAST_SHORT:
            fine = bool(case.ledger.fine[each.rows].all())
            variants = [each, *(_with_all(case, each) if fine else [])]
            found += [moved for moved in (_moved(case, one, fine) for one in variants) if moved is not None]
    return found


def _with_all(case: Case, short: Suspect) -> list[Suspect]:
    """The same with all zones that ran in those days: of zones that run one after the other, each may now come in the
    hours of another, so that only one of them seems not to have come. From one of the last runs of a day before on.
    """
    ledger, runs = case.ledger, case.ledger.runs
    until = short.until if short.until is not None else float(ledger.end[case.rows[-1]])
    inside = runs.counted & (runs.start > short.since - 24) & (runs.start < until)
    zones = tuple(code for k, code in enumerate(ledger.zones) if (runs.zone[inside] == k).any())
    if len(zones) < 2 or len(short.zones) == len(zones):
        return []
    starts = np.unique(runs.start[inside & (runs.start < short.since + 1)])
    return [replace(short, zones=zones, since=float(start)) for start in starts]


def clock_off(case: Case, written: Ledger) -> list[Suspect]:
    """All runs of late at another hour than written: the clock is off, most often by the hour of summer time.

    Minutes are no news, and the case has counted the runs at their own time already.

    Args:
        written: the ledger with every run as the book says.
    """
    ledger, rows = case.ledger, case.fine
    counted = written.runs.counted
    if not len(rows) or not counted.any():
        return []
    shift = float(np.median(ledger.runs.start[counted] - written.runs.start[counted]))
    if abs(shift) < LEAST_SHIFT:
        return []
    moved = ((ledger.paper - written.paper) * case.reference.factor).sum(axis=1)[rows]
    gain = float(-case.gain(rows, -moved).sum())
    touched = np.abs(moved) > 0.5
    zones = tuple(code for k, code in enumerate(ledger.zones) if (ledger.paper[:, k] > 0).any())
    since = float(written.runs.start[counted & (written.runs.start >= ledger.start[rows[0]] - 24)].min())
    return [
        Suspect(
            "another_schedule",
            zones,
            rows[touched],
            moved[touched],
            since,
            None,
            gain,
            case.run_rarity(TIMES),
            float(np.median(ledger.runs.flow)),
            detail={"shift": shift, "moved": float(moved[moved > 0].sum())},
        )
    ]


def _moved(case: Case, short: Suspect, fine: bool) -> Suspect | None:
    ledger = case.ledger
    until = short.until if short.until is not None else float(ledger.end[case.rows[-1]])
    pace = 12.0 if fine else float(np.median(ledger.hours[short.rows]))
    shifts = np.concatenate([HOURS, DAYS]) if fine else DAYS
    shifts = shifts[np.abs(shifts) >= (0.5 if fine else 0.5 * pace)]
    among = case.fine if fine else case.slow
    rows = _within(case, among, short.since - 12, min(until, short.since + LOOK_HOURS) + 12)
    if not len(rows) or not len(shifts):
        return None
    shift = _best(case, short, rows, shifts, until)
    if fine and abs(shift) < 24:
        shift = _best(case, short, rows, shift + np.arange(-25, 26, 5) / 60, until)
    rows = _within(case, among, short.since - 12 - abs(shift), until + 12 + abs(shift))
    litres = _difference(case, short, rows, np.array([shift]), until)[0]
    gain = float(case.gain(rows, litres).sum())
    touched = np.abs(litres) > 0.5
    lost, gone = float(litres[litres > 0].sum()), -float(litres[litres < 0].sum())
    # by how much it is likelier than runs that did not come, on the same footing: flows stay what they are
    absent = -np.stack([_brought(case, zone, rows, short.since, until) for zone in short.zones]).sum(axis=0)
    own = [case.gain(short.rows, short.litres).sum(), case.gain(rows, absent).sum()]
    clearer = gain - float(max(0.0, *own))
    if not touched.any() or lost < LEAST_FOUND * gone or clearer < CLEARER:
        return None
    cost = case.run_rarity(TIMES * len(short.zones)) + float(np.log(len(shifts)))
    return Suspect(
        "another_schedule",
        short.zones,
        rows[touched],
        litres[touched],
        short.since,
        short.until,
        short.gain + clearer,
        cost,
        abs(short.rate),
        detail={"likelier": float(short.detail["likelier"]) + clearer, "shift": shift, "moved": lost},
    )


def _within(case: Case, among: Rows, since: float, until: float) -> Rows:
    ledger = case.ledger
    return among[(ledger.end[among] > since) & (ledger.start[among] < until)]


def _best(case: Case, short: Suspect, rows: Rows, shifts: Floats, until: float) -> float:
    """The shift that explains these readings best."""
    gains = case.gain(rows, _difference(case, short, rows, shifts, until)).sum(axis=1)
    return float(shifts[int(gains.argmax())])


def _difference(case: Case, short: Suspect, rows: Rows, shifts: Floats, until: float) -> Floats:
    """Litres more (or less) in each interval (columns) if the runs from ``since`` to ``until`` came ``shifts`` hours
    later (rows).
    """
    ledger = case.ledger
    a, b = short.since - 1e-6, until + 1e-6
    edges = np.stack([ledger.start[rows], ledger.end[rows]])
    then = np.clip(edges[:, None] - shifts[:, None], a, b)
    total = np.zeros((len(shifts), len(rows)))
    for code in short.zones:
        k = ledger.zones.index(code)
        total += case.reference.factor[k] * ledger.drawn[k].between(*then) - _brought(case, code, rows, a, b)
    return total


def _brought(case: Case, code: str, rows: Rows, since: float, until: float) -> Floats:
    """Litres that a zone's runs between two instants should have brought to each of ``rows``."""
    k = case.ledger.zones.index(code)
    start, end = np.clip(np.stack([case.ledger.start[rows], case.ledger.end[rows]]), since, until)
    return np.asarray(case.reference.factor[k] * case.ledger.drawn[k].between(start, end))
