"""A planting walked through its days from its record."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest

from core.water.planting_days import planting_days
from core.water.reference_et import daily_reference_et
from core.water.soil import days_until_start_forgotten

DAYS = pd.date_range("2026-07-01", periods=10)
SHRUBS: dict[str, Any] = {
    "plant_type": "shrub",
    "count": 4,
    "canopy_m": None,
    "bed_m2": 5.0,
    "in_pots": False,
    "pot_l": None,
    "pot_width_m": None,
    "soil": "loam",
    "root_depth_m": None,
    "factor": None,
    "factor_reason": "",
    "species_factor": None,
    "density_factor": None,
    "microclimate_factor": None,
    "planted_on": None,
    "mulched": False,
    "under_roof": False,
}


def test_shrubs_by_hand() -> None:
    """5 m2 x 0.5 x 6 mm = 15 L a day; 30 L on day 5 are 6 mm; 10 mm of rain on day 8."""
    rain, given = np.zeros(10), np.zeros(10)
    rain[7], rain[2], given[4] = 10.0, 1.0, 30.0
    found = planting_days(SHRUBS, DAYS, np.full(10, 6.0), rain, given, start_depletion_mm=10.0)
    assert np.allclose(found["need_l"], 15.0)
    assert found["light_rain_mm"].iloc[2] == 1.0  # below a fifth of 6 mm
    assert found["depletion_mm"].iloc[-1] == pytest.approx(10 + 10 * 3 - 6 - 10)
    assert found["effective_rain_l"].sum() == pytest.approx(50.0)
    assert found["applied_mm"].sum() == pytest.approx(6.0)
    assert not found["stressed"].any()


def test_roof_keeps_the_rain_off_and_they_dry_out() -> None:
    rain = np.full(10, 20.0)
    open_air = planting_days(SHRUBS, DAYS, np.full(10, 6.0), rain, np.zeros(10))
    roofed = planting_days(SHRUBS | {"under_roof": True}, DAYS, np.full(10, 6.0), rain, np.zeros(10))
    assert open_air["depletion_mm"].max() == pytest.approx(3.0)
    assert roofed["rain_mm"].sum() == 0
    assert roofed["depletion_mm"].iloc[-1] == pytest.approx(30.0)


def test_nothing_planted_needs_nothing() -> None:
    row = SHRUBS | {"count": 0, "canopy_m": 1.0, "bed_m2": None}
    found = planting_days(row, DAYS, np.full(10, 6.0), np.full(10, 5.0), np.full(10, 8.0))
    assert found["need_l"].sum() == 0
    assert found["percolated_l"].sum() == 0


def test_no_weather_at_all_is_unknown_not_dry_and_not_fine() -> None:
    reference = daily_reference_et(pd.DataFrame(), DAYS, 43.6, 820.0)["reference_et_mm"]
    found = planting_days(SHRUBS, DAYS, reference, np.zeros(10), np.zeros(10))
    assert found["need_mm"].isna().all()
    assert found["depletion_mm"].isna().all()


def test_influence_of_the_start() -> None:
    need, none = np.full(30, 3.0), np.zeros(30)
    soak = none.copy()
    soak[12] = 200.0
    assert days_until_start_forgotten(need, soak, none, 90.0, 0.5) == 12
    assert days_until_start_forgotten(np.zeros(30), none, none, 90.0, 0.5) is None
    assert days_until_start_forgotten(need, none, none, 0.5, 0.5) == 0
