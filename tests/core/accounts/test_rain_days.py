"""Gauge rain on local days, shares worked out by hours."""

from __future__ import annotations

import math
from datetime import date, timedelta
from typing import Any

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.accounts.rain_days import rain_by_day
from tests.core.accounts.frames import DENVER, local, table

FIRST, LAST = date(2026, 7, 1), date(2026, 7, 5)


def gauge(*rows: tuple[str, str, float], **same: Any) -> list[dict[str, Any]]:
    return [{"start": local(a), "end": local(b), "rain_mm": mm, **same} for a, b, mm in rows]


def days(rows: list[dict[str, Any]], first: date = FIRST, last: date = LAST, **more: Any) -> pd.DataFrame:
    return rain_by_day(table("rain", *rows), DENVER, first, last, **more)


def test_a_seven_oclock_reading_lies_mostly_on_the_day_before() -> None:
    found = days(gauge(("2026-07-01T07:00", "2026-07-02T07:00", 24.0), ("2026-07-02T07:00", "2026-07-03T07:00", 0.0)))
    assert found["rain_mm"][:3].tolist() == pytest.approx([17, 7, 0])
    assert found["known"].tolist() == [False, True, False, False, False]
    assert found["covered"][0] == pytest.approx(17 / 24)


def test_days_without_a_record_are_not_dry() -> None:
    found = days(gauge(("2026-07-02T00:00", "2026-07-03T00:00", 0.0)))
    assert found["known"].tolist() == [False, True, False, False, False]
    assert found["rain_mm"][1] == 0
    assert found["rain_mm"].isna().tolist() == [True, False, True, True, True]
    nothing = days([])
    assert nothing["rain_mm"].isna().all()
    assert len(nothing) == 5


def test_days_alone_mean_midnight() -> None:
    exact = {"start_exact": "day", "end_exact": "day"}
    found = days(gauge(("2026-07-02T12:00", "2026-07-03T12:00", 8.0), **exact))
    assert found["rain_mm"][1] == 8
    assert found["known"].tolist() == [False, True, False, False, False]


def test_a_trace_is_nought_and_stays_marked() -> None:
    found = days(gauge(("2026-07-02T00:00", "2026-07-03T00:00", 0.0), trace=True))
    assert found["rain_mm"][1] == 0
    assert found["trace"].tolist() == [False, True, False, False, False]


def test_a_total_of_days_is_spread_and_marked() -> None:
    found = days(gauge(("2026-07-01T00:00", "2026-07-04T00:00", 9.0)))
    assert found["rain_mm"][:3].tolist() == pytest.approx([3, 3, 3])
    assert found["spread"].tolist() == [True, True, True, False, False]


def test_a_total_over_daily_records_keeps_what_they_leave() -> None:
    rows = gauge(("2026-07-01T00:00", "2026-07-04T00:00", 9.0), ("2026-07-02T00:00", "2026-07-03T00:00", 5.0))
    assert days(rows)["rain_mm"][:3].tolist() == pytest.approx([2, 5, 2])


def test_a_total_below_its_daily_records_leaves_no_negative_rain() -> None:
    rows = gauge(("2026-07-01T00:00", "2026-07-04T00:00", 4.0), ("2026-07-02T00:00", "2026-07-03T00:00", 5.0))
    assert days(rows)["rain_mm"][:3].tolist() == pytest.approx([0, 5, 0])


def test_two_gauges_are_never_added_up() -> None:
    yard = gauge(("2026-07-01T00:00", "2026-07-02T00:00", 6.0), gauge="yard")
    station = gauge(*[(f"2026-07-0{d}T00:00", f"2026-07-0{d + 1}T00:00", 4.0) for d in (1, 2, 3)], gauge="airport")
    found = days(yard + station)
    assert found["rain_mm"][:3].tolist() == [4, 4, 4]
    assert found["gauge"].tolist() == ["airport", "airport", "airport", "", ""]
    preferred = days(yard + station, prefer=("yard",))
    assert preferred["rain_mm"][:3].tolist() == [6, 4, 4]
    assert preferred["gauge"].tolist()[:2] == ["yard", "airport"]


def test_the_gauge_read_oftenest_holds_when_none_is_preferred() -> None:
    weekly = gauge(("2026-07-01T00:00", "2026-07-06T00:00", 50.0), gauge="a-weekly")
    daily = gauge(*[(f"2026-07-0{d}T00:00", f"2026-07-0{d + 1}T00:00", 1.0) for d in range(1, 6)], gauge="yard")
    assert days(weekly + daily)["rain_mm"].tolist() == [1, 1, 1, 1, 1]


@pytest.mark.parametrize(("day", "hours"), [(date(2026, 3, 8), 23), (date(2026, 11, 1), 25)])
def test_even_rain_over_a_day_of_unlike_length(day: date, hours: int) -> None:
    """A millimetre an hour from two days before to two days after."""
    start, end = local(f"{day - timedelta(days=2)}T00:00"), local(f"{day + timedelta(days=3)}T00:00")
    total = 4 * 24 + hours
    found = days(
        [{"start": start, "end": end, "rain_mm": float(total)}], day - timedelta(days=1), day + timedelta(days=1)
    )
    assert found["rain_mm"].tolist() == pytest.approx([24, hours, 24])


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.integers(1, 60), st.integers(0, 80)), min_size=1, max_size=15))
def test_days_add_up_to_the_gauge(steps: list[tuple[int, int]]) -> None:
    at, rows = local("2026-07-01T07:00"), []
    for hours, mm in steps:
        rows.append({"start": at, "end": at + timedelta(hours=hours), "rain_mm": float(mm)})
        at += timedelta(hours=hours)
    found = days(rows, date(2026, 6, 30), date(2026, 8, 15))
    assert found["rain_mm"].sum() == pytest.approx(sum(mm for _, mm in steps))
    assert not any(math.isnan(v) for v in found["rain_mm"][found["known"]])
