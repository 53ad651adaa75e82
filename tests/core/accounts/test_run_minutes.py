"""Minutes of runs by span: hours, days of 23 and 25 hours, any cut."""

from __future__ import annotations

from datetime import date, timedelta

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.accounts.run_minutes import run_minutes_by_day, run_minutes_by_interval
from tests.core.accounts.frames import DENVER
from tests.core.accounts.test_runs import day_record, garden


def spans(first: str, count: int, hours: float) -> pd.DataFrame:
    start = pd.date_range(
        pd.Timestamp(first, tz=DENVER).tz_convert("UTC"), periods=count, freq=pd.Timedelta(hours=hours)
    )
    return pd.DataFrame({"start": start, "end": start + pd.Timedelta(hours=hours)})


def test_minutes_by_hour() -> None:
    found = garden(programs=[{"starts": "05:50", "minutes": 75}], span=(date(2026, 7, 4), date(2026, 7, 4)))
    minutes = run_minutes_by_interval(found, spans("2026-07-04T05:00", 4, 1))
    assert minutes["beds"].tolist() == [10, 60, 5, 0]


def test_runs_that_did_not_happen_have_no_minutes_but_their_zone_a_column() -> None:
    found = garden(runs=[day_record("2026-07-04", ran=False)], span=(date(2026, 7, 4), date(2026, 7, 4)))
    minutes = run_minutes_by_interval(found, spans("2026-07-04T00:00", 1, 24), zones=["beds"])
    assert minutes["beds"].tolist() == [0]


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(st.integers(0, 3000), st.integers(1, 400)), min_size=1, max_size=20),
    st.lists(st.integers(-50, 3500), min_size=2, max_size=30, unique=True),
)
def test_minutes_over_any_cut_sum_to_the_whole(pairs: list[tuple[int, int]], cuts: list[int]) -> None:
    base = pd.Timestamp("2026-07-01T00:00Z")
    runs = pd.DataFrame(
        {
            "zone": "beds",
            "start": [base + pd.Timedelta(minutes=a) for a, _ in pairs],
            "end": [base + pd.Timedelta(minutes=a + n) for a, n in pairs],
            "basis": "presumed",
        }
    )
    edges = [base + pd.Timedelta(minutes=c) for c in sorted(cuts)]
    minutes = run_minutes_by_interval(runs, pd.DataFrame({"start": edges[:-1], "end": edges[1:]}))["beds"]
    low, high = min(cuts), max(cuts)
    expected = sum(max(0, min(a + n, high) - max(a, low)) for a, n in pairs)
    assert minutes.sum() == pytest.approx(expected, abs=1e-9)
    assert (minutes >= 0).all()


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
