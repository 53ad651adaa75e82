"""Instants in cells: the home's clock, the offset only where it says more, the hour that happens twice."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.days import Moment, parse_moment
from core.errors import EntryError
from core.exchange.clock import Doubled, Refused, WallClock
from core.exchange.doubled import settle

MADRID = ZoneInfo("Europe/Madrid")
# Two hemispheres, no clock changes at all, a half-hour change, a zone of quarter hours, and a date line crossing.
ZONES = [
    "America/Denver",
    "Europe/Madrid",
    "America/Phoenix",
    "Australia/Lord_Howe",
    "Asia/Kathmandu",
    "Pacific/Apia",
    "America/Santiago",
]

instants = st.datetimes(datetime(1950, 1, 1), datetime(2080, 1, 1), timezones=st.just(UTC))


@given(instants, st.sampled_from(ZONES), st.sampled_from([None, -600, 0, 345, 630]), st.booleans())
def test_a_moment_comes_back_as_it_was_written(utc: datetime, name: str, offset: int | None, seconds: bool) -> None:
    zone = ZoneInfo(name)
    utc = utc.replace(microsecond=0) if seconds else utc.replace(second=0, microsecond=0)
    own = utc.astimezone(zone).utcoffset() or timedelta()
    moment = Moment(utc, int(own.total_seconds() // 60) if offset is None else offset)
    clock = WallClock(zone)
    text = clock.write(moment)
    assert clock.read(text) == moment
    assert WallClock(zone).read(text) == moment, "what was kept from earlier cells changes nothing"


@given(st.dates(datetime(1950, 1, 1).date(), datetime(2080, 1, 1).date()), st.sampled_from(ZONES))
def test_a_day_and_an_hour_stay_as_exact_as_they_were(day: object, name: str) -> None:
    zone, other = ZoneInfo(name), ZoneInfo("Asia/Tokyo")
    clock = WallClock(zone)
    whole = parse_moment(str(day), zone)
    assert clock.write(whole) == str(day)
    assert clock.read(str(day)) == whole
    elsewhere = parse_moment(str(day), other)
    assert clock.read(clock.write(elsewhere)) == elsewhere
    hour = parse_moment(f"{day} 05+00:00", zone)
    assert clock.read(clock.write(hour)) == hour


@given(st.datetimes(datetime(1990, 1, 1), datetime(2040, 1, 1)), st.sampled_from(ZONES))
def test_kept_days_read_as_the_slow_way_does(wall: datetime, name: str) -> None:
    """The short cut for days of one offset against parse_moment, on the same day read twice."""
    zone = ZoneInfo(name)
    clock = WallClock(zone)
    clock.read(f"{wall:%Y-%m-%d} 12:00")
    clock.read(f"{wall:%Y-%m-%d} 12:00-07:00")
    texts = [
        "%Y-%m-%d %H:%M",
        "%Y-%m-%dT%H:%M:%S",
        "%Y-%m-%d %H",
        "%Y-%m-%d",
        "%Y-%m-%d %H:%M-07:00",
        "%Y-%m-%dT%H:%MZ",
    ]
    for text in (f"{wall:{text}}" for text in texts):
        try:
            expected: object = parse_moment(text, zone)
        except EntryError as error:
            expected = Doubled if "twice" in str(error) else Refused
        for _ in range(2):
            found = clock.read(text)
            assert found == expected or type(found) is expected


def test_the_offset_is_written_only_where_it_says_more() -> None:
    clock = WallClock(MADRID)
    assert clock.write(parse_moment("2026-07-14 07:30", MADRID)) == "2026-07-14 07:30"
    assert clock.write(parse_moment("2026-07-14 07", MADRID)) == "2026-07-14 07"
    assert clock.write(parse_moment("2026-07-14", MADRID)) == "2026-07-14"
    assert clock.write(parse_moment("2026-07-14 07:30Z", MADRID)) == "2026-07-14 07:30+00:00"
    assert clock.write(parse_moment("2016-10-30 02:56:43", MADRID, second_pass=True)) == "2016-10-30 02:56:43+01:00"


def told(walls: list[str], groups: list[str] | None = None, zone: ZoneInfo = MADRID) -> list[str]:
    """UTC time of each wall time, or "refused"."""
    clock = WallClock(zone)
    read = {text: clock.read(text) for text in walls}
    settled = settle(walls, groups or ["main"] * len(walls), read)
    final = [settled.get(i, read[text]) for i, text in enumerate(walls)]
    return [f"{m.utc:%H:%M}" if isinstance(m, Moment) else "refused" for m in final]


def night(*times: str) -> list[str]:
    """Clocks in Spain went from 03:00 back to 02:00 on 2016-10-30, at 01:00 UTC (directive 2000/84/EC)."""
    return [f"2016-10-30 {t}" for t in times]


def test_the_second_time_round_is_told_by_the_order_of_the_file() -> None:
    assert told(night("01:30", "02:00", "02:30", "02:00", "02:30", "03:00")) == [
        "23:30", "00:00", "00:30", "01:00", "01:30", "02:00",
    ]  # fmt: skip
    assert told(night("01:56", "02:56", "02:56", "03:56")) == ["23:56", "00:56", "01:56", "02:56"]


def test_the_newest_first_is_told_too() -> None:
    assert told(night("03:00", "02:30", "02:00", "02:30", "02:00", "01:30")) == [
        "02:00", "01:30", "01:00", "00:30", "00:00", "23:30",
    ]  # fmt: skip


def test_the_same_time_twice_and_nothing_else_is_taken_as_it_stands() -> None:
    assert told(night("02:56", "02:56")) == ["00:56", "01:56"]


@pytest.mark.parametrize(
    "times",
    [
        ("01:30", "02:30", "03:30"),  # once: which one?
        ("02:30",),
        ("02:10", "02:50"),
        ("02:50", "02:10"),  # alone it could be newest first within one hour
        ("01:30", "02:00", "02:00", "02:00", "03:00"),  # three times
        ("03:30", "02:30", "02:30", "03:40"),  # before and after say different things
    ],
)
def test_what_the_order_does_not_tell_is_refused(times: tuple[str, ...]) -> None:
    found = told(night(*times))
    assert [f == "refused" for f in found] == [t.startswith("02") for t in times]


def test_each_meter_has_its_own_order() -> None:
    walls = night("01:30", "01:30", "02:30", "02:30", "02:30", "02:30", "03:30", "03:30")
    groups = ["a", "b"] * 4
    assert told(walls, groups) == ["23:30", "23:30", "00:30", "00:30", "01:30", "01:30", "02:30", "02:30"]


def test_two_autumns_do_not_run_together() -> None:
    walls = ["2015-10-25 02:30", "2015-10-25 02:30", "2016-10-30 02:30", "2016-10-30 02:30"]
    assert told(walls) == ["00:30", "01:30", "00:30", "01:30"]


def test_an_offset_settles_it() -> None:
    assert told(["2016-10-30 02:30+01:00"]) == ["01:30"]
