"""Pressure lost in pipes and gained by height.

    hazen_williams_kpa(flow_lph, inside_mm, length_m, roughness=150)      darcy_kpa(flow_lph, inside_mm, length_m)
    outlet_factor(outlets, exponent=1.852)      line_loss_kpa(flow_lph, inside_mm, length_m, outlets=1)
    height_kpa(rise_m)      velocity_mps(flow_lph, inside_mm)

Below one inch the Darcy form is the better one: Hazen-Williams with C 150 reads 12 to 26 % low there.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from core.errors import EntryError
from core.water.sun import Floats, floats

GRAVITY = 9.80665  # m/s2; kPa per metre of water
VISCOSITY = 1.0e-6  # m2/s, water at 20 C
LAMINAR_REYNOLDS = 2000.0
HAZEN_WILLIAMS_EXPONENT = 1.852
BLASIUS_EXPONENT = 1.75


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
