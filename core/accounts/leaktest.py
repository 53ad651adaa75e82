"""Leaks by arithmetic: what a hole lets through, what a leak test can see, what a drip adds up to.

Holes, drips and meters differ; every figure here is an order of magnitude, and meters under-read slow flows.
"""

from __future__ import annotations

import math

import numpy as np
import pandas as pd

from core.accounts.instants import from_ms, to_ms
from core.accounts.steps import NEAR_TOP
from core.units import System, show, to_base

TESTED_DOWN_TO_LPH = to_base("0.25", "gpm", "flow")  # 5/8-inch displacement meters (COMAR 20.70.06.03, after AWWA)
WATER_KG_M3 = 998.2  # at 20 C [memory: handbook value]
SHARP_EDGE = 0.62  # discharge coefficient of a sharp-edged hole [memory: fluid mechanics texts]; 0.61 is printed too
PRINTED_EDGES = (0.531, 0.80)  # least and greatest coefficient that printed leak tables imply at 60 psi and as stated
DRIP_ML = 0.25  # USGS drop size; tables elsewhere imply 0.16 to 0.36 mL, so a count is good to a factor of 2.3


def orifice_flow_lph(diameter_mm: float, pressure_kpa: float, coefficient: float = SHARP_EDGE) -> float:
    """Flow through a round hole, litres per hour: Q = Cd A sqrt(2 dp / rho).

    Real holes often grow with pressure (van Zyl & Clayton), so this is the least at high pressure.
    """
    area_m2 = math.pi / 4 * (diameter_mm / 1000) ** 2
    speed = math.sqrt(2 * max(pressure_kpa, 0.0) * 1000 / WATER_KG_M3)
    return coefficient * area_m2 * speed * 3600 * 1000


def hole_diameter_mm(flow_lph: float, pressure_kpa: float, coefficient: float = SHARP_EDGE) -> float:
    """Diameter of the round hole that lets ``flow_lph`` through; NaN without pressure."""
    through_1_mm = orifice_flow_lph(1.0, pressure_kpa, coefficient)
    return math.sqrt(flow_lph / through_1_mm) if through_1_mm > 0 and flow_lph >= 0 else float("nan")


def hole_range_mm(low_lph: float, high_lph: float, pressure_kpa: float) -> tuple[float, float, float]:
    """Least, likely and greatest diameter of the round hole behind a leak of ``low_lph`` to ``high_lph``.

    The likely one takes the middle of the flows and a sharp edge; the ends take the spread of coefficients that
    printed tables imply. NaN without pressure.
    """
    smooth, rough = PRINTED_EDGES[1], PRINTED_EDGES[0]
    return (
        hole_diameter_mm(low_lph, pressure_kpa, smooth),
        hole_diameter_mm((low_lph + high_lph) / 2, pressure_kpa),
        hole_diameter_mm(high_lph, pressure_kpa, rough),
    )


def wait_hours(resolution_l: float, rate_lph: float, steps: float = 1.0) -> float:
    """Hours after which a leak of ``rate_lph`` has moved a register of this step by so many steps for sure."""
    return steps * resolution_l / rate_lph if rate_lph > 0 else float("inf")


def smallest_rate_lph(resolution_l: float, hours: float) -> float:
    """Slowest leak that moves a register of this step once in a leak test of so many hours."""
    return resolution_l / hours if hours > 0 else float("inf")


def under_read_note(system: System) -> str:
    """That meters under-read very low flows, with how low and how much."""
    least = show(TESTED_DOWN_TO_LPH, "flow", system, 0)
    return (
        f"Meters under-read very low flows. Small ones are tested down to {least} (COMAR 20.70.06.03, after AWWA); at "
        "that flow meters 25 years old or more read 35 to 47 % too little on average (413 meters in service, AWWA "
        "Water Science 1(1)). Take a slow leak as at least so much."
    )


def drip_lph(drips_per_minute: float, drop_ml: float = DRIP_ML) -> float:
    """Litres per hour of a drip."""
    return drips_per_minute * 60 * drop_ml / 1000


def drop_ml(drips_per_minute: float, flow_lph: float) -> float:
    """Size of a drop that makes so many drips a minute add up to ``flow_lph``."""
    return flow_lph * 1000 / 60 / drips_per_minute


def meter_error_percent(indicated: float, standard: float) -> float:
    """Error of a meter against a measured volume, percent of what the METER shows (COMAR 20.70.06.04)."""
    return 100 * (indicated - standard) / indicated


def leak_test_rates(leak_tests: pd.DataFrame, meters: pd.DataFrame) -> pd.DataFrame:
    """What each leak test says.

    The difference of two floored readings is within one step of the truth on either side; a test that shows no
    difference leaves room for a leak of one step in its time.

    Args:
        leak_tests, meters: frames of the book.

    Returns:
        meter, at (UTC), shut, zone, hours, volume_l, rate_lph, low_lph, high_lph (bounds by the register's step),
        smallest_lph (the slowest leak this test was sure to show), note; by time. NaN with a note where the
        register went back.
    """
    known = leak_tests.merge(
        meters[["code", "unit", "resolution", "digits"]], left_on="meter", right_on="code", how="left"
    )
    factor = np.array([to_base(1, u, "volume") for u in known["unit"]], dtype=float)
    step = known["resolution"].to_numpy(dtype=float) * factor
    hours = known["duration_min"].to_numpy(dtype=float) / 60
    rise = (known["after"] - known["before"]).to_numpy(dtype=float)
    top = 10.0 ** known["digits"].to_numpy(dtype=float)
    rise = np.where((rise < 0) & (known["before"].to_numpy(dtype=float) >= NEAR_TOP * top), rise + top, rise)
    volume = np.where(rise >= 0, rise * factor, np.nan)
    table = pd.DataFrame(
        {
            "meter": known["meter"].to_numpy(dtype=object),
            "at": from_ms(to_ms(known["at"])),
            "shut": known["shut"].to_numpy(dtype=object),
            "zone": known["zone"].to_numpy(dtype=object),
            "hours": hours,
            "volume_l": volume,
            "rate_lph": volume / hours,
            "low_lph": np.maximum(volume - step, 0.0) / hours,
            "high_lph": (volume + step) / hours,
            "smallest_lph": step / hours,
            "note": np.where(rise >= 0, "", "the register went back during the test"),
        }
    )
    return table.sort_values("at", kind="stable", ignore_index=True)
