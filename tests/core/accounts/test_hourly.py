"""Quarter-hour and five-minute files: joined to hours nothing is lost, and they find what hourly ones find."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.accounts.findings import Finding
from core.accounts.hourly import Intervals, by_the_hour, intervals_until
from tests.core.accounts import books

ZONES = [ZoneInfo(z) for z in ("America/Denver", "Asia/Kolkata", "Asia/Kathmandu", "Australia/Lord_Howe", "UTC")]
UTC_ZONE = ZoneInfo("UTC")
LATER = 1e9  # hours since 1970: all readings have ended


def made(
    minutes: list[int], begin: str = "2026-07-01T06:00", source: str = "register", step_l: float = 1.0
) -> pd.DataFrame:
    """Intervals of so many minutes in a row, of 1, 2, 3, ... litres."""
    at = pd.Timestamp(begin, tz="UTC") + pd.to_timedelta(np.cumsum([0, *minutes]), unit="min")
    return pd.DataFrame(
        {
            "meter": "main",
            "start": at[:-1],
            "end": at[1:],
            "volume_l": np.arange(1.0, len(minutes) + 1),
            "sd_l": step_l / 6**0.5,
            "resolution_l": step_l,
            "source": source,
            "estimated": False,
            "note": "",
        }
    )


def joined(frame: pd.DataFrame, zone: ZoneInfo = UTC_ZONE) -> Intervals:
    return by_the_hour(intervals_until(frame, LATER), zone)


def spans(frame: pd.DataFrame, zone: ZoneInfo = UTC_ZONE) -> list[tuple[str, str]]:
    found = joined(frame, zone)
    clock = [[pd.Timestamp(round(h * 3600), unit="s", tz="UTC") for h in edge] for edge in (found.start, found.end)]
    return [(f"{a.tz_convert(zone):%H:%M}", f"{b.tz_convert(zone):%H:%M}") for a, b in zip(*clock, strict=True)]


def test_quarter_hours_end_with_the_hours() -> None:
    found = joined(made([15] * 12))
    assert spans(made([15] * 12)) == [("06:00", "07:00"), ("07:00", "08:00"), ("08:00", "09:00")]
    assert found.volume.tolist() == [1 + 2 + 3 + 4, 5 + 6 + 7 + 8, 9 + 10 + 11 + 12]


def test_hours_are_those_of_the_homes_clock() -> None:
    kolkata, kathmandu = ZONES[1], ZONES[2]  # 5 h 30 and 5 h 45 ahead of UTC (tz database)
    assert spans(made([15] * 8, "2026-07-01T06:30"), kolkata) == [("12:00", "13:00"), ("13:00", "14:00")]
    assert spans(made([15] * 8, "2026-07-01T06:15"), kathmandu) == [("12:00", "13:00"), ("13:00", "14:00")]


def test_both_of_the_doubled_hours_are_kept() -> None:
    """In Denver 1 November 2026 has 1:00 to 2:00 twice, at 7:00 and 8:00 UTC (tz database)."""
    found = joined(made([15] * 16, "2026-11-01T06:00"), ZONES[0])
    assert np.allclose(found.end - found.start, 1.0)
    assert len(found.start) == 4


@pytest.mark.parametrize(
    ("minutes", "expected"),
    [
        ([15] * 5, [("06:00", "07:15")]),  # a quarter at the end joins the hour before it
        ([15] * 6, [("06:00", "07:00"), ("07:00", "07:30")]),  # half an hour would make it too long
        ([15] * 7, [("06:00", "07:00"), ("07:00", "07:45")]),  # 45 minutes are about an hour
        ([15], [("06:00", "06:15")]),
        ([60, 15, 60], [("06:00", "07:00"), ("07:00", "07:15"), ("07:15", "08:15")]),  # hours stay as they are
        ([10, 10], [("06:00", "06:20")]),
    ],
)
def test_what_is_left_of_an_hour(minutes: list[int], expected: list[tuple[str, str]]) -> None:
    assert spans(made(minutes)) == expected


def test_what_is_left_before_the_first_hour_joins_it() -> None:
    assert spans(made([15] * 9, "2026-07-01T05:45")) == [("05:45", "07:00"), ("07:00", "08:00")]


def test_unknown_and_estimated_volumes_are_not_joined_with_others() -> None:
    frame = made([15] * 12)
    frame.loc[5, "volume_l"] = np.nan
    frame.loc[8:11, "estimated"] = True
    assert spans(frame) == [
        ("06:00", "07:15"), ("07:15", "07:30"), ("07:30", "08:00"), ("08:00", "09:00"),
    ]  # fmt: skip
    assert joined(frame).usable.tolist() == [True, False, True, False]


def test_a_gap_is_not_bridged() -> None:
    frame = made([15] * 8).drop(index=2)
    assert spans(frame) == [("06:00", "06:30"), ("06:45", "08:00")]


def test_register_readings_between_the_ends_do_not_add_to_the_error() -> None:
    """A difference of two floored counts has variance step^2 / 6; four volumes rounded on their own four times that
    (arithmetic)."""
    assert joined(made([15] * 4, step_l=10)).read_sd == pytest.approx(10 / 6**0.5)
    assert joined(made([15] * 4, source="use", step_l=10)).read_sd == pytest.approx(2 * 10 / 6**0.5)


def test_notes_are_kept_once() -> None:
    frame = made([15] * 8)
    frame.loc[[1, 2], "note"] = "register went back a little"
    frame.loc[3, "note"] = "register rolled over"
    assert joined(frame).notes.tolist() == ["register went back a little; register rolled over", ""]


@given(
    minutes=st.lists(st.sampled_from([5, 7, 15, 15, 15, 20, 30, 40, 45, 60, 90, 1440]), min_size=1, max_size=60),
    state=st.lists(st.sampled_from(["", "", "", "", "gap", "unknown", "estimated"]), min_size=60, max_size=60),
    begin=st.integers(0, 60 * 24 * 365),
    zone=st.sampled_from(ZONES),
    source=st.sampled_from(["register", "use"]),
)
@settings(max_examples=200, deadline=None)
def test_nothing_is_lost(minutes: list[int], state: list[str], begin: int, zone: ZoneInfo, source: str) -> None:
    first = datetime(2026, 1, 1, tzinfo=UTC) + timedelta(minutes=begin)
    frame = made(minutes, first.replace(tzinfo=None).isoformat(), source)
    state = state[: len(frame)]
    frame["estimated"] = [s == "estimated" for s in state]
    frame.loc[[s == "unknown" for s in state], "volume_l"] = np.nan
    frame = frame[[s != "gap" for s in state]].reset_index(drop=True)
    before, after = intervals_until(frame, LATER), joined(frame, zone)
    assert (after.end[:-1] <= after.start[1:] + 1e-9).all()
    assert np.nansum(after.volume) == pytest.approx(np.nansum(before.volume))
    for usable in (True, False):  # time and litres of each state
        was, now = before.usable == usable, after.usable == usable
        assert np.nansum(after.volume[now]) == pytest.approx(np.nansum(before.volume[was]))
        assert (after.end - after.start)[now].sum() == pytest.approx((before.end - before.start)[was].sum(), abs=1e-6)
    rows = set(zip(after.start, after.end, after.volume, after.read_sd, strict=True))
    hours = before.end - before.start
    for k in np.flatnonzero((hours >= 0.7) & np.isfinite(before.volume)):
        assert (before.start[k], before.end[k], before.volume[k], before.read_sd[k]) in rows
    assert np.isin(after.start, before.start).all()
    assert np.isin(after.end, before.end).all()
    grown = ~np.isin(after.start, before.start[hours >= 0.7])
    assert ((after.end - after.start)[grown] <= 1.6).all()  # an hour, and the pieces of at most 42 min at its edges
    assert (after.read_sd >= before.read_sd.min(initial=np.inf) - 1e-12).all()


# --- a quarter-hour home ----------------------------------------------------------------------------------------


def quarter_home(more: dict[int, float], days: int, per_hour: int, seed: int = 3) -> books.PlainHome:
    """A home with a register of whole litres read so many times an hour; ``more`` is litres by hour of the record.

    Within an hour water comes unevenly, what leaks and what zones bring evenly.
    """
    home = books.plain_home(1 / 24, days=days)
    even = sum(home.zone_l.values()) + np.array([more.get(h, 0.0) for h in range(len(home.indoor))])
    parts = np.random.default_rng(seed).dirichlet(np.full(4, 0.4), len(home.indoor))
    quarters = (home.indoor[:, None] * parts + even[:, None] / 4).ravel()
    shown = np.floor(np.concatenate([[0.0], np.cumsum(quarters)]))[:: 4 // per_hour]
    at = home.start + pd.to_timedelta(np.arange(len(shown)) / per_hour, unit="h")
    home.intervals = pd.DataFrame(
        {
            "meter": "main",
            "start": at[:-1],
            "end": at[1:],
            "volume_l": np.diff(shown),
            "sd_l": 1 / 6**0.5,
            "resolution_l": 1.0,
            "source": "register",
            "estimated": False,
            "note": "",
        }
    )
    return home


LEAK = dict.fromkeys(range(60 * 24 + 10, 90 * 24), 6.0)
# the hedge (200 L/h) ran 3 to 5 h on Monday 16 June 2025 and stayed open till noon
STUCK = dict.fromkeys(range(166 * 24 + 5, 166 * 24 + 12), 200.0)


def same(a: Finding, b: Finding) -> bool:
    """The same finding with its dates within an hour."""
    near = abs(a.since - b.since) <= timedelta(hours=1)
    if a.until is None or b.until is None:
        return near and a.until == b.until and (a.kind, a.zone) == (b.kind, b.zone)
    return near and abs(a.until - b.until) <= timedelta(hours=1) and (a.kind, a.zone) == (b.kind, b.zone)


@pytest.mark.parametrize(("more", "days", "kind"), [(LEAK, 90, "steady"), (STUCK, 180, "stuck_open"), ({}, 120, "")])
def test_quarter_hours_find_what_hours_find(more: dict[int, float], days: int, kind: str) -> None:
    hourly, quarterly = (quarter_home(more, days, per_hour).account() for per_hour in (1, 4))
    assert [f.kind for f in quarterly.findings] == ([kind] if kind else [])
    assert all(same(a, b) for a, b in zip(hourly.findings, quarterly.findings, strict=True))
    assert [h.rate_lph for h in quarterly.hide] == [h.rate_lph for h in hourly.hide]
    pd.testing.assert_frame_equal(quarterly.intervals, hourly.intervals)


def test_a_reading_by_eye_after_the_loggers_hides_no_more() -> None:
    home = books.plain_home(1 / 24, 90)
    before = [h.rate_lph for h in home.account().hide]
    last = home.intervals.iloc[-1]
    eye = last.to_frame().T.assign(start=last["end"], end=last["end"] + pd.Timedelta(hours=8), volume_l=100.0)
    home.intervals = pd.concat([home.intervals, eye], ignore_index=True).astype(home.intervals.dtypes)
    assert [h.rate_lph for h in home.account().hide] == pytest.approx(before, rel=0.13)


def test_a_file_that_stops_within_an_hour_finds_the_same() -> None:
    home = quarter_home(LEAK, 90, 4)
    found = home.account(as_of=home.at(90) - timedelta(minutes=30))
    assert [(f.kind, f.until) for f in found.findings] == [("steady", None)]
    assert found.findings[0].rate_lph == pytest.approx(6, rel=0.15)
    assert abs(found.findings[0].since - home.at(60) - timedelta(hours=10)) <= timedelta(hours=24)
    assert all(h.rate_lph is not None for h in found.hide)
    parts = found.intervals[["indoor_l", "zones_l", "other_l", "unexplained_l"]].sum(axis=1)
    np.testing.assert_allclose(parts, found.intervals["metered_l"], atol=1e-9)
    assert found.intervals["metered_l"].sum() == home.intervals["volume_l"][:-2].sum()


@pytest.mark.parametrize("hours_ago", [0, 1, 2, 3, 6])
def test_a_few_last_hours_do_not_end_a_leak(hours_ago: int) -> None:
    home = quarter_home(LEAK, 90, 1)
    found = home.account(as_of=home.at(90) - timedelta(hours=hours_ago))
    assert [(f.kind, f.until) for f in found.findings] == [("steady", None)]


def test_mixed_with_weekly_readings_it_still_closes() -> None:
    weekly, fine = books.plain_home(7, days=140), quarter_home({}, 200, 4)
    fine.intervals = pd.concat([weekly.intervals, fine.intervals[fine.intervals["start"] >= fine.at(140)]])
    found = fine.account()
    assert found.findings == ()
    metered = found.by_day[found.by_day["kind"] == "metered"]
    assert metered["volume_l"].sum() == pytest.approx(fine.intervals["volume_l"].sum(), abs=1e-6)
    assert len(found.intervals) == 20 + 60 * 24
