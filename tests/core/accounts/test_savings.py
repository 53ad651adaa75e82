"""Saving against overhead sprinklers; the efficiencies are given here so that the sums can be done by hand."""

from __future__ import annotations

import math

import pandas as pd
import pytest

from core.accounts.savings import saved_against_overhead
from core.water.efficiency import OVERHEAD_EFFICIENCY, Efficiency

ROUND = Efficiency(0.5, 0.4, 0.8, "made for this test")


def saved(need: float, applied: float) -> dict[str, float]:
    use = pd.DataFrame({"planting": ["tubs"], "need_l": [need], "applied_l": [applied]})
    return saved_against_overhead(use, ROUND).iloc[0].to_dict()  # type: ignore[return-value]


def test_saving_is_need_over_efficiency_less_what_was_applied() -> None:
    found = saved(100, 120)
    assert (found["overhead_l"], found["saved_l"]) == (200, 80)
    assert (found["saved_low_l"], found["saved_high_l"]) == (100 / 0.8 - 120, 100 / 0.4 - 120)
    assert found["short_l"] == 0


def test_waste_is_a_negative_saving() -> None:
    assert saved(100, 260)["saved_l"] == -60
    assert saved(0, 30)["saved_l"] == -30


def test_going_short_is_told_beside_the_saving() -> None:
    assert saved(100, 40)["short_l"] == 60


def test_what_is_not_known_stays_so() -> None:
    assert all(math.isnan(saved(math.nan, 10)[k]) for k in ("saved_l", "saved_low_l", "saved_high_l", "short_l"))


def test_the_published_efficiency_and_its_range() -> None:
    """0.71 EPA WaterSense v2; 0.50 Coachella spray, 0.75 MWELO floor."""
    use = pd.DataFrame({"need_l": [710.0], "applied_l": [0.0]})
    found = saved_against_overhead(use).iloc[0]
    assert [found[k] for k in ("overhead_l", "saved_low_l", "saved_high_l")] == pytest.approx(
        [1000.0, 946.67, 1420.0], abs=0.01
    )
    assert "WaterSense" in OVERHEAD_EFFICIENCY.line("overhead efficiency").source
