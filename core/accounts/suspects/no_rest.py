"""No rest: a house whose meter stands still in no night, from the first hourly reading on or from some night on.

What is normal is learned from the record itself, so a leak as old as the record, or as most of it, becomes part of it.
This asks something that needs no record: whether the nights rest. Detecting leaks by the lowest flow of the night is
common practice; the shares below are by its experience, no source.
"""

from __future__ import annotations

import numpy as np

from core.accounts.instants import Flags, Floats
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
STILL_AWAKE = 0.95  # share of nights without a rest while a leak runs
CHANGED_GAIN = 10.0  # how much likelier (natural log) it is that the nights lost their rest than that they did not
BELOW = 0.5  # of a leak's rate, by which slow readings must lie below hourly ones to say that the house is without it


def no_rest(case: Case, _: View) -> list[Suspect]:
    """A leak since the first reading, or none: at hourly pace only, and never where appliances drink at night."""
    if not _tell(case) or len(case.fine) < 0.9 * len(case.rows):
        return []
    found = [s for s in (_since_first(case, hours, awake) for hours, awake in SPANS.items()) if s is not None]
    return [max(found, key=lambda s: s.score)] if found else []


def restless(case: Case) -> Floats:
    """Litres in each interval of a leak that took the nights their rest, from some night up to the last.

    To learn by and not to tell: what is normal can be learned without a leak that has run for most of the record.
    Without nights before it, it is believed where slow readings say that the house uses less.
    """
    litres = np.zeros(len(case.left))
    if not _tell(case):
        return litres
    found = max((_changed(case, hours, awake) for hours, awake in SPANS.items()), key=lambda c: c[0])
    gain, since = found
    rows = case.fine[case.ledger.start[case.fine] >= since]
    if gain < CHANGED_GAIN or not len(rows):
        return litres
    rate = night_rate(case, rows)
    if rows[0] > case.fine[0] or _above_slow(case) > BELOW * rate:
        litres[rows] = rate * case.ledger.hours[rows]
    return litres


def _above_slow(case: Case) -> float:
    """Litres an hour that hourly readings hold more than the slow ones before them, what is normal taken off both."""
    ledger, fine = case.ledger, case.fine
    before = case.slow[ledger.end[case.slow] <= ledger.start[fine[0]]]
    if not len(before):
        return 0.0
    hourly = float(case.reference.unexplained[fine].sum() / ledger.hours[fine].sum())
    return hourly - float(np.median(case.left[before] / ledger.hours[before]))


def _tell(case: Case) -> bool:
    """Whether the nights can tell: they are read by the hour, and nothing of the home record drinks all night."""
    return bool(len(case.fine)) and not draws_at_night(case)


def _changed(case: Case, hours: int, awake: float) -> tuple[float, float]:
    """Gain of nights without a rest since some hour, and that hour: the middle of the day before the first of them, or
    of all time where there is none with a rest.
    """
    lowest, _, middle = _nights(case, hours)
    count = len(lowest)
    if count < LEAST_NIGHTS:
        return 0.0, np.inf
    up = np.append(~_rested(case, lowest), False)
    nights = np.arange(count + 1)
    before = np.cumsum(up) - up
    chance = (before + 1) / (nights + 1 / awake)  # of a night without a rest, by those before and what is usual
    after = up.sum() - before
    slept = count - nights - after
    gain = after * np.log(STILL_AWAKE / chance) + slept * np.log((1 - STILL_AWAKE) / (1 - chance))
    gain[(after < LEAST_NIGHTS) | (slept > ODD_NIGHTS * (count - nights))] = 0.0
    first = int(gain.argmax())
    return float(gain[first]), -np.inf if first == 0 else float(middle[first] - 12)


def _rested(case: Case, lowest: Floats) -> Flags:
    """Nights in which the meter stood still."""
    step = float(np.median(case.ledger.step[case.fine]))
    result: Flags = lowest < 0.5 * max(step, 1.0)
    return result


def night_rate(case: Case, rows: Rows, least: int = 1) -> float:
    """Litres an hour that a leak of all of these hours brings by the usual hours of their nights; 0 of fewer."""
    _, usual, middle = _nights(case, RATE_HOURS)
    mine = (middle >= case.ledger.start[rows[0]]) & (middle <= case.ledger.end[rows[-1]])
    return float(np.quantile(usual[mine], LOW)) / RATE_HOURS if mine.sum() >= least else 0.0


def _since_first(case: Case, hours: int, awake: float) -> Suspect | None:
    ledger, rows = case.ledger, case.fine
    lowest, _, middle = _nights(case, hours)
    if len(lowest) < LEAST_NIGHTS:
        return None
    rested = _rested(case, lowest)
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
