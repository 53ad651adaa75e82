"""The best method of each day, its notes, gaps, and mistakes of unit."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest

from core.errors import EntryError
from core.water.reference_et import daily_reference_et

DAYS = pd.date_range("2026-07-01", "2026-07-10")
PLACE: dict[str, Any] = {"latitude_deg": 43.6, "elevation_m": 820.0}
NORMALS = pd.DataFrame(
    {
        "month": range(1, 13),
        "tmin_c": np.linspace(-5, 14, 12),
        "tmax_c": np.linspace(3, 31, 12),
        "rain_mm": 20.0,
        "reference_et_mm": [np.nan] * 6 + [217.0] + [np.nan] * 5,
    }
)


def row(day: str, station: str = "home", **values: float) -> dict[str, Any]:
    return {"station": station, "day": pd.Timestamp(day), "tmin_c": 14.0, "tmax_c": 32.0} | values


def run(*rows: dict[str, Any], days: pd.DatetimeIndex = DAYS[:1], **options: Any) -> pd.DataFrame:
    return daily_reference_et(pd.DataFrame(list(rows)), days, **PLACE, **options)


FULL = {"dewpoint_c": 8.0, "wind_mps": 2.0, "wind_height_m": 2.0, "solar_mj_m2": 26.0}


def test_order_of_methods_over_stations() -> None:
    measured = row("2026-07-01", "airport", reference_et_mm=7.1)
    full = row("2026-07-01", "school", **FULL)
    plain = row("2026-07-01", "porch")
    assert run(plain, full, measured).iloc[0]["method"] == "measured"
    assert run(plain, full, measured).iloc[0]["reference_et_mm"] == 7.1
    assert run(plain, full).iloc[0]["method"] == "penman-monteith"
    assert run(plain, full).iloc[0]["note"] == "station school"
    assert run(plain).iloc[0]["method"] == "hargreaves"


def test_two_of_three_are_enough_for_penman_monteith_and_the_third_is_named() -> None:
    for missing, words in (
        ("dewpoint_c", "FAO-56 eq. 48"),
        ("wind_mps", "2 m/s taken"),
        ("solar_mj_m2", "FAO-56 eq. 50"),
    ):
        values = {k: v for k, v in FULL.items() if k != missing}
        found = run(row("2026-07-01", **values)).iloc[0]
        assert found["method"] == "penman-monteith"
        assert words in found["note"]
        del values[next(k for k in values if k != "wind_height_m")]
        assert run(row("2026-07-01", **values)).iloc[0]["method"] == "hargreaves"


def test_other_replacements_are_named() -> None:
    high = run(row("2026-07-01", humidity_max=80.0, wind_mps=2.0, sunshine_hours=10.0)).iloc[0]
    assert "eq. 18" in high["note"]
    assert "eq. 35" in high["note"]
    assert "height of the wind gauge" in high["note"]
    assert run(row("2026-07-01", humidity_min=30.0, humidity_max=80.0, **FULL)).iloc[0]["note"] == ""


def test_missing_days_take_normals_and_say_so() -> None:
    found = run(row("2026-07-01"), days=DAYS, normals=NORMALS)
    assert list(found["method"]) == ["hargreaves"] + ["normals"] * 9
    assert found["reference_et_mm"].iloc[1] == pytest.approx(7.0)  # 217 mm over 31 days
    assert "spread evenly" in found["note"].iloc[1]
    june = daily_reference_et(pd.DataFrame(), pd.DatetimeIndex(["2026-06-15"]), **PLACE, normals=NORMALS).iloc[0]
    assert june["method"] == "normals"
    assert june["reference_et_mm"] > 1
    assert "usual temperatures" in june["note"]


def test_without_anything_a_day_is_unknown_never_zero() -> None:
    found = daily_reference_et(pd.DataFrame(), DAYS, **PLACE)
    assert found["reference_et_mm"].isna().all()
    assert (found["method"] == "none").all()
    assert found["note"].str.contains("no weather").all()


def test_short_gaps_are_bridged_and_long_ones_are_not() -> None:
    days = pd.date_range("2026-07-01", "2026-07-31")
    ends = [row(d, reference_et_mm=v) for d, v in (("2026-07-01", 4.0), ("2026-07-05", 8.0), ("2026-07-20", 5.0))]
    found = run(*ends, days=days)
    assert list(found["reference_et_mm"].iloc[:5]) == [4.0, 5.0, 6.0, 7.0, 8.0]
    assert list(found["method"].iloc[:5]) == ["measured", "bridged", "bridged", "bridged", "measured"]
    assert (found["method"].iloc[5:19] == "none").all()  # 14 days are too many
    assert (found["method"].iloc[20:] == "none").all()  # nothing after the last known day


def test_leap_day_and_both_years_around_it() -> None:
    days = pd.date_range("2024-02-28", "2024-03-01")
    found = run(*[row(str(d.date())) for d in days], days=days)
    values = found["reference_et_mm"].to_numpy()
    assert len(values) == 3
    assert values[0] < values[1] < values[2]  # the sun climbs day by day through 29 February
    last = pd.DatetimeIndex(["2024-12-31"])  # J = 366
    assert run(row("2024-12-31"), days=last)["reference_et_mm"].iloc[0] > 0


def test_southern_summer_is_in_january() -> None:
    days = pd.DatetimeIndex(["2026-01-15", "2026-07-15"])
    rows = pd.DataFrame([row("2026-01-15"), row("2026-07-15")])
    january, july = daily_reference_et(rows, days, -43.6, 20.0)["reference_et_mm"]
    assert january > 2 * july


def test_polar_night_answers_zero_and_says_why() -> None:
    night = pd.DatetimeIndex(["2026-12-21"])
    cold = pd.DataFrame([row("2026-12-21") | {"tmin_c": -20.0, "tmax_c": -10.0}])
    found = daily_reference_et(cold, night, 78.2, 10.0).iloc[0]
    assert found["reference_et_mm"] == 0.0
    assert "polar night" in found["note"]
    full = pd.DataFrame([row("2026-12-21") | FULL | {"tmin_c": -20.0, "tmax_c": -10.0, "dewpoint_c": -22.0}])
    full["solar_mj_m2"] = 0.0
    found = daily_reference_et(full, night, 78.2, 10.0).iloc[0]
    assert found["method"] == "penman-monteith"
    assert 0 <= found["reference_et_mm"] < 1
    usual = daily_reference_et(pd.DataFrame(), night, 78.2, 10.0, NORMALS).iloc[0]
    assert "polar night" in usual["note"]
    november = pd.DataFrame([row("2026-02-10")])
    weak = daily_reference_et(november, pd.DatetimeIndex(["2026-02-10"]), 60.0, 10.0).iloc[0]
    assert "above 55 degrees" in weak["note"]


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"tmin_c": 58.0, "tmax_c": 92.0}, "Fahrenheit"),
        ({"tmin_c": 287.0, "tmax_c": 305.0}, "kelvin"),
        ({"humidity_min": 0.3, "humidity_max": 0.8}, "multiply by 100"),
        ({"solar_mj_m2": 290.0}, "0.0864"),
        ({"wind_mps": 30.0}, "m/s"),
        ({"reference_et_mm": 0.28}, "inches"),
    ],
)
def test_classic_mistakes_of_unit_are_refused(changed: dict[str, float], words: str) -> None:
    rows = [row(str(d.date()), **changed) for d in DAYS]
    with pytest.raises(EntryError, match=words):
        run(*rows, days=DAYS)


def test_impossible_place_is_refused() -> None:
    with pytest.raises(EntryError, match="latitude"):
        daily_reference_et(pd.DataFrame(), DAYS, 436.0, 0.0)
    with pytest.raises(EntryError, match="feet"):
        daily_reference_et(pd.DataFrame(), DAYS, 43.6, 12000.0)


def test_one_impossible_value_is_left_out_and_noted() -> None:
    rows = [row(str(d.date()), **FULL) for d in DAYS]
    rows[3]["solar_mj_m2"] = 49.0  # more than the top of the air gets
    rows[4]["tmin_c"], rows[4]["tmax_c"] = 30.0, 20.0
    found = run(*rows, days=DAYS)
    assert "cannot be" in found["note"].iloc[3]
    assert "eq. 50" in found["note"].iloc[3]
    assert found["method"].iloc[4] == "bridged"
    assert (found["reference_et_mm"] > 0).all()


def test_calibration_needs_enough_days() -> None:
    rows = [row(str(d.date()), **FULL) for d in DAYS[:9]] + [row("2026-07-10")]
    plain, fitted = run(*rows, days=DAYS), run(*rows, days=DAYS, calibrate=True)
    assert plain["reference_et_mm"].iloc[-1] == fitted["reference_et_mm"].iloc[-1]
    assert "calibrated" not in fitted["note"].iloc[-1]
