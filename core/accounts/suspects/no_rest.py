"""No rest: a house whose meter stands still in no night, so that a leak may have run since before the first reading.

What is normal is learned from the record itself, so a leak as old as the record is part of it. This asks something
that needs no record: whether the nights ever rest. Detecting leaks by the lowest flow of the night is common practice;
the shares below are by its experience, no source.
"""

from __future__ import annotations

import numpy as np

from core.accounts.instants import Floats
from core.accounts.suspects.appliances import draws_at_night
from core.accounts.suspects.case import Case, Rows, Suspect
from core.accounts.suspects.view import View

NIGHT = 5  # hours from midnight in which a house rests, if it ever does
SPANS = {1: 0.7, 2: 0.5, 3: 0.35}  # hours: chance that a sound house, in a night, never rests for so long
LEAST_NIGHTS = 7
ODD_NIGHTS = 0.1  # share of nights that may have rested all the same: a drip that pauses, a register that waits
LOW = 0.3  # quantile over the nights of their usual hours: what the leak alone brings
RATE_HOURS = 3  # in a row, of which the register's steps round less away than of one
TIMES = 0.3  # homes in a year that are found so


def no_rest(case: Case, _: View) -> list[Suspect]:
    """A leak since the first reading, or none: at hourly pace only, and never where appliances drink at night."""
    rows = case.fine
    if not len(rows) or len(rows) < 0.9 * len(case.rows) or draws_at_night(case):
        return []
    found = [s for s in (_since_first(case, hours, awake) for hours, awake in SPANS.items()) if s is not None]
    return [max(found, key=lambda s: s.score)] if found else []


def night_rate(case: Case, rows: Rows) -> float:
    """Litres an hour that a leak of all of these hours brings by the usual hours of their nights; 0 without nights."""
    _, usual, middle = _nights(case, RATE_HOURS)
    mine = (middle >= case.ledger.start[rows[0]]) & (middle <= case.ledger.end[rows[-1]])
    return float(np.quantile(usual[mine], LOW)) / RATE_HOURS if mine.any() else 0.0


def _since_first(case: Case, hours: int, awake: float) -> Suspect | None:
    ledger, rows = case.ledger, case.fine
    lowest, _, middle = _nights(case, hours)
    if len(lowest) < LEAST_NIGHTS:
        return None
    step = float(np.median(ledger.step[rows]))
    rested = lowest < 0.5 * max(step, 1.0)
    kept = np.cumsum(rested) <= ODD_NIGHTS * np.arange(1, len(rested) + 1)
    kept[: min(LEAST_NIGHTS, len(kept))] &= not rested[:LEAST_NIGHTS].any()
    nights = int(np.argmin(kept)) if not kept.all() else len(kept)
    if nights < LEAST_NIGHTS:
        return None
    going = nights == len(kept)
    touched = rows if going else rows[ledger.end[rows] <= middle[nights - 1] + 12]
    rate = night_rate(case, touched)
    unbroken = int((~rested[:nights]).sum())
    gain = -unbroken * np.log(awake) + int(rested[:nights].sum()) * np.log(1 - awake)
    return Suspect(
        "steady",
        (),
        touched,
        rate * ledger.hours[touched],
        float(ledger.start[touched[0]]),
        None if going else float(ledger.end[touched[-1]]),
        float(gain),
        float(np.log(1 / TIMES)) + float(np.log(len(SPANS))),
        rate,
        detail={"nights": float(unbroken), "rest": float(hours)},
    )


def _nights(case: Case, hours: int) -> tuple[Floats, Floats, Floats]:
    """Per night that was metered whole: the least and the usual use in so many hours in a row, and its middle."""
    ledger, rows = case.ledger, case.fine
    middle = (ledger.start[rows] + ledger.end[rows]) / 2
    hour = ledger.hour_of(middle)
    of_day = ledger.hour_of_week[hour] % 24
    at = np.flatnonzero((of_day < NIGHT) & (ledger.paper_total[rows] < 1e-6))
    night = (hour - of_day)[at]  # another one after the clocks were changed: neither half of that night is whole
    first = np.flatnonzero(np.diff(night, prepend=-1))
    whole = at[first[np.diff(np.append(first, len(at))) == NIGHT]]
    use = case.left[rows[whole[:, None] + np.arange(NIGHT)]]
    sums = np.lib.stride_tricks.sliding_window_view(use, hours, axis=1).sum(axis=2)
    return sums.min(axis=1), np.median(sums, axis=1), middle[whole] + NIGHT / 2
