"""Readings as they come: twice, after months, falling, after as-of. The account goes through and closes exactly."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np
import pandas as pd
import pytest

from core.accounts.account import MeterAccount
from core.accounts.registers import meter_intervals
from tests.core.accounts import books
from tests.core.accounts.frames import meters, table

BEGIN = datetime(2025, 1, 1, 7, tzinfo=UTC)
Reading = tuple[datetime, float]


def register(days: int, a_day: float = 400.0) -> list[Reading]:
    draw = np.random.default_rng(days)
    return [
        (BEGIN + timedelta(days=n), float(v))
        for n, v in enumerate(np.floor(1000 + np.cumsum(draw.normal(a_day, 60, days))))
    ]


def ask(readings: list[Reading], as_of: datetime | None = None) -> MeterAccount:
    """Two people with the two zones of a plain home, whose runs the readings show nothing of before April."""
    home = books.plain_home(1, 60)
    rows = table("meter_reading", *({"meter": "main", "at": a, "register_value": v} for a, v in readings))
    home.intervals = meter_intervals(rows, meters(unit="l"), table("metered_use"))
    return home.account(as_of=as_of or BEGIN + timedelta(days=400))


def closes(found: MeterAccount) -> None:
    parts = found.intervals[["indoor_l", "zones_l", "other_l", "unexplained_l"]].sum(axis=1, skipna=False)
    known = found.intervals["metered_l"].notna()
    np.testing.assert_allclose(parts[known], found.intervals["metered_l"][known], rtol=0, atol=1e-9)
    metered = found.by_day[found.by_day["kind"] == "metered"]
    assert metered["volume_l"].sum() == pytest.approx(found.intervals["metered_l"].sum(), abs=1e-6)


@pytest.mark.parametrize("count", [0, 1])
def test_too_few_readings_for_an_interval(count: int) -> None:
    found = ask(register(30)[:count])
    closes(found)
    assert found.findings == ()
    assert found.metered_through is None
    assert found.baseline.note.startswith("No reading tells it yet")


def test_two_readings() -> None:
    found = ask(register(2))
    closes(found)
    assert found.findings == ()
    assert len(found.intervals) == 1


def test_every_reading_twice_counts_once() -> None:
    once, twice = ask(register(80)), ask([r for r in register(80) for _ in range(2)])
    closes(twice)
    pd.testing.assert_frame_equal(once.intervals, twice.intervals)
    assert once.findings == twice.findings == ()


def test_shuffled_readings_are_put_in_order() -> None:
    rows = register(80)
    mixed = [rows[k] for k in np.random.default_rng(2).permutation(80)]
    pd.testing.assert_frame_equal(ask(rows).intervals, ask(mixed).intervals)


def test_months_of_gap_are_one_interval() -> None:
    rows = register(200)
    rows = rows[:40] + rows[160:]
    found = ask(rows)
    closes(found)
    assert found.intervals["metered_l"].sum() == rows[-1][1] - rows[0][1]
    assert found.findings == ()


def test_a_fall_is_not_negative_water() -> None:
    rows = [(a, v if n < 50 else v - 15_000) for n, (a, v) in enumerate(register(90))]
    found = ask(rows)
    closes(found)
    assert found.intervals["metered_l"].isna().sum() == 1
    assert (found.intervals["metered_l"].dropna() >= 0).all()
    assert not [f for f in found.findings if f.kind not in ("misread", "two_meters")]


def test_a_register_that_never_moves() -> None:
    found = ask([(a, 1000.0) for a, _ in register(60)])
    closes(found)
    assert found.intervals["metered_l"].sum() == 0


def test_readings_after_as_of_do_not_exist() -> None:
    rows = register(120)
    later = [(a, v + (5000 if n > 80 else 0) * (n - 80)) for n, (a, v) in enumerate(rows)]
    as_of = rows[80][0]
    before, told = ask(rows[:81], as_of), ask(later, as_of)
    closes(told)
    pd.testing.assert_frame_equal(before.intervals, told.intervals)
    assert before.findings == told.findings
    assert told.metered_through == as_of
