"""Irrigation efficiency: how much of what is applied reaches roots, for comparing with overhead sprinklers.

    OVERHEAD_EFFICIENCY, DRIP_EFFICIENCY: Efficiency(value, low, high, source)

Efficiency says what a system can do, not what was done: a drip zone on a bad schedule wastes too. Divide by
efficiency or by uniformity, never by both.
"""

from __future__ import annotations

from dataclasses import dataclass

from core.figures import Line


@dataclass(frozen=True, slots=True)
class Efficiency:
    """An efficiency with its published range, shares of 1."""

    value: float
    low: float
    high: float
    source: str

    def line(self, what: str) -> Line:
        """As a line of a figure's working."""
        return Line(what, self.value, "", f"{self.source}; range {self.low:g} to {self.high:g}")


OVERHEAD_EFFICIENCY = Efficiency(
    0.71,
    0.50,
    0.75,
    "spray and rotor 0.71 [published: EPA WaterSense Water Budget Tool v2.0]; spray 0.50 to 0.60 [published: Coachella "
    "Valley utility page]; floor of the California rules 0.75 [published: MWELO]",
)
DRIP_EFFICIENCY = Efficiency(
    0.90,
    0.70,
    0.90,
    "micro-irrigation 0.90 [published: EPA WaterSense Water Budget Tool v2.0]; floor of the California rules 0.81 "
    "[published: MWELO]; older default 0.70 [memory: WaterSense v1]",
)
