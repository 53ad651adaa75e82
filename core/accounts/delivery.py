"""What each zone really brings against paper: a ridge regression with a prior at 1, resistant to odd readings.

A zone whose runs cannot be told from the house or from another zone by these readings keeps its prior, and the
account says so rather than print a number.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from core.accounts.instants import Flags, Floats
from core.accounts.ledger import Ledger
from core.figures import NINETY

CLIP = 1.5  # Huber's bend, in standard deviations
TOLD_APART = 0.6  # a factor whose spread shrank below this share of its prior's was told by the meter
FLOW_SD = 0.05  # run-to-run variation of a zone's flow; common practice, no source (metering practice: 5 to 10 %)


@dataclass(frozen=True, slots=True)
class Ridge:
    """Estimates with their covariance, and what they leave of each row."""

    value: Floats
    covariance: Floats
    residual: Floats

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
    value = np.maximum(prior, lowest)
    weight = np.ones(len(y))
    free = np.ones(len(prior), dtype=bool)
    normal = penalty
    for _ in range(40):  # four to six as a rule; more where few readings are taken whole
        scaled = columns * (weight * sure)
        normal = scaled @ columns.T + penalty
        fresh, free = _bounded(normal, scaled @ y + drawn, lowest, value, free)
        step = np.abs(fresh - value).max() if len(value) else 0.0
        value = fresh
        weight = CLIP / np.maximum(np.abs(y - value @ columns) / sigma, CLIP)
        if step < 1e-5 * (1 + np.abs(value).max(initial=0)):
            break
    covariance = np.asarray(np.linalg.inv(normal), dtype=np.float64)
    return Ridge(value, covariance, y - x @ value)


def _bounded(normal: Floats, right: Floats, lowest: Floats, value: Floats, free: Flags) -> tuple[Floats, Flags]:
    """Estimates that solve ``normal`` b = ``right`` as nearly as ``lowest`` lets them, and which are free of it.

    Active sets after Lawson and Hanson (Solving Least Squares Problems, 1974; from memory): what would fall below its
    lowest value is held there, and let go only when it would rise.

    Args:
        value, free: of a solution nearby, nowhere below ``lowest``.
    """
    free = free.copy()
    for _ in range(3 * len(value) + 1):
        goal = value.copy()
        goal[free] = np.linalg.solve(
            normal[np.ix_(free, free)], right[free] - normal[np.ix_(free, ~free)] @ value[~free]
        )
        below = np.flatnonzero(free & (goal < lowest))
        if len(below):  # go as far as the first of them allows
            room = (value[below] - lowest[below]) / (value[below] - goal[below])
            first = int(below[room.argmin()])
            value = np.maximum(value + room.min() * (goal - value), lowest)
            value[first], free[first] = lowest[first], False
            continue
        value = goal
        pull = np.where(free, 0.0, right - normal @ value)
        if not (pull > 1e-9 * (1 + np.abs(right))).any():
            break
        free[int(pull.argmax())] = True
    return value, free


def delivery_frame(
    ledger: Ledger, factor: Floats, sd: Floats, covariance: Floats, names: Mapping[str, str]
) -> pd.DataFrame:
    """One row per zone: zone, group, factor, sd, told_apart, note, ninety.

    Nine times in ten the factor is no further off than ``ninety``.
    ``group`` holds all zones that run so much together that only their sum is known (space between codes); the note
    calls them by their ``names``, by code.
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
            others = _and([names.get(z, z) for z in group if z != code])
            note = f"Runs together with {others}, so the meter tells only what they take in all."
        elif not told:
            note = "The meter cannot tell this from what the house takes yet, so the flow on paper counts."
        else:
            note = ""
        rows.append((code, " ".join(group), float(factor[k]), float(sd[k]), told and len(group) == 1, note))
    table = pd.DataFrame(rows, columns=["zone", "group", "factor", "sd", "told_apart", "note"])
    return table.assign(ninety=NINETY * table["sd"])


def _and(words: list[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
