"""The step that metered volumes were written in: a file may be to the gallon by the day and to ten by the quarter hour,
and a meter read by the hour may be changed for a finer one.
"""

from __future__ import annotations

import numpy as np

from core.accounts.hourly import FINE_HOURS
from core.accounts.instants import Floats

PACES_H = (*FINE_HOURS, 36.0)  # shorter than an hour, an hour, up to a day, and longer
ENOUGH = 20  # volumes beside nothing; that all are even by chance is one in a million, and so of each other step
ALIKE = 0.02  # of a step by which volumes turned into litres and rounded may miss it
LEAST_L = 1e-6


def volume_steps(hours: Floats, volume_l: Floats, meter_step_l: float) -> Floats:
    """Litres between the volumes that can have been written, for each of them: of those about the same time and of as
    many hours. A stretch has a step of its own where all its volumes are whole numbers of it; otherwise it is the
    smallest gap between any of that pace, or the meter's own step if that is finer.

    Args:
        hours, volume_l: in order of time.
    """
    result = np.full(len(volume_l), meter_step_l)
    pace = np.searchsorted(PACES_H, hours)
    for each in np.unique(pace):
        rows = np.flatnonzero(pace == each)
        finest = min(meter_step_l, _gap(volume_l[rows]))
        written = np.cumsum(volume_l[rows] > LEAST_L)
        part = np.minimum(written // ENOUGH, max(int(written[-1]) // ENOUGH - 1, 0))
        for some in np.split(rows, np.flatnonzero(np.diff(part)) + 1):
            step = min(meter_step_l, _gap(volume_l[some]))
            off = volume_l[some] / step
            whole = np.abs(off - np.round(off)) <= ALIKE
            result[some] = step if written[-1] >= ENOUGH and whole[np.isfinite(off)].all() else finest
    return result


def _gap(volume_l: Floats) -> float:
    gaps = np.diff(np.unique(np.append(volume_l[np.isfinite(volume_l)], 0.0)))
    return float(np.min(gaps, where=gaps > LEAST_L, initial=np.inf))
