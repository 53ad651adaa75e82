"""Pressure lost in pipes and gained by height, and the trade's rules of thumb for a small drip system.

    hazen_williams_kpa(flow_lph, inside_mm, length_m, roughness=150)      darcy_kpa(flow_lph, inside_mm, length_m)
    outlet_factor(outlets, exponent=1.852)      line_loss_kpa(flow_lph, inside_mm, length_m, outlets=1)
    height_kpa(rise_m)      velocity_mps(flow_lph, inside_mm)      check_line(...), check_pressure(...) -> sentences

Below one inch the Darcy form is the better one: Hazen-Williams with C 150 reads 12 to 26 % low there.
"""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from core.errors import EntryError
from core.water.sun import Floats, floats

GRAVITY = 9.80665  # m/s2; kPa per metre of water
VISCOSITY = 1.0e-6  # m2/s, water at 20 C
LAMINAR_REYNOLDS = 2000.0
HAZEN_WILLIAMS_EXPONENT = 1.852
BLASIUS_EXPONENT = 1.75
VELOCITY_LIMIT_MPS = 1.524  # 5 ft/s [common practice, no source]


def velocity_mps(flow_lph: ArrayLike, inside_mm: ArrayLike) -> Floats:
    """Mean speed of the water, m/s."""
    return floats(flow_lph) / 3.6e6 / (np.pi / 4 * (floats(inside_mm) / 1000) ** 2)


def hazen_williams_kpa(
    flow_lph: ArrayLike, inside_mm: ArrayLike, length_m: ArrayLike, roughness: float = 150.0
) -> Floats:
    """Loss when the whole flow goes to the end of the line (Hazen-Williams, SI form), kPa.

    ``roughness`` C is 150 for new polyethylene [published: hydraulic glossary], 140 cautious [memory].
    """
    flow, bore = floats(flow_lph) / 3.6e6, floats(inside_mm) / 1000
    head = 10.67 * floats(length_m) * (flow / roughness) ** HAZEN_WILLIAMS_EXPONENT / bore**4.8704
    return GRAVITY * head


def darcy_kpa(flow_lph: ArrayLike, inside_mm: ArrayLike, length_m: ArrayLike) -> Floats:
    """Loss in smooth plastic tubing when the whole flow goes to the end (Darcy-Weisbach), kPa.

    Friction 64/Re below Re 2000, else Blasius 0.32 Re^-0.25 (good to Re 100,000).
    """
    bore, speed = floats(inside_mm) / 1000, velocity_mps(flow_lph, inside_mm)
    reynolds = np.maximum(speed * bore / VISCOSITY, 1e-9)
    friction = np.where(reynolds < LAMINAR_REYNOLDS, 64 / reynolds, 0.32 * reynolds**-0.25)
    return floats(friction * floats(length_m) / bore * speed**2 / 2)


def outlet_factor(outlets: ArrayLike, exponent: float = HAZEN_WILLIAMS_EXPONENT) -> Floats:
    """Christiansen's factor: loss in a line that gives its flow off through N equal outlets, over that of full flow.

    F = 1/(m+1) + 1/(2N) + sqrt(m-1)/(6 N^2); m 1.852 for Hazen-Williams, 1.75 for Blasius.

    Raises:
        EntryError: fewer than one outlet.
    """
    n = floats(outlets)
    if (n < 1).any():
        raise EntryError("A line needs at least one outlet.")
    many = 1 / (exponent + 1) + 1 / (2 * n) + np.sqrt(exponent - 1) / (6 * n**2)
    return np.where(n > 1, many, 1.0)


def line_loss_kpa(flow_lph: float, inside_mm: float, length_m: float, outlets: int = 1) -> float:
    """Loss along a line with equal outlets: Darcy x Christiansen's factor at the Blasius exponent, kPa."""
    return float(darcy_kpa(flow_lph, inside_mm, length_m) * outlet_factor(outlets, BLASIUS_EXPONENT))


def height_kpa(rise_m: ArrayLike) -> Floats:
    """Pressure change over a rise (negative going up): 9.81 kPa a metre, 0.433 psi a foot (Utah State Univ.)."""
    return -GRAVITY * floats(rise_m)


def check_line(size: Literal["half-inch", "quarter-inch"], flow_lph: float, length_m: float) -> list[str]:
    """What the trade's limits say about one line: 200 ft and 200 gph on half-inch tubing, 30 ft and 30 gph on
    quarter-inch [common practice, no source]. Empty when it keeps within them.
    """
    longest, most = {"half-inch": (60.96, 757.08), "quarter-inch": (9.144, 113.56)}[size]
    said = []
    if length_m > longest * 1.001:
        said.append(f"The line is {length_m:.0f} m long; up to {longest:.0f} m is usual (common practice).")
    if flow_lph > most * 1.001:
        said.append(f"It carries {flow_lph:.0f} L/h; up to {most:.0f} L/h is usual (common practice).")
    return said


def check_pressure(static_kpa: float | None, drip_kpa: float | None) -> list[str]:
    """What the trade's limits say about pressure: 10 to 30 psi in the drip [published: Utah State Univ.]; above 80 psi
    from the main emitters come off and a regulator is a must [published: Arizona extension leaflet].
    """
    said = []
    if drip_kpa is not None and not 69 <= drip_kpa <= 207:
        said.append(f"The drip runs at {drip_kpa:.0f} kPa; 69 to 207 kPa (10 to 30 psi) is usual.")
    if static_kpa is not None and static_kpa > 552:
        said.append(f"The supply stands at {static_kpa:.0f} kPa; above 552 kPa (80 psi) a regulator is needed.")
    if static_kpa is not None and drip_kpa is None and static_kpa > 207:
        said.append("No pressure after a regulator is written down, and the supply is more than drip takes.")
    return said
