"""From a need to minutes of running.

gross_mm(net_mm, *, efficiency=None, uniformity=None) -> mm to apply
minutes_for(volume_l, flow_lph) -> minutes      application_rate_mm_h(flow_lph, area_m2) -> mm/h
interval_days(total_available_mm, depletion_fraction, need_mm) -> days between waterings
cycles(minutes, rate_mm_h, intake_mm_h) -> Cycles(count, minutes, soak_minutes)
early_intake_mm_h(final_mm_h, minutes=60) -> mm/h a drier soil takes at first
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from core.errors import EntryError
from core.water.sun import Floats, floats

PONDING_MM = 5.0  # water that may stand before it runs off on flat ground [common practice, no source]


def gross_mm(net_mm: ArrayLike, *, efficiency: float | None = None, uniformity: float | None = None) -> Floats:
    """Depth to apply so that ``net_mm`` counts: divided by efficiency or by uniformity, once.

    Raises:
        EntryError: both are given, or a share is not above 0 and up to 1.
    """
    if efficiency is not None and uniformity is not None:
        raise EntryError("Efficiency and uniformity both cover uneven watering. Divide by one of them, not both.")
    share = efficiency if efficiency is not None else 1.0 if uniformity is None else uniformity
    if not 0 < share <= 1:
        raise EntryError(f"An efficiency or uniformity of {share:g} cannot be. Expected a share above 0 and up to 1.")
    return floats(net_mm) / share


def minutes_for(volume_l: float, flow_lph: float) -> float:
    """Minutes to give a volume at a flow.

    Raises:
        EntryError: the flow is not above zero.
    """
    if flow_lph <= 0:
        raise EntryError("A zone without flow can give no water. Expected a flow above 0.")
    return volume_l / flow_lph * 60


def application_rate_mm_h(flow_lph: ArrayLike, area_m2: ArrayLike) -> Floats:
    """Depth a flow gives an area in an hour; in inches 96.25 gpm/ft2, or 231.1 gph over row x spacing in inches."""
    return floats(flow_lph) / floats(area_m2)


def interval_days(total_available_mm: ArrayLike, depletion_fraction: ArrayLike, need_mm: ArrayLike) -> Floats:
    """Days the readily available water lasts: TAW x MAD / need; endless without need (extension scheduling rule)."""
    need = floats(need_mm)
    ready = floats(total_available_mm) * floats(depletion_fraction)
    endless = np.full(np.broadcast(ready, need).shape, np.inf)
    return floats(np.divide(ready, need, out=endless, where=need > 0))


# NRCS intake families: final intake in inches an hour, a and b of "depth taken, mm = a minutes^b + 7"
# [memory: USDA NRCS National Engineering Handbook 623 chapter 4].
_FAMILIES = np.array(
    [
        (0.05, 0.533, 0.618),
        (0.10, 0.620, 0.661),
        (0.15, 0.711, 0.683),
        (0.20, 0.776, 0.699),
        (0.30, 0.925, 0.720),
        (0.40, 1.064, 0.736),
        (0.50, 1.196, 0.748),
        (0.60, 1.321, 0.757),
        (0.80, 1.560, 0.773),
        (1.00, 1.786, 0.785),
        (1.50, 2.284, 0.799),
        (2.00, 2.753, 0.808),
    ]
)
_FAMILY_MM = 7.0


def early_intake_mm_h(final_mm_h: float, minutes: float = 60.0) -> float:
    """Mean intake of a soil over the first minutes of watering, mm/h, from the rate it comes down to in the end.

    A drier soil takes water several times faster at first than finally, so a run of drip within the hour seldom ponds
    where the final rate alone would say it does. Interpolated between the NRCS intake families; beyond them the
    nearest one holds, and the mean is never below the final rate. Drip also spreads sideways, which is left out.
    """
    family = final_mm_h / 25.4
    a, b = (float(np.interp(family, _FAMILIES[:, 0], _FAMILIES[:, column])) for column in (1, 2))
    taken = a * float(np.power(minutes, b)) + _FAMILY_MM
    return max(60 * taken / minutes, final_mm_h)


@dataclass(frozen=True, slots=True)
class Cycles:
    """A run cut in pieces with a soak between: ``count`` runs of ``minutes``, ``soak_minutes`` apart."""

    count: int
    minutes: float
    soak_minutes: float


def cycles(minutes: float, rate_mm_h: float, intake_mm_h: float, ponding_mm: float = PONDING_MM) -> Cycles:
    """Cycle and soak: as many pieces as it takes for none to run off.

    A piece may pond ``ponding_mm``: it lasts ponding / (rate - intake); the soak between lets it drain. When the soil
    takes water as fast as it comes, one piece does.
    """
    if rate_mm_h <= intake_mm_h or minutes <= 0:
        return Cycles(1, minutes, 0.0)
    longest = 60 * ponding_mm / (rate_mm_h - intake_mm_h)
    count = max(1, math.ceil(minutes / longest - 1e-9))
    return Cycles(count, minutes / count, 0.0 if count == 1 else 60 * ponding_mm / intake_mm_h)
