"""How fast the accounts read a long book: the best of a few rounds against the bars of the work.

Run by name: pytest tests/bench/test_accounts_bench.py
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

import numpy as np
import pandas as pd

from core.accounts.rain_days import rain_by_day
from core.accounts.registers import meter_intervals
from core.accounts.runs import runs_between
from tests.core.accounts.frames import DENVER, meters, table

FIRST, LAST = date(2016, 1, 1), date(2025, 12, 31)
HOURS = 87_600


def register(count: int, every: str, start: str = "2016-01-01") -> pd.DataFrame:
    draw = np.random.default_rng(1)
    return pd.DataFrame(
        {
            "meter": "main",
            "at": pd.date_range(start, periods=count, freq=every, tz="UTC"),
            "at_exact": "minute",
            "register_value": np.floor(np.cumsum(draw.gamma(0.3, 30, count))),
            "resolution": np.nan,
            "how": "file",
            "first_after_change": False,
            "old_final": np.nan,
        }
    )


def hourly(share: float = 1.0) -> pd.DataFrame:
    draw = np.random.default_rng(2)
    start = pd.date_range("2016-01-01", periods=HOURS, freq="h", tz="UTC")
    frame = pd.DataFrame(
        {
            "meter": "main",
            "start": start,
            "end": start + pd.Timedelta(hours=1),
            "volume_l": draw.gamma(0.3, 30, HOURS),
            "estimated": False,
        }
    )
    return frame[draw.random(HOURS) < share].reset_index(drop=True)


def ten_years_of_runs() -> pd.DataFrame:
    zones = ["beds", "tubs", "hedge", "herbs", "roses"]
    days = ["mon wed fri", "daily", "odd", "even", "every 3 from 2016-05-01"]
    programs = [
        {
            "zone": zone,
            "since": f"{year}-{month:02}-01",
            "until": f"{year}-{month + 1:02}-01",
            "days": pattern,
            "starts": "05:00 20:30",
            "minutes": 20,
        }
        for zone, pattern in zip(zones, days, strict=True)
        for year in range(2016, 2026)
        for month in range(4, 11)
    ]
    records = [
        {"zone": "tubs", "at": t, "at_exact": "day" if n % 2 else "minute", "ran": n % 3 > 0, "duration_min": 15.0}
        for n, t in enumerate(pd.date_range("2017-04-01 18:00", periods=1500, freq="24h", tz="UTC"))
    ]
    return runs_between(
        table("program", *programs),
        table("pause", *({"scope": "all", "since": f"{y}-07-04", "until": f"{y}-07-09"} for y in range(2016, 2026))),
        table("run", *records),
        table("controller", {"code": "box", "name": "Box"}),
        table("clock_check", {"controller": "box", "at": pd.Timestamp("2020-07-01", tz="UTC"), "offset_minutes": -60}),
        table("zone", *({"code": z, "name": z, "supply": "city", "controller": "box"} for z in zones)),
        DENVER,
        FIRST,
        LAST,
    )


def best(benchmark: Any, work: Callable[[], Any], rounds: int = 5) -> float:
    benchmark.pedantic(work, rounds=rounds, warmup_rounds=1)
    return float(benchmark.stats.stats.min)


def test_a_hundred_thousand_readings(benchmark: Any) -> None:
    rows, none = register(100_000, "h"), table("metered_use")
    assert best(benchmark, lambda: meter_intervals(rows, meters(), none)) < 0.2


def test_ten_years_hourly_over_daily_readings(benchmark: Any) -> None:
    rows, file = register(3_650, "D", "2016-01-01 07:03"), hourly(0.9)
    assert best(benchmark, lambda: meter_intervals(rows, meters(), file)) < 0.5


def test_ten_years_of_runs_of_five_zones(benchmark: Any) -> None:
    assert best(benchmark, ten_years_of_runs, rounds=3) < 0.7  # of which making the frames takes about a third


def test_ten_years_of_daily_rain(benchmark: Any) -> None:
    start = pd.date_range("2016-01-01 14:00", periods=3_650, freq="D", tz="UTC")
    rain = pd.DataFrame(
        {
            "gauge": "yard",
            "start": start,
            "end": start + pd.Timedelta(days=1),
            "start_exact": "minute",
            "end_exact": "minute",
            "rain_mm": np.random.default_rng(3).gamma(0.2, 6, 3_650),
            "trace": False,
        }
    )
    assert best(benchmark, lambda: rain_by_day(rain, DENVER, FIRST, LAST)) < 0.1
