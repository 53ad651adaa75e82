"""What a finding's water cost, by a flat tariff that a person can reckon in the head."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from core.review import see
from core.review.costs import finding_cost
from tests.leaky import DOLLARS_A_KGAL, FIRST, LEAK_GAL_DAY, leaky_book

KGAL_L = 3785.411784  # a thousand US gallons (NIST Handbook 44)


@pytest.mark.parametrize("quiet_days", [0, 45])
def test_the_water_of_a_leak_that_goes_on_lies_within_the_readings_that_tell_of_it(
    tmp_path: Path, quiet_days: int
) -> None:
    """The price is the same for every litre, so weeks without a reading change nothing of what it has cost so far."""
    book = leaky_book(tmp_path / "leaky.rillbook")
    picture = see(book, FIRST + timedelta(days=60 + quiet_days, hours=1))
    (leak,) = picture.accounts["curb"].findings
    assert (leak.kind, leak.until) == ("steady", None)
    cost = finding_cost(picture, leak)
    assert cost is not None
    assert cost.value == pytest.approx((leak.volume.value or 0.0) / KGAL_L * DOLLARS_A_KGAL, rel=1e-6)
    assert cost.value == pytest.approx(10 * LEAK_GAL_DAY / 1000 * DOLLARS_A_KGAL, rel=0.1)


def test_water_that_was_to_come_at_another_time_costs_nothing_more(tmp_path: Path) -> None:
    picture = see(leaky_book(tmp_path / "leaky.rillbook"), FIRST + timedelta(days=60))
    (leak,) = picture.accounts["curb"].findings
    assert finding_cost(picture, replace(leak, kind="another_schedule")) is None


def test_more_minutes_than_written_cost_what_they_brought(tmp_path: Path) -> None:
    picture = see(leaky_book(tmp_path / "leaky.rillbook"), FIRST + timedelta(days=60))
    (leak,) = picture.accounts["curb"].findings
    longer = finding_cost(picture, replace(leak, kind="another_schedule", share=0.5))
    assert longer is not None
    assert longer.value == pytest.approx(10 * LEAK_GAL_DAY / 1000 * DOLLARS_A_KGAL, rel=0.1)


def test_what_ends_at_midnight_has_no_water_on_the_day_that_begins_then(tmp_path: Path) -> None:
    """A billing period begins on 1 August; a file of whole days ends at the midnight before it."""
    picture = see(leaky_book(tmp_path / "leaky.rillbook"), FIRST + timedelta(days=90))
    (leak,) = picture.accounts["curb"].findings
    over = replace(leak, until=datetime(2026, 8, 1, 6, tzinfo=UTC))  # midnight in Denver, six hours behind in summer
    cost = finding_cost(picture, over)
    assert cost is not None
    assert cost.value == pytest.approx((leak.volume.value or 0.0) / KGAL_L * DOLLARS_A_KGAL, rel=1e-6)
