"""Registers to intervals: every expected volume is the difference a person would take by hand."""

from __future__ import annotations

import math
from datetime import timedelta
from typing import Any

import pandas as pd
import pytest

from core.accounts.registers import billed_units, meter_intervals
from tests.core.accounts.frames import GALLON_L, gal, local, meters, readings, table

NO_USE = table("metered_use")
NO_READINGS = table("meter_reading")
FELL = "register fell: changed meter?"


def test_irregular_readings_give_their_differences_and_instants() -> None:
    found = meter_intervals(
        readings(("2026-07-01T07:00", 1200), ("2026-07-01T19:30", 1450), ("2026-07-09T06:10", 1450)), meters(), NO_USE
    )
    assert gal(found) == [250, 0]
    assert found["start"].tolist() == [pd.Timestamp("2026-07-01T13:00Z"), pd.Timestamp("2026-07-02T01:30Z")]
    assert found["end"].tolist() == [pd.Timestamp("2026-07-02T01:30Z"), pd.Timestamp("2026-07-09T12:10Z")]
    assert found["source"].tolist() == ["register", "register"]
    assert not found["estimated"].any()


def test_order_in_the_file_does_not_matter() -> None:
    three = readings(("2026-07-03T07:00", 30), ("2026-07-01T07:00", 10), ("2026-07-02T07:00", 15))
    assert gal(meter_intervals(three, meters(), NO_USE)) == [5, 15]


def test_spread_is_the_step_over_root_six() -> None:
    found = meter_intervals(readings(("2026-07-01T07:00", 10), ("2026-07-02T07:00", 40)), meters(resolution=10), NO_USE)
    assert found["sd_l"][0] == pytest.approx(10 * GALLON_L / math.sqrt(6))
    assert found["resolution_l"][0] == pytest.approx(10 * GALLON_L)


@pytest.mark.parametrize(("step", "draws"), [(1.0, 4000), (10.0, 4000)])
def test_spread_agrees_with_floored_true_counts(step: float, draws: int) -> None:
    """Simulated: the error of a difference of floored counts, against the stated standard deviation."""
    true = [(0.123 + 0.618034 * k * step * 7.31) for k in range(draws)]
    floored = [math.floor(t / step) * step for t in true]
    errors = [(floored[k + 1] - floored[k]) - (true[k + 1] - true[k]) for k in range(draws - 1)]
    measured = math.sqrt(sum(e * e for e in errors) / len(errors))
    found = meter_intervals(
        readings(("2026-07-01T07:00", 0), ("2026-07-02T07:00", 500)), meters(resolution=step, unit="l"), NO_USE
    )
    assert measured == pytest.approx(found["sd_l"][0], rel=0.25)


def test_readings_of_unlike_step_are_centred() -> None:
    """A gallon reading of 1,234,567 and a bill's 12,345 hundreds an instant later mean about no use, not -67 gal."""
    rows = readings(("2026-07-01T07:00", 1_234_567), ("2026-07-01T08:00", 1_234_500))
    rows.loc[1, "resolution"] = 100
    found = meter_intervals(rows, meters(), NO_USE)
    assert gal(found) == [-67 + (100 - 1) / 2]
    assert found["note"][0] == ""
    assert found["sd_l"][0] == pytest.approx(math.sqrt((100**2 + 1) / 12) * GALLON_L)


@pytest.mark.parametrize(
    ("digits", "before", "after", "use"),
    [(7, 9_999_980, 120, 140), (4, 9_998, 3, 5), (6, 950_000, 700, 50_700)],
)
def test_a_register_near_its_top_rolls_over(digits: int, before: float, after: float, use: float) -> None:
    rows = readings(("2026-07-01T07:00", before), ("2026-07-31T07:00", after))
    found = meter_intervals(rows, meters(digits=digits), NO_USE)
    assert gal(found) == [use]
    assert found["note"][0] == "register rolled over"


def test_a_fall_far_from_the_top_is_no_rollover() -> None:
    found = meter_intervals(
        readings(
            ("2026-07-01T07:00", 1_000), ("2026-07-02T07:00", 1_200), ("2026-07-09T07:00", 15), ("2026-07-10T07:00", 90)
        ),
        meters(digits=4),
        NO_USE,
    )
    assert gal(found) == [200, None, 75]
    assert found["note"].tolist() == ["", FELL, ""]


def test_near_the_top_an_implausible_wrap_is_no_rollover() -> None:
    """Weekly use of 500 gal; a fall from 9,500 to 8,000 would be 8,500 gal in a week."""
    weekly = [
        (f"2026-0{m}-0{d}T07:00", v)
        for (m, d), v in zip([(5, 1), (5, 8), (6, 1), (6, 8)], (7500, 8000, 9000, 9500), strict=True)
    ]
    found = meter_intervals(readings(*weekly, ("2026-06-15T07:00", 8000)), meters(digits=4), NO_USE)
    assert gal(found)[-1] is None
    assert found["note"].iloc[-1] == FELL


def test_a_small_step_back_is_kept() -> None:
    found = meter_intervals(
        readings(("2026-07-01T07:00", 500), ("2026-07-02T07:00", 498), ("2026-07-03T07:00", 600)), meters(), NO_USE
    )
    assert gal(found) == [-2, 102]
    assert found["note"][0] == "register went back a little"


def test_a_changed_register_is_bridged_by_its_last_number() -> None:
    rows = readings(("2026-07-01T07:00", 5_000), ("2026-07-08T07:00", 12), ("2026-07-15T07:00", 312))
    rows.loc[1, ["first_after_change", "old_final"]] = [True, 5_400]
    found = meter_intervals(rows, meters(), NO_USE)
    assert gal(found) == [400, 300]
    assert found["note"][0] == "register changed"


def test_a_changed_register_without_its_last_number_leaves_a_gap() -> None:
    """Also where the new register starts above the old: no jump of 85,000 gal."""
    rows = readings(("2026-07-01T07:00", 5_000), ("2026-07-08T07:00", 90_000), ("2026-07-15T07:00", 90_300))
    rows.loc[1, "first_after_change"] = True
    found = meter_intervals(rows, meters(), NO_USE)
    assert gal(found) == [None, 300]
    assert "last number is not known" in found["note"][0]


def test_an_old_register_may_roll_over_before_it_is_changed() -> None:
    rows = readings(("2026-07-01T07:00", 9_999_900), ("2026-07-08T07:00", 0), ("2026-07-15T07:00", 300))
    rows.loc[1, ["first_after_change", "old_final"]] = [True, 250]
    assert gal(meter_intervals(rows, meters(), NO_USE)) == [350, 300]


def test_a_real_reading_settles_estimates_before_it() -> None:
    """The estimate ran 200 gal ahead: no use of 900 and then a fall, but 700 gal in all."""
    rows = readings(("2026-05-01T07:00", 1_000), ("2026-06-01T07:00", 1_900), ("2026-07-01T07:00", 1_700))
    rows.loc[1, "how"] = "estimated"
    found = meter_intervals(rows, meters(), NO_USE)
    assert gal(found) == [700]
    assert not found["estimated"][0]
    assert found["start"][0] == pd.Timestamp("2026-05-01T13:00Z")


def test_an_estimate_nothing_has_settled_is_marked_and_wide() -> None:
    rows = readings(("2026-05-01T07:00", 1_000), ("2026-06-01T07:00", 1_900))
    rows.loc[1, "how"] = "estimated"
    found = meter_intervals(rows, meters(), NO_USE)
    assert gal(found) == [900]
    assert found["estimated"][0]
    assert found["sd_l"][0] >= 0.25 * 900 * GALLON_L


def test_an_estimate_before_a_changed_register_is_kept_when_the_old_number_is_unknown() -> None:
    rows = readings(
        ("2026-05-01T07:00", 1_000), ("2026-06-01T07:00", 1_900), ("2026-07-01T07:00", 3), ("2026-07-08T07:00", 103)
    )
    rows.loc[1, "how"] = "estimated"
    rows.loc[2, "first_after_change"] = True
    found = meter_intervals(rows, meters(), NO_USE)
    assert gal(found) == [900, None, 100]
    assert found["estimated"].tolist() == [True, True, False]


def test_two_entries_for_one_instant() -> None:
    rows = readings(
        ("2026-07-01T07:00", 100),
        ("2026-07-02T07:00", 150),
        ("2026-07-02T07:00", 160),
        ("2026-07-02T07:00", 155),
        ("2026-07-03T07:00", 200),
    )
    rows.loc[3, "how"] = "estimated"
    found = meter_intervals(rows, meters(), NO_USE)
    assert gal(found) == [60, 40]
    assert found["note"].tolist() == ["two readings of one instant; the later entry counts", ""]


def test_equal_entries_for_one_instant_are_one() -> None:
    rows = readings(("2026-07-01T07:00", 100), ("2026-07-02T07:00", 150), ("2026-07-02T07:00", 150))
    found = meter_intervals(rows, meters(), NO_USE)
    assert gal(found) == [50]
    assert found["note"].tolist() == [""]


def weekly(*values: float) -> pd.DataFrame:
    return readings(
        *[((local("2026-03-02T07:00") + timedelta(weeks=k)).isoformat()[:16], v) for k, v in enumerate(values)]
    )


@pytest.mark.parametrize("after", [3_994, 20_000, 30_000], ids=["stuck valve", "pool", "main open for days"])
def test_a_fault_does_not_hide_behind_a_rollover(after: int) -> None:
    """Six digits, some 700 gal a week; a utility rings about 5,000 gal a day (Truckee Donner PUD), 35,000 in seven."""
    found = meter_intervals(weekly(993_900, 994_600, 995_300, 996_099, after, after + 706), meters(digits=6), NO_USE)
    assert gal(found) == [700, 700, 799, 1_000_000 - 996_099 + after, 706]
    assert found["note"].tolist() == ["", "", "", "register rolled over", ""]


def test_nor_in_one_hour_of_an_hourly_register() -> None:
    """600 gal in the hour of a rollover: an open hose bib for a day would be no more than the 5,000 gal."""
    at = [(local("2026-07-01T07:00") + timedelta(hours=k)).isoformat()[:16] for k in range(6)]
    values = [999_740, 999_760, 999_785, 999_800, 400, 1_000]
    found = meter_intervals(readings(*zip(at, values, strict=True)), meters(digits=6), NO_USE)
    assert gal(found) == [20, 25, 15, 600, 600]


@pytest.mark.parametrize(("before", "after"), [(996_099, 40_000), (996_099, 120_000), (890_000, 300)])
def test_more_than_a_utility_would_ring_about_or_far_from_the_top_is_no_rollover(before: int, after: int) -> None:
    rows = weekly(before - 1_400, before - 700, before, after, after + 700)
    found = meter_intervals(rows, meters(digits=6), NO_USE)
    assert gal(found) == [700, 700, None, 700]
    assert found["note"][2] == FELL


def test_a_change_of_register_goes_before_a_rollover_and_can_tell_of_one() -> None:
    """Where the old one's last number is given past its top, it rolled over: 1,040,000 less 996,099."""
    rows = weekly(994_700, 995_400, 996_099, 3_994, 4_700)
    rows.loc[3, "first_after_change"] = True
    assert gal(meter_intervals(rows, meters(digits=6), NO_USE)) == [700, 699, None, 706]
    rows = weekly(994_700, 995_400, 996_099, 40_000, 40_700)
    rows.loc[3, ["first_after_change", "old_final"]] = [True, 1_040_000]
    assert gal(meter_intervals(rows, meters(digits=6), NO_USE)) == [700, 699, 43_901, 700]


def test_a_misread_near_the_top_is_left_out_and_no_rollover() -> None:
    """9,970 for 996,970: the next reading goes on from the one before."""
    found = meter_intervals(weekly(994_700, 995_400, 996_100, 9_970, 997_600, 998_300), meters(digits=6), NO_USE)
    assert gal(found) == [700, 700, 1_500, 700]
    assert "9,970" in found["note"][2]


@pytest.mark.parametrize("typed", [1_060, 16_200, 99_999], ids=["low digit", "digit added", "another meter"])
def test_a_misread_between_readings_that_follow_each_other_is_left_out(typed: float) -> None:
    """Register by week 10,000 10,500 11,000 11,600 12,000 with the fourth misread."""
    found = meter_intervals(weekly(10_000, 10_500, 11_000, typed, 12_000, 12_400), meters(), NO_USE)
    assert gal(found) == [500, 500, 1_000, 400]
    assert f"a reading of {typed:,} fits neither" in found["note"][2]
    assert (found["end"][:-1].reset_index(drop=True) == found["start"][1:].reset_index(drop=True)).all()


def test_two_registers_under_one_meter_invent_no_volume() -> None:
    """Two interleaved registers, 65,600 gal apart: the true one goes on through them."""
    mixed = weekly(1_000, 1_300, 66_900, 1_900, 67_500, 2_500, 2_800)
    found = meter_intervals(mixed, meters(), NO_USE)
    assert sum(v for v in gal(found) if v is not None) == 1_800


def test_swapped_digits_are_left_out_when_two_later_readings_stand_below_them() -> None:
    """A register never goes back: 11,200 cannot be followed by 10,950 and 11,100. The sum stays."""
    found = meter_intervals(weekly(10_000, 10_500, 11_200, 10_950, 11_100, 11_600), meters(), NO_USE)
    assert gal(found) == [500, 450, 150, 500]
    assert "11,200" in found.iloc[1]["note"]


def test_a_reading_far_too_low_is_left_out() -> None:
    """10,095 for 10,950: lower than two readings before it, and the next goes on from them."""
    found = meter_intervals(weekly(10_000, 10_200, 10_500, 10_095, 11_400), meters(), NO_USE)
    assert gal(found) == [200, 300, 900]
    assert "10,095" in found.iloc[2]["note"]


def test_a_plausible_disagreement_is_not_silently_mended() -> None:
    """11,100 then 10,950: either may be wrong, so the fall stays a gap for a person to look at."""
    found = meter_intervals(weekly(10_000, 10_500, 11_100, 10_950, 11_700), meters(), NO_USE)
    assert gal(found) == [500, 600, None, 750]


def test_more_than_a_meter_can_pass_is_no_use() -> None:
    found = meter_intervals(readings(("2026-07-01T07:00", 100), ("2026-07-01T08:00", 90_100)), meters(), NO_USE)
    assert gal(found) == [None]
    assert "misread?" in found["note"][0]


def test_a_register_that_stands_still_against_its_habit_is_remarked() -> None:
    found = meter_intervals(weekly(100, 600, 1_100, 1_100, 2_100), meters(), NO_USE)
    assert found["note"].tolist() == ["", "", "same number as before: was it read?", ""]
    assert gal(found) == [500, 500, 0, 1_000]


@pytest.mark.parametrize("rows", [NO_READINGS, readings(("2026-07-01T07:00", 100))], ids=["none", "one"])
def test_too_little_to_say_anything(rows: pd.DataFrame) -> None:
    found = meter_intervals(rows, meters(), NO_USE)
    assert found.empty
    assert list(found) == ["meter", "start", "end", "volume_l", "sd_l", "resolution_l", "source", "estimated", "note"]
    assert str(found["start"].dtype) == "datetime64[ns, UTC]"
    assert found["estimated"].dtype == bool


def test_units_and_meters_keep_apart() -> None:
    both = table(
        "meter", *({"code": c, "name": c, "supply": "city", "unit": u} for c, u in (("a", "ccf"), ("b", "m3")))
    )
    rows = table(
        "meter_reading",
        *({"meter": m, "at": local(f"2026-07-{d:02}T07:00"), "register_value": v} for m, d, v in
          (("b", 1, 10), ("a", 1, 5), ("b", 2, 12), ("a", 2, 6))),
    )  # fmt: skip
    found = meter_intervals(rows, both, NO_USE).set_index("meter")["volume_l"]
    assert found["a"] == pytest.approx(2831.6846592)  # 100 cubic feet, NIST Handbook 44
    assert found["b"] == pytest.approx(2000)


@pytest.mark.parametrize(
    ("value", "step", "rule", "units"),
    [
        (34_458, 100, "down", 344),
        (4_001, 100, "up", 41),
        (4_000, 100, "up", 40),
        (0.3, 0.1, "down", 3),
        (250, 100, "none", 2.5),
    ],
)
def test_billing_steps(value: float, step: float, rule: Any, units: float) -> None:
    assert billed_units(value, step, rule) == units
