"""Leak tests read from records, and the arithmetic run backwards. Published tables are in tests/published."""

from __future__ import annotations

import math

import pandas as pd
import pytest

from core.accounts.leaktest import (
    drip_lph,
    drop_ml,
    hole_diameter_mm,
    hole_range_mm,
    leak_test_rates,
    orifice_flow_lph,
    smallest_rate_lph,
    under_read_note,
    wait_hours,
)
from tests.core.accounts.frames import GALLON_L, local, meters, table


def leak_test(before: float, after: float, minutes: float = 120, **meter: object) -> pd.Series:
    one = table(
        "leak_test",
        {"meter": "main", "at": local("2026-07-04T10:00"), "duration_min": minutes, "before": before, "after": after},
    )
    return leak_test_rates(one, meters(**meter)).iloc[0]


def test_a_leak_test_with_its_bounds() -> None:
    """3 gal in two hours on a 1-gal register: 1.5 gal/h, truly between 1 and 2."""
    found = leak_test(1_000, 1_003)
    assert [found[k] / GALLON_L for k in ("rate_lph", "low_lph", "high_lph", "smallest_lph")] == pytest.approx(
        [1.5, 1, 2, 0.5]
    )


def test_a_still_register_leaves_room_for_a_slow_leak() -> None:
    found = leak_test(1_000, 1_000)
    assert (found["rate_lph"], found["low_lph"]) == (0, 0)
    assert found["high_lph"] == pytest.approx(0.5 * GALLON_L)


def test_a_leak_test_over_the_top_and_one_that_went_back() -> None:
    assert leak_test(9_999_999, 2)["volume_l"] == pytest.approx(3 * GALLON_L)
    back = leak_test(5_000, 4_990)
    assert math.isnan(back["rate_lph"])
    assert back["note"] == "the register went back during the test"


def test_no_leak_tests() -> None:
    assert leak_test_rates(table("leak_test"), meters()).empty


@pytest.mark.parametrize("diameter", [0.5, 1.6, 6.35])
def test_a_hole_is_found_again_from_its_flow(diameter: float) -> None:
    assert hole_diameter_mm(orifice_flow_lph(diameter, 414), 414) == pytest.approx(diameter)


def test_without_pressure_no_flow_and_no_hole() -> None:
    assert orifice_flow_lph(3, 0) == orifice_flow_lph(3, -10) == 0
    assert math.isnan(hole_diameter_mm(5, 0))


def test_the_note_on_slow_flows_names_the_test_floor() -> None:
    """COMAR 20.70.06.03: 5/8-inch meters are tested at 0.25 gpm, 15 gal or 57 L an hour."""
    assert "tested down to 15 gph" in under_read_note("us")
    assert "tested down to 57 L/h" in under_read_note("metric")


def test_the_hole_lies_within_its_range_and_a_wait_within_its_steps() -> None:
    low, mid, high = hole_range_mm(10, 14, 400)
    assert low < mid < high
    assert orifice_flow_lph(mid, 400) == pytest.approx(12)
    assert orifice_flow_lph(low, 400, 0.80) == pytest.approx(10)
    assert all(math.isnan(d) for d in hole_range_mm(10, 14, 0))
    assert wait_hours(3, 1.5) == 2
    assert wait_hours(3, 1.5, steps=3) == 6
    assert wait_hours(3, 0) == math.inf


def test_drops_and_waiting_run_backwards() -> None:
    assert drop_ml(40, drip_lph(40, 0.31)) == pytest.approx(0.31)
    assert smallest_rate_lph(3, 0) == math.inf
