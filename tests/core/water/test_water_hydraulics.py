"""Emitters, pipes, a shared supply, uniformity, run times."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.errors import EntryError
from core.water import emitters, pipes, runtime, supply, uniformity
from core.water.mix import zone_mix
from core.water.supply import OpenGroup, open_together

NAN = float("nan")


def test_group_flow_by_count_or_length_with_blanks_of_either_sort() -> None:
    assert emitters.group_flow_lph(24, 2.0, None, None) == 48.0
    assert emitters.group_flow_lph(24, 2.0, NAN, NAN, exponent=0.5) == 48.0
    assert emitters.group_flow_lph(0, NAN, 30.0, 4.0) == 120.0
    assert emitters.group_flow_lph(24, 2.0, None, None, exponent=0.5, rated_pressure_kpa=100) == 48.0
    with pytest.raises(EntryError, match="count"):
        emitters.group_flow_lph(10, None, 5.0, None)


def test_pressure_moves_turbulent_and_laminar_but_not_compensating_emitters() -> None:
    """q = k P^x: four times the pressure doubles a turbulent flow and quadruples a laminar one."""
    at = {"rated_pressure_kpa": 50.0, "pressure_kpa": 200.0}
    assert emitters.group_flow_lph(10, 2.0, None, None, exponent=0.5, **at) == pytest.approx(40.0)
    assert emitters.group_flow_lph(10, 2.0, None, None, exponent=1.0, **at) == pytest.approx(80.0)
    assert emitters.group_flow_lph(10, 2.0, None, None, exponent=0.0, **at) == pytest.approx(20.0)
    assert emitters.group_flow_lph(10, 2.0, None, None, rated_pressure_kpa=50.0, pressure_kpa=0.0) == 0.0


def test_quarter_inch_turns_from_laminar_to_turbulent() -> None:
    """1/4 in at 8 gph is Re 2,480, just turbulent (facts pack 5.2); at 4 gph it is laminar and loss is linear."""
    slow, half = pipes.darcy_kpa(15.0, 4.318, 10.0), pipes.darcy_kpa(7.5, 4.318, 10.0)
    assert slow / half == pytest.approx(2.0)
    assert pipes.velocity_mps(757.08, 15.24) == pytest.approx(3.8 * 0.3048, rel=0.01)  # 200 gph in .600 in, 3.8 ft/s


def test_hazen_williams_reads_low_in_small_tubing() -> None:
    """By 12 to 26 % below one inch (facts pack 5.2)."""
    for flow, bore, length in ((757.08, 15.24, 60.96), (113.56, 4.318, 9.144), (30.28, 4.318, 9.144)):
        ratio = float(pipes.hazen_williams_kpa(flow, bore, length) / pipes.darcy_kpa(flow, bore, length))
        assert 0.73 < ratio < 0.89


def test_outlets_cut_the_loss_and_none_is_refused() -> None:
    full = float(pipes.darcy_kpa(757.0, 15.24, 60.0))
    assert pipes.line_loss_kpa(757.0, 15.24, 60.0) == pytest.approx(full)
    assert pipes.line_loss_kpa(757.0, 15.24, 60.0, outlets=200) == pytest.approx(full * 0.366, rel=0.005)
    with pytest.raises(EntryError):
        pipes.outlet_factor(0)


def test_open_together_shares_the_supply() -> None:
    drip = OpenGroup(400.0, 140.0, 0.5)
    alone = open_together([drip], 350.0, 1500.0, 170.0)
    assert alone.pressure_kpa == 170.0  # the regulator holds
    both = open_together([drip, OpenGroup(900.0, 140.0, 0.5)], 350.0, 1500.0, 170.0)
    assert both.pressure_kpa is not None
    assert both.pressure_kpa < 170.0
    drawn = sum(both.flows_lph)
    assert supply.supply_pressure_kpa(350.0, 1500.0, drawn) == pytest.approx(both.pressure_kpa, abs=1e-3)
    assert both.flows_lph[0] < alone.flows_lph[0]


def test_open_together_with_little_known() -> None:
    group = OpenGroup(400.0, 140.0, 0.5)
    assert open_together([group]).flows_lph == (400.0,)
    assert open_together([group], regulator_kpa=140.0).flows_lph == (400.0,)
    assert open_together([group], static_kpa=100.0, regulator_kpa=140.0).pressure_kpa == 100.0
    assert open_together([group], static_kpa=560.0).flows_lph[0] == pytest.approx(800.0)
    greedy = open_together([OpenGroup(2000.0, 140.0), OpenGroup(1000.0)], 300.0, 1500.0)
    assert sum(greedy.flows_lph) == pytest.approx(1500.0)


def test_catch_test_text_and_classes() -> None:
    assert uniformity.parse_catch("47 42; 45 24") == [47, 42, 45, 24]
    for bad in ("47 42", "47 42 x 3", "1 2 3 -4"):
        with pytest.raises(EntryError):
            uniformity.parse_catch(bad)
    with pytest.raises(EntryError):
        uniformity.low_quarter_uniformity([0.0, 0.0])
    assert [uniformity.field_class(u) for u in (0.95, 0.9, 0.85, 0.75, 0.3)] == [
        "excellent",
        "excellent",
        "good",
        "fair",
        "poor",
    ]


@given(st.lists(st.floats(0.1, 100), min_size=4, max_size=40))
def test_uniformity_is_a_share(caught: list[float]) -> None:
    found = uniformity.low_quarter_uniformity(caught)
    assert 0 < found <= 1 + 1e-12
    assert uniformity.low_quarter_uniformity([2 * c for c in caught]) == pytest.approx(found)


def test_efficiency_and_uniformity_never_both() -> None:
    assert runtime.gross_mm(9.0, efficiency=0.9) == pytest.approx(10.0)
    assert runtime.gross_mm(9.0) == 9.0
    with pytest.raises(EntryError, match="not both"):
        runtime.gross_mm(9.0, efficiency=0.9, uniformity=0.8)
    with pytest.raises(EntryError):
        runtime.gross_mm(9.0, uniformity=1.2)


def test_minutes_need_a_flow() -> None:
    assert runtime.minutes_for(100.0, 200.0) == 30.0
    with pytest.raises(EntryError, match="without flow"):
        runtime.minutes_for(100.0, 0.0)


def test_interval_of_the_florida_table() -> None:
    """UF/IFAS FAWN: 1 in/ft soil, 50 %, 12 in roots at .20 in/d and 6 in at .08: both every 2 days (whole days)."""
    assert math.floor(runtime.interval_days(25.4, 0.5, 0.20 * 25.4)) == 2
    assert runtime.interval_days(12.7, 0.5, 0.08 * 25.4) == pytest.approx(3.125)
    assert runtime.interval_days(25.4, 0.5, 0.0) == math.inf


def test_cycle_and_soak_by_hand() -> None:
    """30 mm/h on soil that takes 5: 5 mm may stand, 5/25 h = 12 minutes a piece; it soaks away in an hour."""
    found = runtime.cycles(30, 30.0, 5.0)
    assert (found.count, found.minutes, found.soak_minutes) == (3, 10.0, 60.0)
    assert runtime.cycles(30, 4.0, 5.0).count == 1


def test_unlike_plants_on_one_valve() -> None:
    """Equal shares, needs 10 and 30 L: the zone must give 60, the first gets 30 (20 too much), regrouping saves 20."""
    found = zone_mix(["sage", "tomatoes"], [10.0, 30.0], [1, 1])
    assert found.driver == "tomatoes"
    assert found.given_l == pytest.approx(60.0)
    assert found.saving_l == pytest.approx(20.0)
    assert list(found.plantings["surplus_l"]) == [20.0, 0.0]
    assert found.plantings["surplus_share"].iloc[0] == pytest.approx(2.0)
    assert zone_mix(["a", "b"], [10.0, 30.0], [1, 3]).saving_l == pytest.approx(0.0)
    with pytest.raises(EntryError, match="No emitter waters b"):
        zone_mix(["a", "b"], [10.0, 30.0], [1, 0])
    with pytest.raises(EntryError, match="Nothing is planted"):
        zone_mix([], [], [])


@given(st.lists(st.tuples(st.floats(0, 50), st.floats(0.1, 5)), min_size=1, max_size=6))
def test_every_planting_of_a_zone_gets_its_need(parts: list[tuple[float, float]]) -> None:
    needs, shares = [p[0] for p in parts], [p[1] for p in parts]
    found = zone_mix([f"p{i}" for i in range(len(parts))], needs, shares)
    assert (found.plantings["given_l"].to_numpy() >= np.array(needs) - 1e-9).all()
    assert found.saving_l >= -1e-9
