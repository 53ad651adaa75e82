"""What counts as a strong signal, as told and as false: one definition for every generator of homes.

Signal as the project defines it: E the gallons too many or too few summed over the readings a fault touches, n how many
those are, s the household's own robust deviation per reading at that pace (by hour of the week at hourly pace, never
below resolution / sqrt 6); the signal is E / (s sqrt n): strong from 6, fair from 4. Runs that came at another time
neither add nor take water, so that E sums what each reading is off by.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from core.accounts.findings import Finding

Floats = NDArray[np.float64]
GAL_L = 3.785411784  # litres in a gallon, by definition
PACES = ("weekly", "daily", "hourly")
KINDS = ("steady", "stuck_open", "more_than_set", "less_than_set", "not_delivered", "one_off", "another_schedule")
ZONED = ("stuck_open", "more_than_set", "less_than_set", "not_delivered")
OF_RUNS = (*ZONED, "another_schedule")  # kinds that need a run
HOURS = {"weekly": 168.0, "daily": 24.0, "hourly": 1.0}  # of a reading
SLACK = {"weekly": timedelta(hours=24), "daily": timedelta(hours=6), "hourly": timedelta(hours=2)}


@dataclass(frozen=True)
class Told:
    """One fault in one home at one pace and what came of it; ``gallons`` so far, as the meter felt it.

    Attributes:
        step: gallons the register shows. signal: E / (s sqrt n). told: a finding overlaps it.
        kind_right, zone_right: of the strongest that does. start_off_h, volume_off: of that one, hours and share of the
            true volume. false: findings elsewhere.
        alike: times a year that the house alone strays as far, see ``alike_a_year``.
        days: of the record; note: in words, to look into.
    """

    seed: int
    pace: str
    step: float
    kind: str
    signal: float
    gallons: float
    told: bool
    kind_right: bool
    zone_right: bool
    start_off_h: float
    volume_off: float
    false: int
    alike: float
    days: float
    note: str


@dataclass(frozen=True)
class Clean:
    """A home with nothing wrong: how many findings it got all the same.

    Attributes:
        days: of the record; note: in words, to look into.
        unwritten: of the false, single uses found where water was truly used that nobody wrote down.
    """

    seed: int
    pace: str
    step: float
    false: int
    days: float
    note: str
    unwritten: int = 0


def robust_deviation(values: Floats) -> float:
    """1.4826 times the median distance from the median: the standard deviation, if the values were normal."""
    return float(1.4826 * np.median(np.abs(values - np.median(values))))


def signal_so_far(change: Floats, spread: Floats, kind: str) -> Floats:
    """E / (s sqrt n) after each of the readings a fault touches, from the first on.

    Args:
        change: gallons more or less in each touched reading. spread: s of each. kind: of the fault.
    """
    size = np.abs(change) if kind == "another_schedule" else change
    result: Floats = np.abs(np.cumsum(size)) / np.sqrt(np.cumsum(spread**2))
    return result


def alike_a_year(alone: Floats, slot: NDArray[np.intp], change: Floats, every: int, hours: float) -> float:
    """How many times a year the house alone strays as far as it seems to with a fault, over readings that lie to each
    other as those touched do. Times that share a reading count once.

    Args:
        alone: gallons of each reading by the house alone. slot: which of them are alike, as by the hour of the week.
        change: gallons that the fault adds to each. every: readings from one place it might begin at to the next, as a
            day's where it needs a run. hours: of one reading.
    """
    usual = np.array([np.median(alone[slot == k]) if (slot == k).any() else 0.0 for k in range(slot.max() + 1)])
    strays = alone - usual[slot]
    touched = np.flatnonzero(np.abs(change) > 1e-6)
    seems = float((np.sign(change) * (strays + change)).sum())
    pattern = np.sign(change[touched[0] : touched[-1] + 1])
    first = int(touched[0]) % every
    starts = np.arange(first, len(alone) - len(pattern) + 1, every)
    as_far = starts[np.correlate(strays, pattern)[starts] >= seems]
    count, free = 0, 0
    for begin in as_far:
        if begin >= free:
            count, free = count + 1, begin + len(pattern)
    return count / (len(alone) * hours / 8766)


def judged(
    found: Sequence[Finding],
    *,
    seed: int,
    pace: str,
    step: float,
    kind: str,
    zones: set[str],
    signal: float,
    gallons: float,
    since: datetime,
    first: datetime,
    as_of: datetime,
    alike: float,
    days: float,
) -> Told:
    """What the findings, strongest first, say of one fault.

    Args:
        zones: those it is in. since: when it began. first: start of the first reading it touches. as_of: when asked.
    """
    over = [f for f in found if meets(f, first, as_of, SLACK[pace])]
    best = over[0] if over else None
    return Told(
        seed=seed,
        pace=pace,
        step=step,
        kind=kind,
        signal=signal,
        gallons=gallons,
        told=best is not None,
        kind_right=best is not None and best.kind == kind,
        zone_right=best is not None and bool(zones & {best.zone, *best.group}),
        start_off_h=abs((best.since - since).total_seconds()) / 3600 if best else np.nan,
        volume_off=abs(gallons_of(best) - gallons) / max(abs(gallons), 1.0) if best else np.nan,
        false=len(found) - len(over),
        alike=alike,
        days=days,
        note=f"{sorted(zones)} {since:%m-%d %H} to {as_of:%m-%d %H} {gallons:.0f} gal: {said(found)}",
    )


def meets(finding: Finding, since: datetime, until: datetime, slack: timedelta) -> bool:
    """Whether a finding overlaps a stretch, give or take ``slack``."""
    return finding.since <= until + slack and (finding.until is None or finding.until >= since - slack)


def tells_of_more_since(found: Sequence[Finding], moment: datetime) -> bool:
    """Whether anything that adds water is told of the time since."""
    return any(gallons_of(f) > 0 and (f.until is None or f.until >= moment) for f in found)


def gallons_of(finding: Finding) -> float:
    return (finding.volume.value or 0.0) / GAL_L


def said(found: Sequence[Finding]) -> str:
    """Findings in short."""
    return "; ".join(
        f"{f.kind} {f.zone or ''} {f.since:%m-%d %H}..{f.until and f.until.strftime('%m-%d %H')} {f.score:.1f} "
        f"{gallons_of(f):.0f} gal"
        for f in found
    )
