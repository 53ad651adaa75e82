"""Readings and metered volumes of one meter together: the finest wins, nothing counts twice."""

from __future__ import annotations

from itertools import pairwise

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.accounts.registers import meter_intervals
from tests.core.accounts.frames import GALLON_L, gal, meters, readings, table, uses

NO_USE = table("metered_use")
NO_READINGS = table("meter_reading")


def test_what_a_file_leaves_of_a_longer_reading_is_kept() -> None:
    rows = readings(("2026-07-01T00:00", 0), ("2026-07-08T00:00", 700))
    daily = uses(
        ("2026-07-03T00:00", "2026-07-04T00:00", 150 * GALLON_L),
        ("2026-07-04T00:00", "2026-07-05T00:00", 50 * GALLON_L),
    )
    found = meter_intervals(rows, meters(), daily)
    assert found["source"].tolist() == ["register", "use", "use", "register"]
    # 500 gal left over for two days before and three after
    assert gal(found) == [200, 150, 50, 300]
    assert "finer" in found["note"][0]
    assert found["sd_l"][0] > 0.3 * found["volume_l"][0]  # divided by time alone: hardly known
    assert sum(gal(found)) == 700  # type: ignore[arg-type]


def test_finer_volumes_that_cover_a_reading_replace_it() -> None:
    rows = readings(("2026-07-01T00:00", 0), ("2026-07-03T00:00", 700))
    daily = uses(("2026-07-01T00:00", "2026-07-02T00:00", 400.0), ("2026-07-02T00:00", "2026-07-03T00:00", 500.0))
    found = meter_intervals(rows, meters(), daily)
    assert found["volume_l"].tolist() == [400.0, 500.0]
    assert found["source"].tolist() == ["use", "use"]


def test_a_bill_tells_what_passed_while_the_register_was_changed() -> None:
    rows = readings(
        ("2026-07-01T00:00", 900), ("2026-07-11T00:00", 1_000), ("2026-07-21T00:00", 5), ("2026-07-31T00:00", 205)
    )
    bill = uses(("2026-07-01T00:00", "2026-07-31T00:00", 600 * GALLON_L))
    found = meter_intervals(rows, meters(), bill)
    assert gal(found) == [100, 300, 200]
    assert found["source"].tolist() == ["register", "use", "register"]


def test_a_sound_reading_goes_before_an_estimated_volume() -> None:
    rows = readings(("2026-07-01T00:00", 0), ("2026-07-08T00:00", 700))
    guess = uses(("2026-07-02T00:00", "2026-07-03T00:00", 9_999.0), estimated=True)
    assert gal(meter_intervals(rows, meters(), guess)) == [700]


def test_one_volume_written_twice_counts_once() -> None:
    twice = uses(("2026-07-01T00:00", "2026-07-02T00:00", 300.0), ("2026-07-01T00:00", "2026-07-02T00:00", 300.0))
    assert meter_intervals(NO_READINGS, meters(), twice)["volume_l"].tolist() == [300.0]


def test_a_gap_between_volumes_stays_a_gap() -> None:
    apart = uses(("2026-07-01T00:00", "2026-07-02T00:00", 300.0), ("2026-07-05T00:00", "2026-07-06T00:00", 200.0))
    found = meter_intervals(NO_READINGS, meters(), apart)
    assert len(found) == 2
    assert found["end"][0] < found["start"][1]


def test_the_step_of_volumes_is_the_meters_or_finer() -> None:
    by_gallon = uses(*[(f"2026-07-01T{h:02}:00", f"2026-07-01T{h + 1:02}:00", h * GALLON_L) for h in range(5)])
    assert meter_intervals(NO_READINGS, meters(resolution=1), by_gallon)["resolution_l"][0] == pytest.approx(GALLON_L)
    by_tenth = uses(*[(f"2026-07-01T{h:02}:00", f"2026-07-01T{h + 1:02}:00", h * GALLON_L / 10) for h in range(5)])
    assert meter_intervals(NO_READINGS, meters(resolution=1), by_tenth)["resolution_l"][0] == pytest.approx(
        GALLON_L / 10
    )


def test_each_part_of_a_file_has_the_step_it_was_written_in() -> None:
    """Thirty days to the gallon, ten of quarter hours to ten gallons, then ten to the gallon."""
    days = [(f"2026-06-{d:02}T00:00", f"2026-06-{d + 1:02}T00:00", (100 + 7 * d % 40) * GALLON_L) for d in range(1, 30)]
    quarters = pd.date_range("2026-07-01", periods=20 * 96 + 1, freq="15min").strftime("%Y-%m-%dT%H:%M").tolist()
    used = [k % 5 if k >= 960 else k % 3 * 10 for k in range(20 * 96)]
    fine = [(a, b, n * GALLON_L) for (a, b), n in zip(pairwise(quarters), used, strict=True)]
    step = meter_intervals(NO_READINGS, meters(resolution=10), uses(*days, *fine))["resolution_l"] / GALLON_L
    assert step[:29].tolist() == pytest.approx([1.0] * 29)
    assert step[29 : 29 + 900].tolist() == pytest.approx([10.0] * 900)
    assert step[29 + 960 :].tolist() == pytest.approx([1.0] * 960)


def test_volumes_of_even_numbers_by_chance_are_no_coarser() -> None:
    """Three weeks that happen to differ by twenty gallons and more, beside a register of one gallon."""
    days = pd.date_range("2026-07-01", periods=22).strftime("%Y-%m-%dT00:00")
    few = [(a, b, n * 20 * GALLON_L) for n, (a, b) in enumerate(pairwise(days))]
    step = meter_intervals(NO_READINGS, meters(resolution=1), uses(*few))["resolution_l"] / GALLON_L
    assert step.tolist() == pytest.approx([1.0] * 21)


# --- properties ---------------------------------------------------------------------------------------------

BASE = pd.Timestamp("2026-07-01T06:00Z")
SPANS = st.lists(
    st.tuples(st.integers(0, 60), st.integers(1, 40), st.integers(0, 500), st.booleans()), min_size=1, max_size=9
)


def as_uses(spans: list[tuple[int, int, float, bool]]) -> pd.DataFrame:
    rows = [
        {
            "meter": "main",
            "start": BASE + pd.Timedelta(hours=a),
            "end": BASE + pd.Timedelta(hours=a + n),
            "volume_l": v,
            "estimated": e,
        }
        for a, n, v, e in spans
    ]
    return table("metered_use", *rows)


def by_hour(spans: list[tuple[int, int, float, bool]]) -> dict[int, float]:
    """The rule written anew, hour by hour: the sound before the estimated, the shorter before the longer."""
    hours: dict[int, float] = {}
    order = sorted(range(len(spans)), key=lambda k: (spans[k][3], spans[k][1], _spread(spans, k), k))
    for k in order:
        first, length, volume, _ = spans[k]
        mine = range(first, first + length)
        free = [h for h in mine if h not in hours]
        rest = volume - sum(hours[h] for h in mine if h in hours)
        for h in free:
            hours[h] = rest / len(free)
    return hours


def _spread(spans: list[tuple[int, int, float, bool]], k: int) -> float:
    return spans[k][2] if spans[k][3] else 0.0  # among estimates of one length the smaller is the surer


@settings(max_examples=100, deadline=None)
@given(SPANS)
def test_the_finest_wins_and_nothing_counts_twice(spans: list[tuple[int, int, float, bool]]) -> None:
    found = meter_intervals(NO_READINGS, meters(), as_uses(spans))
    start = ((found["start"] - BASE) / pd.Timedelta(hours=1)).round().astype(int)
    end = ((found["end"] - BASE) / pd.Timedelta(hours=1)).round().astype(int)
    covered = [h for a, b in zip(start, end, strict=True) for h in range(a, b)]
    assert len(covered) == len(set(covered))
    expected = by_hour(spans)
    assert set(covered) == set(expected)
    for a, b, volume in zip(start, end, found["volume_l"], strict=True):
        assert volume == pytest.approx(sum(expected[h] for h in range(a, b)), abs=1e-6)


@settings(max_examples=40, deadline=None)
@given(st.lists(st.integers(0, 2000), min_size=2, max_size=12), st.data())
def test_a_reading_more_changes_no_total(rises: list[int], data: st.DataObject) -> None:
    values = [5_000_000 + sum(rises[: k + 1]) for k in range(len(rises))]
    times = [f"2026-07-{k + 1:02}T07:00" for k in range(len(rises))]
    kept = sorted({0, len(rises) - 1, *data.draw(st.sets(st.integers(0, len(rises) - 1)))})
    every = meter_intervals(readings(*zip(times, values, strict=True)), meters(), NO_USE)
    some = meter_intervals(readings(*[(times[k], values[k]) for k in kept]), meters(), NO_USE)
    assert every["volume_l"].sum() == pytest.approx(some["volume_l"].sum(), abs=1e-6)


@settings(max_examples=40, deadline=None)
@given(SPANS, st.data())
def test_halves_that_add_up_change_no_total(spans: list[tuple[int, int, float, bool]], data: st.DataObject) -> None:
    """A span alone, given as two parts that sum to it, gives the same total."""
    a, n, v, e = spans[0]
    n += 1
    at, share = data.draw(st.integers(1, n - 1)), data.draw(st.integers(0, v))
    whole = meter_intervals(NO_READINGS, meters(), as_uses([(a, n, v, e)]))["volume_l"].sum()
    parts = [(a, at, share, e), (a + at, n - at, v - share, e)]
    assert meter_intervals(NO_READINGS, meters(), as_uses(parts))["volume_l"].sum() == pytest.approx(whole)
