"""Rules of utilities and of statistics that other tests compare with. Rillbook's own findings do not use them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd


def continuous_flow_alert(intervals: pd.DataFrame, least_lph: float, hours: float) -> pd.Timestamp | None:
    """End of the first interval at which every interval for ``hours`` on end ran at ``least_lph`` or more."""
    length = (intervals["end"] - intervals["start"]).dt.total_seconds().to_numpy() / 3600
    flowing = (intervals["volume_l"].to_numpy() / length >= least_lph) & ~intervals["estimated"].to_numpy()
    lasted = 0.0
    for row, (on, span) in enumerate(zip(flowing, length, strict=True)):
        lasted = lasted + span if on else 0.0
        if lasted >= hours:
            return intervals["end"].iloc[row]
    return None


def cusum_upper(values: Sequence[float], target: float, slack: float) -> list[float]:
    """C+ = max(0, x - (T + K) + C+) (Montgomery & Runger, CUSUM control chart)."""
    sums, last = [], 0.0
    for value in values:
        last = max(0.0, value - (target + slack) + last)
        sums.append(last)
    return sums


def cusum_run_length(slack: float, limit: float, shift: float = 0.0, states: int = 400) -> float:
    """Mean run length of a one-sided CUSUM of unit normal values, by a Markov chain over ``states`` cells."""
    from scipy.stats import norm

    width = 2 * limit / (2 * states - 1)
    middle = np.arange(states) * width
    step = norm.cdf(middle[None, :] - middle[:, None] + width / 2 - shift + slack) - norm.cdf(
        middle[None, :] - middle[:, None] - width / 2 - shift + slack
    )
    step[:, 0] = norm.cdf(width / 2 - middle - shift + slack)
    return float(np.linalg.solve(np.eye(states) - step, np.ones(states))[0])
