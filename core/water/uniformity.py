"""How evenly water comes out: catch tests, emission uniformity, and what it does to run times.

    low_quarter_uniformity(caught) -> share      field_class(share) -> word      parse_catch(text) -> volumes
    design_emission_uniformity(variation, emitters_per_plant, least_over_mean) -> share
    run_time_multiplier(share)

All are shares of 1. Uniformity or efficiency divides a run time once, never both.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from core.errors import EntryError
from core.units import parse_number

# Field emission uniformity [memory: Merriam & Keller].
FIELD_CLASSES = ((0.9, "excellent"), (0.8, "good"), (0.7, "fair"), (0.0, "poor"))
FEWEST_CUPS = 4


def parse_catch(text: str) -> list[float]:
    """Volumes of a catch test written in one cell: ``47 42 45 24``.

    Raises:
        EntryError: not numbers, fewer than four, or one below zero.
    """
    values = [float(parse_number(word)) for word in text.replace(";", " ").split()]
    if len(values) < FEWEST_CUPS or min(values) < 0:
        raise EntryError(f"“{text}” is not a catch test. Expected at least four volumes from 0 up, space between.")
    return values


def low_quarter_uniformity(caught: Sequence[float]) -> float:
    """DUlq: mean of the lowest quarter over the mean of all; for emitters this is field emission uniformity.

    The lowest quarter counts n/4 rounded, at least one (rule of the spreval package, NC State).

    Raises:
        EntryError: nothing was caught.
    """
    values = np.sort(np.asarray(caught, dtype=np.float64))
    if values.size == 0 or values.mean() <= 0:
        raise EntryError("Nothing was caught. Expected volumes of water from several emitters.")
    quarter = max(1, math.floor(values.size / 4 + 0.5))
    return float(values[:quarter].mean() / values.mean())


def field_class(uniformity: float) -> str:
    """Word for a field emission uniformity: excellent, good, fair, poor [memory: Merriam & Keller]."""
    return next(word for least, word in FIELD_CLASSES if uniformity >= least)


def design_emission_uniformity(variation: float, emitters_per_plant: float, least_over_mean: float) -> float:
    """EU of a design (Keller & Karmeli): (1 - 1.27 Cv / sqrt n) qmin / qavg.

    Args:
        variation: manufacturer's coefficient of variation Cv.
        emitters_per_plant: n.
        least_over_mean: lowest over mean flow by pressure.
    """
    return (1 - 1.27 * variation / math.sqrt(emitters_per_plant)) * least_over_mean


def run_time_multiplier(uniformity: float) -> float:
    """How much longer sprinklers run to reach their dry spots: 1 / (0.4 + 0.6 DUlq) [memory: Irrigation Association].

    Made for sprinklers; for drip divide by the field uniformity instead. EPA WaterSense v1 calls 1/DUlq by the same
    name.
    """
    return 1 / (0.4 + 0.6 * uniformity)
