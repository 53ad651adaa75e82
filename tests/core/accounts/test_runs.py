"""Runs: dates and times worked out on a calendar and a clock."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.accounts.run_minutes import run_minutes_by_day
from core.accounts.runs import runs_between, waters_on
from core.notation import parse_days
from tests.core.accounts.frames import DENVER, local, table

JULY = (date(2026, 7, 1), date(2026, 7, 7))  # Wednesday to Tuesday


def garden(
    *,
    programs: list[dict[str, Any]] | None = None,
    pauses: list[dict[str, Any]] | None = None,
    runs: list[dict[str, Any]] | None = None,
    checks: list[dict[str, Any]] | None = None,
    zones: list[dict[str, Any]] | None = None,
    follows: bool = True,
    span: tuple[date, date] = JULY,
) -> pd.DataFrame:
    """Runs of a garden with one controller; unless said otherwise the zone ``beds`` daily at 05:00 for 20 minutes."""
    base: dict[str, Any] = {
        "zone": "beds",
        "label": "a",
        "since": "2020-01-01",
        "days": "daily",
        "starts": "05:00",
        "minutes": 20,
    }
    named = zones or [{}]
    return runs_between(
        table("program", *({**base, **p} for p in ([{}] if programs is None else programs))),
        table("pause", *(pauses or [])),
        table("run", *({"zone": "beds", **r} for r in (runs or []))),
        table("controller", {"code": "box", "name": "Box", "follows_dst": follows}),
        table("clock_check", *({"controller": "box", **c} for c in (checks or []))),
        table("zone", *({"code": "beds", "name": "Beds", "supply": "city", "controller": "box", **z} for z in named)),
        DENVER,
        *span,
    )


def starts(found: pd.DataFrame) -> list[str]:
    return [f"{t:%m-%d %H:%M}" for t in found["start"].dt.tz_convert(DENVER)]


def day_numbers(found: pd.DataFrame) -> list[int]:
    return [d.day for d in found["day"]]


@pytest.mark.parametrize(
    ("days", "expected"),
    [
        ("daily", [1, 2, 3, 4, 5, 6, 7]),
        ("mon wed fri", [1, 3, 6]),
        ("odd", [1, 3, 5, 7]),
        ("even", [2, 4, 6]),
        ("every 3 from 2026-06-30", [3, 6]),
        ("every 3 from 2026-07-12", [3, 6]),
    ],
)
def test_days_of_a_program(days: str, expected: list[int]) -> None:
    assert day_numbers(garden(programs=[{"days": days}])) == expected


@given(
    st.sampled_from(["daily", "sun", "mon thu", "odd", "even", "every 2 from 2026-05-31", "every 5 from 2024-02-29"]),
    st.dates(date(2019, 12, 1), date(2031, 1, 1)),
)
def test_days_all_at_once_agree_with_the_pattern_day_by_day(text: str, first: date) -> None:
    pattern = parse_days(text)
    days = np.arange(np.datetime64(first), np.datetime64(first) + 70)
    assert waters_on(pattern, days).tolist() == [pattern.waters_on(first + timedelta(days=k)) for k in range(70)]


def test_times_minutes_percent_and_labels() -> None:
    found = garden(
        programs=[
            {"starts": "05:00 20:30", "minutes": 20, "percent": 80},
            {"label": "b", "days": "sat", "starts": "12:00", "minutes": 5},
        ],
        span=(date(2026, 7, 4), date(2026, 7, 4)),
    )
    assert starts(found) == ["07-04 05:00", "07-04 12:00", "07-04 20:30"]
    assert found["minutes"].tolist() == [16, 5, 16]
    assert found["label"].tolist() == ["a", "b", "a"]
    assert found["basis"].unique().tolist() == ["presumed"]
    assert (found["end"] - found["start"]).dt.total_seconds().tolist() == [960, 300, 960]


def test_a_program_changed_on_a_day_and_a_zone_out_of_use() -> None:
    found = garden(
        programs=[{"until": "2026-07-03", "minutes": 20}, {"since": "2026-07-03", "minutes": 35}],
        zones=[{"since": "2026-07-02", "until": "2026-07-05"}],
    )
    assert list(zip(day_numbers(found), found["minutes"], strict=True)) == [(2, 20), (3, 35), (4, 35)]


def test_no_runs_are_presumed_at_zero_percent_or_of_a_hand_zone() -> None:
    assert garden(programs=[{"percent": 0}]).empty
    assert garden(zones=[{"hand": True}]).empty
    assert garden(programs=[]).empty


def test_pauses_of_all_and_of_one_zone() -> None:
    two = [{"code": "beds"}, {"code": "tubs"}]
    found = garden(
        programs=[{}, {"zone": "tubs"}],
        zones=two,
        pauses=[
            {"scope": "all", "since": "2026-07-02", "until": "2026-07-04", "reason": "rain"},
            {"scope": "tubs", "since": "2026-07-06", "reason": "repair"},
        ],
    )
    assert day_numbers(found[found["zone"] == "beds"]) == [1, 4, 5, 6, 7]
    assert day_numbers(found[found["zone"] == "tubs"]) == [1, 4, 5]


def test_a_run_over_midnight_belongs_to_the_day_it_began() -> None:
    found = garden(programs=[{"starts": "23:50", "minutes": 30}], span=(date(2026, 7, 4), date(2026, 7, 5)))
    assert day_numbers(found) == [4, 5]
    minutes = run_minutes_by_day(found, DENVER, date(2026, 7, 4), date(2026, 7, 6))
    assert minutes["beds"].tolist() == [10, 30, 20]


# --- the controller's clock -----------------------------------------------------------------------------------


def test_a_controller_that_ignores_daylight_saving_keeps_winter_time() -> None:
    """Denver's winter offset is UTC-7: 05:00 on the box is 12:00 UTC all year, 06:00 on a summer wall clock."""
    summer = garden(follows=False, span=(date(2026, 7, 4), date(2026, 7, 4)))
    winter = garden(follows=False, span=(date(2026, 1, 4), date(2026, 1, 4)))
    assert starts(summer) == ["07-04 06:00"]
    assert starts(winter) == ["01-04 05:00"]


def test_a_late_start_on_winter_time_falls_on_the_next_summer_day() -> None:
    found = garden(
        follows=False, programs=[{"starts": "23:30", "days": "sat"}], span=(date(2026, 7, 5), date(2026, 7, 5))
    )
    assert starts(found) == ["07-05 00:30"]  # Saturday 4 July on the box


@pytest.mark.parametrize(
    ("day", "utc"),
    [(date(2026, 3, 8), "2026-03-08 09:30"), (date(2026, 11, 1), "2026-11-01 07:30")],
    ids=["skipped hour", "doubled hour"],
)
def test_nights_when_clocks_change(day: date, utc: str) -> None:
    """02:30 on 8 March never happened (taken an hour later); 01:30 on 1 November happened twice (the first counts)."""
    found = garden(programs=[{"starts": "02:30" if day.month == 3 else "01:30"}], span=(day, day))
    assert [f"{t:%Y-%m-%d %H:%M}" for t in found["start"]] == [utc]


# --- what was written down ------------------------------------------------------------------------------------


def test_a_recorded_start_within_two_hours_replaces_the_presumed_run() -> None:
    found = garden(
        programs=[{"starts": "05:00 20:00"}],
        runs=[{"at": local("2026-07-04T06:40"), "duration_min": 33, "why": "late"}],
        span=(date(2026, 7, 4), date(2026, 7, 4)),
    )
    assert starts(found) == ["07-04 06:40", "07-04 20:00"]
    assert found["minutes"].tolist() == [33, 20]
    assert found["basis"].tolist() == ["ran", "presumed"]
    assert found["label"].tolist() == ["a", "a"]
    assert found["why"].tolist() == ["late", ""]


def test_a_recorded_start_further_off_is_a_run_of_its_own() -> None:
    found = garden(
        runs=[{"at": local("2026-07-04T09:00"), "duration_min": 12}], span=(date(2026, 7, 4), date(2026, 7, 4))
    )
    assert starts(found) == ["07-04 05:00", "07-04 09:00"]
    assert found["label"].tolist() == ["a", ""]
    assert found["basis"].tolist() == ["presumed", "ran"]


def test_each_record_replaces_one_run_the_nearest() -> None:
    found = garden(
        programs=[{"starts": "05:00 06:00"}],
        runs=[
            {"at": local("2026-07-04T05:40"), "duration_min": 9},
            {"at": local("2026-07-04T06:01"), "duration_min": 8},
        ],
        span=(date(2026, 7, 4), date(2026, 7, 4)),
    )
    assert found["minutes"].tolist() == [9, 8]
    assert found["basis"].tolist() == ["ran", "ran"]


def test_a_recorded_miss_keeps_what_would_have_been() -> None:
    found = garden(
        runs=[{"at": local("2026-07-04T05:00"), "ran": False, "why": "battery"}],
        span=(date(2026, 7, 4), date(2026, 7, 4)),
    )
    assert found["basis"].tolist() == ["did_not"]
    assert found["minutes"].tolist() == [20]
    assert found["why"].tolist() == ["battery"]


def day_record(day: str, **more: Any) -> dict[str, Any]:
    return {"at": local(f"{day}T12:00"), "at_exact": "day", **more}


def test_a_day_alone_stands_for_all_runs_of_that_day() -> None:
    program = [{"starts": "05:00 20:00", "minutes": 20}]
    missed = garden(
        programs=program, runs=[day_record("2026-07-04", ran=False)], span=(date(2026, 7, 4), date(2026, 7, 5))
    )
    assert missed["basis"].tolist() == ["did_not", "did_not", "presumed", "presumed"]
    ran = garden(
        programs=program, runs=[day_record("2026-07-04", duration_min=60)], span=(date(2026, 7, 4), date(2026, 7, 4))
    )
    assert ran["basis"].tolist() == ["ran", "ran"]
    assert ran["minutes"].tolist() == [30, 30]
    assert starts(ran) == ["07-04 05:00", "07-04 20:00"]


def test_an_exact_record_goes_before_the_days_record() -> None:
    found = garden(
        programs=[{"starts": "05:00 20:00"}],
        runs=[
            {"at": local("2026-07-04T05:05"), "duration_min": 21},
            day_record("2026-07-04", ran=False, why="holiday"),
        ],
        span=(date(2026, 7, 4), date(2026, 7, 4)),
    )
    assert found["basis"].tolist() == ["ran", "did_not"]
    assert found["why"].tolist() == ["", "holiday"]


def test_records_where_nothing_was_presumed() -> None:
    found = garden(programs=[], runs=[day_record("2026-07-04", duration_min=25), day_record("2026-07-05", ran=False)])
    assert starts(found) == ["07-04 12:00", "07-05 12:00"]
    assert found["basis"].tolist() == ["ran", "did_not"]
    assert found["minutes"].tolist() == [25, 0]


def test_a_record_in_a_pause_counts() -> None:
    found = garden(
        pauses=[{"scope": "all", "since": "2026-07-01"}], runs=[{"at": local("2026-07-04T05:00"), "duration_min": 10}]
    )
    assert starts(found) == ["07-04 05:00"]
    assert found["basis"].tolist() == ["ran"]


def test_a_record_of_another_zone_replaces_nothing() -> None:
    found = garden(
        zones=[{"code": "beds"}, {"code": "tubs"}],
        runs=[{"zone": "tubs", "at": local("2026-07-04T05:00"), "duration_min": 10}],
        span=(date(2026, 7, 4), date(2026, 7, 4)),
    )
    assert found["zone"].tolist() == ["beds", "tubs"]
    assert found["basis"].tolist() == ["presumed", "ran"]


def test_an_empty_book_has_no_runs_and_the_right_columns() -> None:
    found = runs_between(
        *(table(k) for k in ("program", "pause", "run", "controller", "clock_check", "zone")), DENVER, *JULY
    )
    assert list(found) == ["zone", "label", "day", "start", "end", "minutes", "basis", "why"]
    assert found.empty
    assert str(found["start"].dtype) == "datetime64[ns, UTC]"
