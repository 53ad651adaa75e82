"""What each zone really brings against paper: a ridge regression with a prior at 1, resistant to odd readings.

A zone whose runs cannot be told from the house or from another zone by these readings keeps its prior, and the
account says so rather than print a number.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from core.accounts.instants import Floats
from core.accounts.ledger import Ledger

CLIP = 1.5  # Huber's bend, in standard deviations
TOLD_APART = 0.6  # a factor whose spread shrank below this share of its prior's was told by the meter
FLOW_SD = 0.05  # run-to-run variation of a zone's flow; common practice, no source (metering practice: 5 to 10 %)


@dataclass(frozen=True, slots=True)
class Ridge:
    """Estimates with their covariance and the robust weights that led to them."""

    value: Floats
    covariance: Floats
    residual: Floats
    weight: Floats

    @property
    def sd(self) -> Floats:
        """Standard deviation of each estimate."""
        result: Floats = np.sqrt(np.diag(self.covariance).clip(0))
        return result


def ridge(x: Floats, y: Floats, sigma: Floats, prior: Floats, prior_sd: Floats, lowest: Floats) -> Ridge:
    """Estimates b of y = x b, each with a normal prior and a lowest value, by Huber's reweighting.

    Args:
        x: rows by columns. y: rows. sigma: standard deviation of each row.
        prior, prior_sd, lowest: per column.
    """
    penalty = np.diag(1 / prior_sd**2)
    columns, sure, drawn = np.ascontiguousarray(x.T), 1 / sigma**2, penalty @ prior
    value = prior.copy()
    weight = np.ones(len(y))
    free = np.ones(len(prior), dtype=bool)
    normal = penalty
    for _ in range(12):
        scaled = columns * (weight * sure)
        normal = scaled @ columns.T + penalty
        right = scaled @ y + drawn
        fresh = np.where(free, value, lowest)
        held = right - normal[:, ~free] @ fresh[~free]
        fresh[free] = np.linalg.solve(normal[np.ix_(free, free)], held[free])
        below = fresh < lowest
        fresh = np.where(below, lowest, fresh)
        step = np.abs(fresh - value).max() if len(value) else 0.0
        value = fresh
        free = ~below
        weight = CLIP / np.maximum(np.abs(y - value @ columns) / sigma, CLIP)
        if step < 1e-6 * (1 + np.abs(value).max(initial=0)):
            break
    covariance = np.asarray(np.linalg.inv(normal), dtype=np.float64)
    return Ridge(value, covariance, y - x @ value, weight)


def delivery_frame(ledger: Ledger, factor: Floats, sd: Floats, covariance: Floats) -> pd.DataFrame:
    """One row per zone: zone, group, factor, sd, told_apart, note.

    ``group`` names all zones that run so much together that only their sum is known (space between codes).
    """
    prior = ledger.spread
    scale = np.sqrt(np.outer(np.diag(covariance), np.diag(covariance)).clip(1e-18))
    together = covariance / scale < -0.9
    rows = []
    for k, code in enumerate(ledger.zones):
        group = sorted({code, *(ledger.zones[j] for j in np.flatnonzero(together[k]) if j != k)})
        used = (ledger.paper[ledger.usable, k] > 0).any()
        told = bool(used and sd[k] < TOLD_APART * prior[k])
        if not used:
            note = "No metered run yet, so the flow on paper stands."
        elif len(group) > 1:
            note = (
                f"Runs too much alongside {_and([z for z in group if z != code])} to be told apart by these readings."
            )
        elif not told:
            note = "Runs too steadily to be told from the house by these readings; the flow on paper stands."
        else:
            note = ""
        rows.append((code, " ".join(group), float(factor[k]), float(sd[k]), told and len(group) == 1, note))
    return pd.DataFrame(rows, columns=["zone", "group", "factor", "sd", "told_apart", "note"])


def _and(words: list[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
