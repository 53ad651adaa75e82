"""How many minutes the runs really come later than written, told by hourly readings that a run's edge divides."""

from __future__ import annotations

import numpy as np

from core.accounts.instants import Flags, Floats
from core.accounts.ledger import Ledger

COARSE_MIN, MOST_MIN = 3, 15
SUMMER_MIN = 60  # a clock that was not put forward or back
BLOCKS, BLOCK_HOURS = 24, 14 * 24.0  # latest fortnights that are looked at, each with delivery factors of its own
CLEAR = 20.0  # drop in squared residuals that makes a lateness worth believing
BOUND = 9.0  # most that one reading counts, squared standard deviations
MOST_EACH = 12.0  # that one fortnight of many counts, so that a while on another schedule does not shift them all
FACTOR_SD, INDOOR_SD = 0.4, 0.2


def late_minutes(ledger: Ledger, use: Floats, indoor: Floats, sigma: Floats, known: Flags) -> int:
    """Minutes (negative: early) by which all runs of late seem shifted; 0 while nothing speaks for another.

    Only how a run divides over the hours counts, so that a zone that brings more or less than it should does not
    look late.

    Args:
        use: metered less other use per interval; indoor: expected of the house; sigma: spread without runs.
        known: hourly intervals that may be reasoned from.
    """
    near = ledger.paper_total > 0.5
    near = near | np.append(near[1:], False) | np.insert(near[:-1], 0, False)
    rows = np.flatnonzero(near & known)
    if len(rows) < 40:
        return 0
    block = ((ledger.start[rows[-1]] - ledger.start[rows]) // BLOCK_HOURS).astype(np.int64)
    rows, block = rows[block < BLOCKS], block[block < BLOCKS]
    edges = np.flatnonzero(np.diff(block)) + 1
    pieces = np.split(np.arange(len(rows)), edges)
    prior_sd = np.concatenate([[INDOOR_SD], np.full(len(ledger.zones), FACTOR_SD)])
    loss: dict[int, Floats] = {}
    most = max(MOST_EACH, 1.5 * CLEAR / len(pieces))

    def badness(minutes: int) -> Floats:
        """Of each fortnight."""
        if minutes not in loss:
            late = minutes / 60
            paper = [d.between(ledger.start[rows] - late, ledger.end[rows] - late) for d in ledger.drawn]
            x = np.column_stack([indoor[rows], *paper]) / sigma[rows, None]
            y = use[rows] / sigma[rows]
            total = []
            for p in pieces:
                normal = x[p].T @ x[p] + np.diag(1 / prior_sd**2)
                value = np.linalg.solve(normal, x[p].T @ y[p] + 1 / prior_sd**2)
                left = np.minimum((y[p] - x[p] @ value) ** 2, BOUND).sum()
                total.append(left + (((value - 1) / prior_sd) ** 2).sum())
            loss[minutes] = np.array(total)
        return loss[minutes]

    def worse(minutes: int) -> float:
        """Than as written; no fortnight counts for more than a little."""
        return float(np.clip(badness(minutes) - badness(0), -most, most).sum())

    def order(minutes: int) -> tuple[float, float]:
        """Where all fortnights say as much as they may, by all that they say."""
        return worse(minutes), float(badness(minutes).sum())

    best = min([*range(-MOST_MIN, MOST_MIN + 1, COARSE_MIN), -SUMMER_MIN, SUMMER_MIN], key=order)
    best = min(range(best - COARSE_MIN + 1, best + COARSE_MIN), key=order)
    return best if worse(best) < -CLEAR else 0
