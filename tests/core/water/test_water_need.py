"""Tables, areas, factors and one planting turned into a store."""

from __future__ import annotations

from datetime import date
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.errors import EntryError
from core.water import need
from core.water.planting import planting_factors, planting_store
from core.water.tables import PLANT_TYPES, SOILS, plant_type, soil

BLANK: dict[str, Any] = {
    "plant_type": "shrub",
    "count": 1,
    "canopy_m": np.nan,
    "bed_m2": np.nan,
    "in_pots": False,
    "pot_l": np.nan,
    "pot_width_m": np.nan,
    "soil": "loam",
    "root_depth_m": np.nan,
    "factor": np.nan,
    "factor_reason": "",
    "species_factor": np.nan,
    "density_factor": np.nan,
    "microclimate_factor": np.nan,
    "planted_on": pd.NaT,
    "mulched": False,
    "under_roof": False,
}


def planting(**values: Any) -> pd.Series:
    return pd.Series(BLANK | values)


def test_tables_are_sound_and_every_number_says_where_it_comes_from() -> None:
    marks = ("[published", "[memory", "[common practice", "UC SLIDE")
    assert len(PLANT_TYPES) > 40
    for kind in PLANT_TYPES.values():
        assert kind.factor_low <= kind.factor <= kind.factor_high <= 1.3
        assert kind.root_low_m <= kind.root_m <= kind.root_high_m
        assert 0.1 <= kind.depletion <= 0.8
        for source in (kind.factor_source, kind.root_source, kind.depletion_source):
            assert any(mark in source for mark in marks)
    for ground in SOILS.values():
        assert ground.available_low <= ground.available_mm_m <= ground.available_high
        assert ground.intake_low <= ground.intake_mm_h <= ground.intake_high
        assert "[" in ground.available_source


def test_unknown_codes_name_near_ones() -> None:
    with pytest.raises(EntryError, match="tomato"):
        plant_type("tomatoe")
    with pytest.raises(EntryError, match="sandy-loam"):
        soil("Sandy loam")
    with pytest.raises(EntryError, match="Expected one of sand"):
        soil("qqqq")


@pytest.mark.parametrize(
    ("count", "canopy", "bed", "area"),
    [
        (10, 1.0, 9.7, 9.7),  # canopies 7.854 m2 are 81 % of the bed
        (10, 1.0, 9.9, 7.854),  # and 79 % of this one (UC 80 % rule)
        (10, 1.0, None, 7.854),
        (1, None, 12.0, 12.0),
        (4, 3.0, 10.0, 10.0),  # crowns wider than the bed
        (0, 1.0, None, 0.0),
    ],
)
def test_area_rule(count: float, canopy: float | None, bed: float | None, area: float) -> None:
    assert need.planting_water_area_m2(count, canopy, bed) == pytest.approx(area, abs=1e-3)


def test_pots_count_by_canopy_or_opening_not_by_bed() -> None:
    assert need.planting_water_area_m2(2, 0.5, 50.0, in_pots=True) == pytest.approx(2 * np.pi / 16)
    assert need.planting_water_area_m2(2, None, 50.0, in_pots=True, pot_width_m=0.4) == pytest.approx(2 * np.pi * 0.04)


def test_a_planting_without_size_or_below_zero_is_refused() -> None:
    with pytest.raises(EntryError, match="no size"):
        need.planting_water_area_m2(3, None, None)
    with pytest.raises(EntryError, match="below zero"):
        need.planting_water_area_m2(3, -1.0, None)


@given(st.floats(0, 12), st.floats(0, 1.3), st.floats(0.01, 500))
def test_doubling_the_area_doubles_the_litres(reference: float, factor: float, bed: float) -> None:
    once = need.daily_need_mm(reference, factor) * need.planting_water_area_m2(1, None, bed)
    twice = need.daily_need_mm(reference, factor) * need.planting_water_area_m2(1, None, 2 * bed)
    assert twice == pytest.approx(2 * once)


def test_landscape_factors_outside_the_guide_are_refused() -> None:
    assert need.landscape_coefficient(0.5, 1.0, 1.4) == pytest.approx(0.7)
    with pytest.raises(EntryError, match="microclimate"):
        need.landscape_coefficient(0.5, 1.0, 2.0)


def test_shrub_store_by_hand() -> None:
    """6 shrubs 1.2 m wide in loam: 6 x 1.131 m2; roots 0.6 m x 155 mm/m; half may go."""
    found = planting_store(planting(count=6, canopy_m=1.2))
    assert found.water_area_m2 == pytest.approx(6.786, abs=1e-3)
    assert found.total_available_mm == pytest.approx(93.0)
    assert (found.depletion_fraction, found.factor, found.rain_share) == (0.5, 0.5, 1.0)
    assert found.method == "plant factor"
    assert any("S623" in line.source for line in found.sources)
    assert any("eq. 82" in line.source for line in found.sources)


def test_small_pot_by_hand() -> None:
    """2 L of mix hold 0.6 L; over a canopy of 0.3 m (0.0707 m2) that is 8.49 mm. Rain falls on the opening alone."""
    pot = planting(plant_type="annual-flowers", in_pots=True, count=3, pot_l=2.0, pot_width_m=0.15, canopy_m=0.3)
    pot["soil"] = "potting-mix"
    found = planting_store(pot)
    assert found.total_available_mm == pytest.approx(0.6 / (np.pi / 4 * 0.09))
    assert found.rain_share == pytest.approx(0.25)
    richer = planting_store(pot, available_share=0.35)
    assert richer.total_available_mm == pytest.approx(found.total_available_mm * 0.35 / 0.30)


def test_pot_without_a_volume_is_guessed_and_says_so() -> None:
    found = planting_store(planting(in_pots=True, pot_width_m=0.3, soil="potting-mix"))
    assert any("[common practice" in line.source and line.what == "soil in one pot" for line in found.sources)
    by_volume = planting_store(planting(in_pots=True, pot_l=15.9043, soil="potting-mix"))
    assert by_volume.water_area_m2 == pytest.approx(found.water_area_m2, rel=1e-4)


def test_nothing_planted_has_no_area() -> None:
    found = planting_store(planting(count=0, canopy_m=1.0))
    assert found.water_area_m2 == 0
    empty = planting_store(planting(count=0, in_pots=True, pot_l=5.0, canopy_m=0.3, soil="potting-mix"))
    assert empty.water_area_m2 == 0
    assert empty.total_available_mm > 0


def test_roof_keeps_rain_off() -> None:
    assert planting_store(planting(canopy_m=1.0, under_roof=True)).rain_share == 0.0


def test_sand_and_clay_shift_the_share_that_can_go() -> None:
    """FAO-56 p. 167: 5 to 10 % more in sand, less in clay."""
    assert planting_store(planting(canopy_m=1.0, soil="sand")).depletion_fraction == pytest.approx(0.525)
    assert planting_store(planting(canopy_m=1.0, soil="clay")).depletion_fraction == pytest.approx(0.475)


def test_methods_stand_alone() -> None:
    own = planting_store(planting(canopy_m=1.0, factor=0.4, factor_reason="looks fine on less"))
    assert (own.factor, own.method) == (0.4, "your own plant factor")
    assert any("looks fine on less" in line.source for line in own.sources)
    product = planting_store(planting(canopy_m=1.0, species_factor=0.5, density_factor=1.1, microclimate_factor=1.2))
    assert product.factor == pytest.approx(0.66)
    assert product.method == "landscape coefficient"
    days = pd.date_range("2026-05-01", periods=3)
    assert np.allclose(planting_factors(planting(species_factor=0.5), days), 0.5)
    assert np.allclose(planting_factors(planting(factor=0.4), days, {5: 0.3}), 0.3)


def test_tomato_follows_its_stages() -> None:
    """FAO-56 Tables 11, 12: 35/40/50/30 days, 0.6, 1.15, 0.80. Day 35 ends the first stage, 75 is full, 125 turns."""
    days = pd.DatetimeIndex(pd.Timestamp("2026-05-01") + pd.to_timedelta([0, 34, 54, 74, 124, 139, 154, 200], "D"))
    tomato = planting(plant_type="tomato", planted_on=pd.Timestamp("2026-05-01"), bed_m2=4.0)
    assert np.allclose(planting_factors(tomato, days), [0.6, 0.6, 0.875, 1.15, 1.15, 0.975, 0.80, 0.80])
    assert np.allclose(planting_factors(planting(plant_type="tomato"), days), 0.8)
    by_hand = planting_factors(tomato, days, {7: 1.0})
    assert by_hand[3] == 1.0
    assert by_hand[0] == 0.6


def test_new_shrub_is_weaned_over_a_year() -> None:
    """Common practice, no source: 0.8 for 90 days, easing to its own 0.5 at a year."""
    days = pd.DatetimeIndex(pd.Timestamp("2026-04-01") + pd.to_timedelta([0, 90, 365, 800], "D"))
    factors = need.factor_through(plant_type("shrub"), days, date(2026, 4, 1))
    assert np.allclose(factors, [0.8, 0.8, 0.5, 0.5])
    thirsty = need.factor_through(plant_type("bush-berries"), days, date(2026, 4, 1))
    assert np.allclose(thirsty, 1.05)


def test_stage_factor_without_lengths_is_refused() -> None:
    stages = plant_type("grape").stages
    assert stages is not None
    with pytest.raises(EntryError, match="stages"):
        need.stage_factor(stages, 10)


def test_unknown_type_or_soil_in_a_planting_is_refused() -> None:
    with pytest.raises(EntryError, match="plant type"):
        planting_store(planting(plant_type="unobtainium", canopy_m=1.0))
    with pytest.raises(EntryError, match="soil"):
        planting_store(planting(soil="moon-dust", canopy_m=1.0))
