"""Pressure and flow when several zones are open at once on one supply.

    supply_pressure_kpa(static_kpa, capacity_lph, flow_lph) -> kPa
    open_together(groups, static_kpa, capacity_lph, regulator_kpa) -> Together(pressure_kpa, flows_lph)

A supply loses pressure as more is drawn, by the power 1.852 of the flow (Hazen-Williams), down to nothing at the flow
of an open faucet. A regulator holds the drip at its own pressure as long as the supply has more than that.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from scipy.optimize import brentq

from core.water.emitters import emitter_flow_lph
from core.water.pipes import HAZEN_WILLIAMS_EXPONENT


@dataclass(frozen=True, slots=True)
class OpenGroup:
    """Emitters open at a time: flow at the rated pressure, and their exponent; rated pressure None holds the flow."""

    rated_lph: float
    rated_kpa: float | None = None
    exponent: float = 0.0

    def flow_lph(self, pressure_kpa: float) -> float:
        """Flow at a pressure."""
        if self.rated_kpa is None:
            return self.rated_lph if pressure_kpa > 0 else 0.0
        return float(emitter_flow_lph(self.rated_lph, self.rated_kpa, self.exponent, pressure_kpa))


@dataclass(frozen=True, slots=True)
class Together:
    """Working pressure (None when it is not known and ratings stand) and the flow of each group."""

    pressure_kpa: float | None
    flows_lph: tuple[float, ...]


def supply_pressure_kpa(static_kpa: float, capacity_lph: float, flow_lph: float) -> float:
    """Pressure left in a supply while ``flow_lph`` is drawn; 0 at its capacity and beyond."""
    drawn = (max(flow_lph, 0.0) / capacity_lph) ** HAZEN_WILLIAMS_EXPONENT
    return float(static_kpa * max(0.0, 1 - drawn))


def open_together(
    groups: Sequence[OpenGroup],
    static_kpa: float | None = None,
    capacity_lph: float | None = None,
    regulator_kpa: float | None = None,
) -> Together:
    """Flow of every group when all are open: the pressure at which supply and emitters agree.

    Args:
        groups: all emitter groups of the zones that are open.
        static_kpa: pressure of the supply with nothing open.
        capacity_lph: flow of the open faucet.
        regulator_kpa: pressure after the regulator.

    Where static pressure or capacity is not known the regulator's pressure holds, or else the ratings.
    """
    if static_kpa is None or capacity_lph is None:
        held = regulator_kpa if static_kpa is None or regulator_kpa is None else min(static_kpa, regulator_kpa)
        held = static_kpa if held is None else held
        if held is None:
            return Together(None, tuple(g.rated_lph for g in groups))
        return Together(held, tuple(g.flow_lph(held) for g in groups))
    highest = static_kpa if regulator_kpa is None else min(static_kpa, regulator_kpa)

    def spare(pressure: float) -> float:
        return supply_pressure_kpa(static_kpa, capacity_lph, sum(g.flow_lph(pressure) for g in groups)) - pressure

    if spare(highest) >= 0:
        pressure = highest
    elif spare(1e-6) <= 0:  # compensating emitters that ask for more than the faucet has: they share what there is
        asked = sum(g.flow_lph(1e-6) for g in groups)
        return Together(0.0, tuple(g.flow_lph(1e-6) * capacity_lph / asked for g in groups))
    else:
        pressure = float(brentq(spare, 1e-6, highest, xtol=1e-6))
    return Together(pressure, tuple(g.flow_lph(pressure) for g in groups))
