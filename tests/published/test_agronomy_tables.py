"""Rows of FAO-56 tables (Annex 2; Tables 11, 12, 20, 22; Example 36) typed in from the paper, beside core.water."""

from __future__ import annotations

import numpy as np
import pytest

from core.water import pipes, soil, vapour
from core.water.tables import SOILS, plant_type

# FAO-56 Annex 2, Table 2.1: elevation m, pressure kPa
PRESSURE = {0: 101.3, 100: 100.1, 500: 95.5, 1200: 87.9, 1800: 81.8, 2500: 75.0, 3000: 70.5, 4000: 62.1}
# Table 2.2: elevation m, psychrometric constant kPa/C
PSYCHROMETRIC = {0: 0.067, 500: 0.064, 1000: 0.060, 2000: 0.053, 3000: 0.047, 4000: 0.041}
# Table 2.3: temperature C, saturation vapour pressure kPa
SATURATION = {1.0: 0.657, 5.0: 0.872, 10.0: 1.228, 20.0: 2.338, 24.5: 3.075, 30.0: 4.243, 40.0: 7.376, 48.5: 11.447}
# Table 2.4: temperature C, slope kPa/C
SLOPE = {1.0: 0.047, 10.0: 0.082, 20.0: 0.145, 30.0: 0.243, 40.0: 0.393, 48.5: 0.574}
# Table 2.9: height m, factor to 2 m
WIND = {1.0: 1.178, 2.0: 1.000, 2.6: 0.947, 3.0: 0.921, 5.0: 0.838, 7.5: 0.783, 10.0: 0.748, 10.5: 0.742}


@pytest.mark.parametrize(("metres", "kpa"), PRESSURE.items())
def test_pressure_table(metres: float, kpa: float) -> None:
    assert vapour.air_pressure(metres) == pytest.approx(kpa, abs=0.051)


@pytest.mark.parametrize(("metres", "constant"), PSYCHROMETRIC.items())
def test_psychrometric_table(metres: float, constant: float) -> None:
    found = vapour.psychrometric_constant(vapour.air_pressure(metres))
    assert found == pytest.approx(constant, abs=0.00051)


@pytest.mark.parametrize(("celsius", "kpa"), SATURATION.items())
def test_saturation_table(celsius: float, kpa: float) -> None:
    assert vapour.saturation_vapour(celsius) == pytest.approx(kpa, abs=0.00051)


@pytest.mark.parametrize(("celsius", "slope"), SLOPE.items())
def test_slope_table(celsius: float, slope: float) -> None:
    assert vapour.vapour_slope(celsius) == pytest.approx(slope, abs=0.00051)


@pytest.mark.parametrize(("metres", "factor"), WIND.items())
def test_wind_table(metres: float, factor: float) -> None:
    assert vapour.wind_at_2m(1.0, metres) == pytest.approx(factor, abs=0.00051)


# FAO-56 Example 36, the whole table: crop, Zr m, p; soil mm/m; TAW, RAW mm
EXAMPLE_36 = [
    (0.4, 0.30, 90, 36, 11),
    (0.4, 0.30, 170, 68, 20),
    (0.4, 0.30, 120, 48, 14),
    (0.8, 0.40, 90, 72, 29),
    (0.8, 0.40, 170, 136, 54),
    (0.8, 0.40, 120, 96, 38),
    (1.2, 0.55, 90, 108, 59),
    (1.2, 0.55, 170, 204, 112),
    (1.2, 0.55, 120, 144, 79),
]


@pytest.mark.parametrize(("depth", "p", "holds", "total", "ready"), EXAMPLE_36)
def test_example_36(depth: float, p: float, holds: float, total: float, ready: float) -> None:
    found = soil.total_available(holds, depth)
    assert found == pytest.approx(total, abs=0.5)
    still = soil.root_zone_balance([0.0], [0.0], [0.0], found, p, adjust_fraction=False)
    assert still.readily_available_mm[0] == pytest.approx(ready, abs=0.51)


# FAO-56 Table 12 Kc ini, mid, end; Table 22 Zr from, to and p; Table 11 stage lengths (one of the printed rows)
CROPS = {
    "lettuce": ((0.7, 1.00, 0.95), (0.3, 0.5), 0.30, (20, 30, 15, 10)),
    "carrot": ((0.7, 1.05, 0.95), (0.5, 1.0), 0.35, (30, 40, 60, 20)),
    "onion": ((0.7, 1.05, 0.75), (0.3, 0.6), 0.30, (15, 25, 70, 40)),
    "tomato": ((0.6, 1.15, 0.80), (0.7, 1.5), 0.40, (35, 40, 50, 30)),
    "pepper": ((0.6, 1.05, 0.90), (0.5, 1.0), 0.30, (30, 35, 40, 20)),
    "eggplant": ((0.6, 1.05, 0.90), (0.7, 1.2), 0.45, (30, 45, 40, 25)),
    "cucumber": ((0.6, 1.00, 0.75), (0.7, 1.2), 0.50, (20, 30, 40, 15)),
    "zucchini": ((0.5, 0.95, 0.75), (0.6, 1.0), 0.50, (20, 30, 25, 15)),
    "beans": ((0.5, 1.05, 0.90), (0.5, 0.7), 0.45, (20, 30, 30, 10)),
    "potato": ((0.5, 1.15, 0.75), (0.4, 0.6), 0.35, (25, 30, 45, 30)),
    "sweet-corn": ((0.3, 1.15, 1.05), (0.8, 1.2), 0.50, (20, 25, 25, 10)),
    "strawberry": ((0.40, 0.85, 0.75), (0.2, 0.3), 0.20, None),
    "bush-berries": ((0.30, 1.05, 0.50), (0.6, 1.2), 0.50, None),
    "grape": ((0.30, 0.85, 0.45), (1.0, 2.0), 0.35, None),
    "apple-pear": ((0.45, 0.95, 0.70), (1.0, 2.0), 0.50, None),
    "stone-fruit": ((0.45, 0.90, 0.65), (1.0, 2.0), 0.50, None),
    "turf-cool": ((0.90, 0.95, 0.95), (0.5, 1.0), 0.40, None),
    "turf-warm": ((0.80, 0.85, 0.85), (0.5, 1.0), 0.50, None),
}


@pytest.mark.parametrize("code", CROPS)
def test_crop_rows(code: str) -> None:
    coefficients, depth, p, days = CROPS[code]
    kind = plant_type(code)
    assert kind.stages is not None
    assert (kind.stages.ini, kind.stages.mid, kind.stages.end) == coefficients
    assert kind.stages.days == days
    assert (kind.root_low_m, kind.root_high_m, kind.depletion) == (*depth, p)
    assert kind.root_m == depth[0]  # Table 22: the smaller depth for scheduling


# FAO-56 Table 19: least and greatest field capacity less wilting point, mm per m
SOIL_RANGES = {
    "sand": (50, 110),
    "loamy-sand": (60, 120),
    "sandy-loam": (110, 150),
    "loam": (130, 180),
    "silt-loam": (130, 190),
    "silt": (160, 200),
    "silty-clay-loam": (130, 180),
    "silty-clay": (130, 190),
    "clay": (120, 200),
}


@pytest.mark.parametrize(("code", "span"), SOIL_RANGES.items())
def test_soil_rows(code: str, span: tuple[float, float]) -> None:
    found = SOILS[code]
    assert (found.available_low, found.available_high) == span
    assert found.available_mm_m == pytest.approx(sum(span) / 2)


def test_sprinklers_wet_all_and_drip_not() -> None:
    """FAO-56 Table 20: sprinkler and basin 1.0. Utah State Univ. Extension: at least 50, better 60 % of the roots."""
    assert soil.WETTED_FRACTION["sprayer"] == soil.WETTED_FRACTION["bubbler"] == 1.0
    assert soil.WETTED_FRACTION["button"] == 0.5
    assert soil.WETTED_FRACTION["inline"] == 0.6


@pytest.mark.parametrize(
    ("bore_in", "gph", "feet", "psi"), [(0.600, 200, 200, 10.7), (0.170, 30, 30, 23.2), (0.170, 8, 30, 2.30)]
)
def test_darcy_rows(bore_in: float, gph: float, feet: float, psi: float) -> None:
    """Losses worked out apart from this code with f = 0.32 Re^-0.25 at 20 C (facts pack, section 5.2)."""
    loss = pipes.darcy_kpa(gph * 3.785411784, bore_in * 25.4, feet * 0.3048)
    assert float(loss) / 6.894757 == pytest.approx(psi, rel=0.01)


def test_outlet_factor_is_the_sum_it_stands_for() -> None:
    """F is short for sum k^m / N^(m+1) over k = 1..N (Christiansen 1942); the short form is good to 0.001."""
    for exponent in (1.75, 1.852):
        for outlets in (2, 5, 10, 20, 100):
            exact = sum(k**exponent for k in range(1, outlets + 1)) / outlets ** (exponent + 1)
            assert float(pipes.outlet_factor(outlets, exponent)) == pytest.approx(exact, abs=0.0012)
    assert np.allclose(pipes.outlet_factor([1, 2, 5, 10, 20], 1.75), [1, 0.650, 0.469, 0.415, 0.389], atol=0.0006)
