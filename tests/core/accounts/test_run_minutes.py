"""Minutes of runs by day: over midnight, days of 23 and 25 hours."""

from __future__ import annotations

from datetime import date, timedelta

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.accounts.run_minutes import run_minutes_by_day
from tests.core.accounts.frames import DENVER
from tests.core.accounts.test_runs import day_record, garden


def test_runs_that_did_not_happen_have_no_minutes_but_their_zone_a_column() -> None:
    found = garden(runs=[day_record("2026-07-04", ran=False)], span=(date(2026, 7, 4), date(2026, 7, 4)))
    minutes = run_minutes_by_day(found, DENVER, date(2026, 7, 4), date(2026, 7, 4), zones=["beds"])
    assert minutes["beds"].tolist() == [0]


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.integers(-2000, 9000), st.integers(1, 3000)), min_size=1, max_size=20))
def test_each_day_gets_what_lies_within_it(pairs: list[tuple[int, int]]) -> None:
    """Runs as minutes from midnight and minutes long; some overlap, some reach beyond the days asked for."""
    base = pd.Timestamp("2026-07-01T06:00Z")  # midnight in Denver
    runs = pd.DataFrame(
        {
            "zone": "beds",
            "start": [base + pd.Timedelta(minutes=a) for a, _ in pairs],
            "end": [base + pd.Timedelta(minutes=a + n) for a, n in pairs],
            "basis": "presumed",
        }
    )
    minutes = run_minutes_by_day(runs, DENVER, date(2026, 7, 1), date(2026, 7, 5))["beds"]
    for k, found in enumerate(minutes):
        low, high = 1440 * k, 1440 * (k + 1)
        assert found == pytest.approx(sum(max(0, min(a + n, high) - max(a, low)) for a, n in pairs), abs=1e-9)


@pytest.mark.parametrize(("day", "hours"), [(date(2026, 3, 8), 23), (date(2026, 11, 1), 25), (date(2026, 7, 4), 24)])
def test_a_zone_open_all_day_runs_the_hours_of_the_day(day: date, hours: int) -> None:
    start = pd.Timestamp(day) - pd.Timedelta(days=1)
    runs = pd.DataFrame(
        {
            "zone": ["beds"],
            "start": [start.tz_localize("UTC")],
            "end": [(start + pd.Timedelta(days=4)).tz_localize("UTC")],
            "basis": ["ran"],
        }
    )
    minutes = run_minutes_by_day(runs, DENVER, day - timedelta(days=1), day + timedelta(days=1))["beds"]
    assert minutes.iloc[1] == hours * 60
