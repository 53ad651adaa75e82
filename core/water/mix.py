"""Unlike plants under one valve: who drives the run time, who gets too much, what regrouping would save.

zone_mix(plantings, need_l, share) -> ZoneMix
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from core.errors import EntryError


@dataclass(frozen=True)
class ZoneMix:
    """A zone run so that its thirstiest planting just gets its need.

    Attributes:
        plantings: frame of planting, need_l, given_l, surplus_l (given less need, never below zero), surplus_share
            (surplus over need; infinite without need).
        driver: the planting that sets the run time.
        given_l: all the zone must give; saving_l: how much less the same plants need on valves of their own.
    """

    plantings: pd.DataFrame
    driver: str
    given_l: float
    saving_l: float


def zone_mix(plantings: Sequence[str], need_l: Sequence[float], share: Sequence[float]) -> ZoneMix:
    """How well a zone's emitters suit its plants. Litres are of the same span, a day or a month.

    Args:
        plantings: codes.
        need_l: litres each needs.
        share: share of the zone's water each gets; scaled to sum to 1.

    Raises:
        EntryError: no planting, or one that needs water and gets none.
    """
    need, part = np.asarray(need_l, dtype=np.float64), np.asarray(share, dtype=np.float64)
    if need.size == 0 or part.sum() <= 0:
        raise EntryError("Nothing is planted in this zone, or nothing waters it.")
    part = part / part.sum()
    dry = (part <= 0) & (need > 0)
    if dry.any():
        raise EntryError(f"No emitter waters {plantings[int(np.argmax(dry))]}.")
    asked = np.divide(need, part, out=np.zeros_like(need), where=part > 0)
    total = float(asked.max())
    surplus = np.maximum(part * total - need, 0.0)
    frame = pd.DataFrame(
        {
            "planting": list(plantings),
            "need_l": need,
            "given_l": part * total,
            "surplus_l": surplus,
            "surplus_share": np.divide(surplus, need, out=np.full_like(need, np.inf), where=need > 1e-9),
        }
    )
    return ZoneMix(frame, str(plantings[int(np.argmax(asked))]), total, total - float(need.sum()))
