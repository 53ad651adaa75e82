"""The daily water balance: what goes in comes out, and the days that try it hardest."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from core.errors import EntryError
from core.water.soil import Balance, root_zone_balance

DAYS = 25


def flows(most: float) -> st.SearchStrategy[np.ndarray]:
    # zeros often, as in a garden; a gauge or emitter shows no less than a hundredth of a millimetre
    value = st.one_of(st.just(0.0), st.floats(0.01, most))
    return arrays(np.float64, (DAYS, 2), elements=value)


def stored(b: Balance) -> np.ndarray:
    return b.depletion_mm + b.outside_depletion_mm


@settings(max_examples=60, deadline=None)
@given(
    need=flows(15),
    rain=flows(200),
    applied=flows(80),
    total=arrays(np.float64, 2, elements=st.floats(0.5, 300)),
    p=st.floats(0.1, 0.8),
    full=st.floats(0, 1),
    wetted=st.floats(0.05, 1),
    parts=st.integers(1, 3),
)
def test_water_is_conserved_and_limits_hold(
    need: np.ndarray,
    rain: np.ndarray,
    applied: np.ndarray,
    total: np.ndarray,
    p: float,
    full: float,
    wetted: float,
    parts: int,
) -> None:
    start = full * total
    b = root_zone_balance(
        need,
        rain,
        applied,
        total,
        p,
        start_depletion_mm=start,
        reference_et_mm=need,
        wetted_fraction=wetted,
        parts=parts,
    )
    change = np.diff(stored(b), axis=0, prepend=start[None, :])
    assert np.allclose(change, b.et_mm - b.effective_rain_mm - b.effective_applied_mm, atol=1e-8)
    assert np.allclose(b.effective_rain_mm + b.percolated_rain_mm + b.light_rain_mm, rain, atol=1e-8)
    assert np.allclose(b.effective_applied_mm + b.percolated_applied_mm, applied, atol=1e-8)
    for amount in (b.et_mm, b.effective_rain_mm, b.effective_applied_mm, b.percolated_mm, b.light_rain_mm):
        assert (amount >= -1e-9).all()
    assert (b.depletion_mm >= -1e-9).all()
    assert (b.depletion_mm <= b.total_available_mm + 1e-9).all()
    assert (stored(b) <= total + 1e-9).all()
    assert (b.stress_coefficient >= 0).all()
    assert (b.stress_coefficient <= 1).all()
    assert (b.et_mm <= need + 1e-9).all()
    assert ((b.et_mm < need * (1 - 1e-6)) <= b.stressed).all()


@settings(max_examples=25, deadline=None)
@given(need=flows(12), rain=flows(40), applied=flows(30))
def test_plantings_in_step_are_each_as_if_alone(need: np.ndarray, rain: np.ndarray, applied: np.ndarray) -> None:
    total, p, wetted = np.array([20.0, 90.0]), np.array([0.3, 0.5]), np.array([0.5, 1.0])
    both = root_zone_balance(need, rain, applied, total, p, wetted_fraction=wetted)
    for i in range(2):
        one = root_zone_balance(need[:, i], rain[:, i], applied[:, i], total[i], p[i], wetted_fraction=wetted[i])
        assert np.allclose(one.depletion_mm, both.depletion_mm[:, i])
        assert (one.stressed == both.stressed[:, i]).all()


@settings(max_examples=25, deadline=None)
@given(need=flows(12), rain=flows(40), applied=flows(30), more=st.floats(0.1, 30))
def test_more_water_never_leaves_it_drier(need: np.ndarray, rain: np.ndarray, applied: np.ndarray, more: float) -> None:
    less = root_zone_balance(need, rain, applied, 40.0, 0.4)
    wetter = applied.copy()
    wetter[3] += more
    found = root_zone_balance(need, rain, wetter, 40.0, 0.4)
    assert (found.depletion_mm <= less.depletion_mm + 1e-9).all()


def test_the_order_of_the_day_is_that_of_example_38() -> None:
    """FAO-56 Example 38, day 1: depletion 23.4, 40 mm in, 5.5 mm out ends at 5.5 (printed 5) with 17 mm drained.
    Taking eq. 88 to the letter (plants before drainage) would end at 0 with 11 drained."""
    b = root_zone_balance([5.5], [0.0], [40.0], 39.0, 0.6, start_depletion_mm=23.4, adjust_fraction=False)
    assert b.depletion_mm[0] == pytest.approx(5.5)
    assert b.percolated_mm[0] == pytest.approx(16.6)


def test_light_rain_is_dropped_below_a_fifth_of_reference_et() -> None:
    b = root_zone_balance([5.0] * 2, [1.1, 1.3], [0.0] * 2, 80.0, 0.5, start_depletion_mm=30, reference_et_mm=[6.0] * 2)
    assert list(b.light_rain_mm) == [1.1, 0.0]
    assert list(b.effective_rain_mm) == [0.0, 1.3]


def test_storm_of_200_mm_fills_and_drains_the_rest() -> None:
    b = root_zone_balance([4.0] * 3, [0.0, 200.0, 0.0], [0.0] * 3, 60.0, 0.5, start_depletion_mm=20.0)
    assert b.effective_rain_mm[1] == pytest.approx(24.0)  # 20 + the first day's 4
    assert b.percolated_mm[1] == pytest.approx(176.0)
    assert b.depletion_mm[1] == pytest.approx(4.0)


def test_two_litre_pot_in_july_wilts_on_the_second_day() -> None:
    """0.6 L over 0.0707 m2 is 8.49 mm; 8 mm of reference ET x 0.8 takes 6.4 of it on the first day. p is
    0.35 + 0.04 (5 - 6.4) = 0.294. On the second day 2.088 mm are left, 0.246 of the store: Ks = 0.246 / 0.706 = 0.348
    would take 2.23 mm, more than there is, so the pot is empty that night."""
    b = root_zone_balance([6.4] * 4, [0.0] * 4, [0.0] * 4, 8.488, 0.35)
    assert b.depletion_mm[0] == pytest.approx(6.4)
    assert list(b.stressed) == [False, True, True, True]
    assert b.et_mm[1] == pytest.approx(2.088)
    assert b.depletion_mm[1] == pytest.approx(8.488)
    assert b.et_mm[2] == pytest.approx(0.0)
    kept = root_zone_balance([6.4] * 4, [0.0] * 4, [7.0] * 4, 8.488, 0.35)
    assert not kept.stressed.any()


def test_pot_watered_twice_a_day_loses_less_than_once() -> None:
    need, none, water = [12.0] * 5, [0.0] * 5, [12.0] * 5
    once = root_zone_balance(need, none, water, 9.0, 0.4, start_depletion_mm=4.0)
    twice = root_zone_balance(need, none, water, 9.0, 0.4, start_depletion_mm=4.0, parts=2)
    assert twice.percolated_mm.sum() < once.percolated_mm.sum()
    assert twice.et_mm.sum() > once.et_mm.sum()


def test_drip_fills_the_wetted_share_only_and_rain_fills_all() -> None:
    dry = root_zone_balance([0.0], [0.0], [100.0], 100.0, 0.5, start_depletion_mm=100.0, wetted_fraction=0.4)
    assert dry.effective_applied_mm[0] == pytest.approx(40.0)
    assert dry.percolated_applied_mm[0] == pytest.approx(60.0)
    assert (dry.depletion_mm[0], dry.outside_depletion_mm[0]) == (0.0, 60.0)
    wet = root_zone_balance([0.0], [100.0], [0.0], 100.0, 0.5, start_depletion_mm=100.0, wetted_fraction=0.4)
    assert wet.effective_rain_mm[0] == pytest.approx(100.0)
    assert wet.outside_depletion_mm[0] == 0.0


def test_rain_counts_before_what_was_applied() -> None:
    b = root_zone_balance([0.0], [10.0], [10.0], 50.0, 0.5, start_depletion_mm=12.0)
    assert b.effective_rain_mm[0] == 10.0
    assert b.effective_applied_mm[0] == pytest.approx(2.0)


def test_unknown_need_stays_unknown_until_a_soak() -> None:
    need = np.array([3.0, np.nan, 3.0, 3.0, 3.0])
    b = root_zone_balance(need, np.zeros(5), np.array([0, 0, 5.0, 60.0, 0]), 50.0, 0.5)
    assert np.isnan(b.depletion_mm).tolist() == [False, True, True, False, False]
    assert b.depletion_mm[3] == pytest.approx(3.0)
    assert not b.stressed.any()


def test_nothing_planted_and_no_store() -> None:
    b = root_zone_balance([0.0] * 3, [5.0] * 3, [5.0] * 3, 0.0, 0.5)
    assert (b.percolated_mm == 10.0).all()
    assert not b.stressed.any()
    none = root_zone_balance(np.zeros((3, 0)), np.zeros(3), np.zeros((3, 0)), np.zeros(0), np.zeros(0) + 0.5)
    assert none.depletion_mm.shape == (3, 0)


def test_a_store_may_grow_but_not_shrink() -> None:
    b = root_zone_balance([2.0, 2.0], [0.0] * 2, [0.0] * 2, [30.0, 40.0], 0.5, start_depletion_mm=10.0)
    assert list(b.depletion_mm) == [12.0, 14.0]  # the new depth is taken as full (FAO-56 Example 38)
    with pytest.raises(EntryError, match="shrinks"):
        root_zone_balance([2.0, 2.0], [0.0] * 2, [0.0] * 2, [40.0, 30.0], 0.5)
    with pytest.raises(EntryError, match="fraction"):
        root_zone_balance([2.0], [0.0], [0.0], 40.0, 0.5, wetted_fraction=0.0)


def test_frame_has_a_row_for_each_day_and_planting() -> None:
    need = np.array([[1.0, 2.0], [3.0, 4.0]])
    b = root_zone_balance(need, [0.0, 0.0], np.zeros((2, 2)), [50.0, 60.0], 0.5)
    frame = b.frame(pd.date_range("2026-07-01", periods=2), ["tubs", "hedge"])
    assert list(frame["planting"]) == ["tubs", "tubs", "hedge", "hedge"]
    assert list(frame["et_mm"]) == [1.0, 3.0, 2.0, 4.0]
    assert frame["stressed"].dtype == bool
    single = root_zone_balance([1.0], [0.0], [0.0], 50.0, 0.5).frame(pd.date_range("2026-07-01", periods=1))
    assert "planting" not in single
