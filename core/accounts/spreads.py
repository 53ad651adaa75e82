"""How far readings stray from what is normal when nothing is wrong: people's days, runs, steps of the register."""

from __future__ import annotations

import numpy as np

from core.accounts.accrual import Accrual
from core.accounts.delivery import FLOW_SD
from core.accounts.instants import Flags, Floats
from core.accounts.ledger import Ledger
from core.accounts.noise import Noise
from core.accounts.presence import UNSURE_SD

EDGE_HOURS = 2 / 60  # how far a run's edge strays from day to day; common practice, no source
COARSE = 4.0  # times the variance of rounding that the days of readings taken together have, at least
DRIFT = 0.01  # how far the level of a month strays from the year's, until the readings tell; common practice, no source


def spread(ledger: Ledger, noise: Noise, indoor: Floats, relative: Floats, day_sd: float, runs: Floats) -> Floats:
    """Standard deviation per interval of what is left when nothing is wrong; ``runs``: their variance."""
    variance = _indoor_variance(ledger, indoor, relative, day_sd) + ledger.read_sd**2
    rows = np.flatnonzero(ledger.fine)
    if noise.learned:
        variance[rows] = noise.spread(rows) ** 2
    result: Floats = np.sqrt(variance + ledger.other_sd**2 + runs)
    return result


def _indoor_variance(ledger: Ledger, indoor: Floats, relative: Floats, day_sd: float) -> Floats:
    """Variance of indoor use per interval: a day's own, grown by time, the level's drift, and days of leaving home."""
    unsure = Accrual.of_rates(ledger.hour_edges, ledger.unsure.astype(np.float64)).between(ledger.start, ledger.end)
    day = 24 * float(indoor.sum()) / max(float(relative.sum()), 1e-9)
    result: Floats = day_sd**2 * np.maximum(relative, 0.05 * ledger.hours) / 24 + (DRIFT * indoor) ** 2
    result += (UNSURE_SD * day) ** 2 * unsure / 24
    return result


def day_spread(
    ledger: Ledger, residual: Floats, teach: Flags, slow: Flags, relative: Floats, before: float, sigma: Floats
) -> float:
    """Spread of one day from the slow readings, drawn towards what was assumed while they are few.

    Where the register's steps say more than the days, readings are taken together until they do not: what one reading
    rounds away the next one shows.
    """
    rows = slow[teach]
    count = int(rows.sum())
    if count < 3:
        return before
    days = np.maximum(relative, 0.05 * ledger.hours)[teach][rows] / 24
    read = ledger.read_sd[teach][rows] ** 2
    other = np.clip(sigma[teach][rows] ** 2 - before**2 * days - read, 0, None)
    coarse = COARSE * float(np.median(read / days)) / before**2 if before > 0 else 0.0  # 0 behind a garden meter
    together = int(np.clip(coarse, 1, count // 3))
    at = np.arange(count // together) * together
    residual, days, other = (np.add.reduceat(each, at) for each in (residual[rows], days, other))
    other = other + np.maximum.reduceat(read, at)
    # from one reading to the next, so that steps and seasons the fit has missed do not widen it
    size = np.abs(np.diff(residual / np.sqrt(days))) / np.sqrt(2) * 1.4826
    own = np.sqrt(np.clip(np.median(size) ** 2 - np.median(other / days), 0.04 * before**2, None))
    weight = len(days) / (len(days) + 5.0)
    return float(np.sqrt(weight * own**2 + (1 - weight) * before**2))


def run_variance(ledger: Ledger) -> Floats:
    """Variance per interval and zone of what runs bring when they bring what they should: their flow from run to run,
    and minutes that spill over their ends.
    """
    variance = np.zeros_like(ledger.paper)
    for k in range(len(ledger.zones)):
        mine = ledger.runs.of(ledger.runs.counted & (ledger.runs.zone == k))
        if not len(mine.start):
            continue
        flow = float(np.median(mine.flow))
        runs_in = ledger.paper[:, k] / max(float(np.median(mine.litres)), 1e-9)
        edges = np.sort(np.concatenate([mine.start, mine.end]))
        variance[:, k] = (FLOW_SD * ledger.paper[:, k]) ** 2 / np.maximum(runs_in, 1)
        variance[:, k] += (flow * EDGE_HOURS) ** 2 * (_near_edge(ledger, edges) & ledger.fine)
    return variance


def scattered(ledger: Ledger, of_runs: Floats, factor: Floats, steadiness: float) -> Floats:
    """Variance per interval of what all zones bring, by what they really bring and how steady they are."""
    result: Floats = np.where(ledger.fine, steadiness, 1.0) * (of_runs @ factor**2)
    return result


def _near_edge(ledger: Ledger, edges: Floats) -> Flags:
    """Whether a run starts or ends within minutes of the interval's own ends, where it may spill over."""
    spill = EDGE_HOURS * 2
    near = np.zeros(len(ledger.start), dtype=bool)
    for ends in (ledger.start, ledger.end):  # intervals are in order of time, and far more than runs
        first = np.searchsorted(ends, edges - spill, side="right")
        last = np.searchsorted(ends, edges + spill, side="right")
        for a, b in zip(first[first < last], last[first < last], strict=True):
            near[a:b] = True
    return near


def steadiness(z: Floats) -> float:
    """How much less (below 1) or more hourly readings with runs scatter than was assumed, as a variance ratio."""
    if len(z) < 20:
        return 1.0
    own = (1.4826 * float(np.median(np.abs(np.diff(z)))) / np.sqrt(2)) ** 2
    return float(np.clip((len(z) * own + 40) / (len(z) + 40), 0.3, 3.0))


def wander(ledger: Ledger, left: Floats, slow: Flags, sigma: Floats, indoor: Floats) -> float:
    """How far four-week means of slow readings stray beyond what single readings explain, share of the level."""
    rows = np.flatnonzero(slow)
    if not len(rows):
        return DRIFT
    block = ((ledger.start[rows] - ledger.start[rows[0]]) // (28 * 24)).astype(np.int64)
    z = np.clip(left[rows] / sigma[rows], -3, 3) * sigma[rows]
    base = np.bincount(block, indoor[rows])
    full = (np.bincount(block) >= 3) & (base > 0)
    if full.sum() < 4:
        return DRIFT
    stray = (np.bincount(block, z)[full] / base[full]) ** 2
    chance = np.bincount(block, sigma[rows] ** 2)[full] / base[full] ** 2
    own = float(np.quantile(stray, 0.4) / 0.275 - np.median(chance))  # 0.275: chi-squared of one, its 40 % point
    count = float(full.sum())
    return float(np.clip(np.sqrt(max((count * max(own, 0) + 30 * DRIFT**2) / (count + 30), 0)), DRIFT / 2, 0.03))
