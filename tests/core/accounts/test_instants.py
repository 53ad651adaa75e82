"""Local days against Python's own time zones, where clocks change at midnight and elsewhere."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from core.accounts.instants import day_edges, local_days

# Denver at 2 in the morning, London at 1; Santiago at midnight, Havana from 0 to 1 and back at 1; Lord Howe by half an
# hour; Samoa had no 30 December 2011 (the time zone database of IANA).
ZONES = ["America/Denver", "Europe/London", "America/Santiago", "America/Havana", "Australia/Lord_Howe", "Pacific/Apia"]
BEGINNING = datetime(1970, 1, 1, tzinfo=UTC)


def _day(ms: int, zone: ZoneInfo) -> date:
    return (BEGINNING + timedelta(milliseconds=ms)).astimezone(zone).date()


@pytest.mark.parametrize("name", ZONES)
def test_a_day_begins_with_its_first_instant(name: str) -> None:
    zone = ZoneInfo(name)
    first, last = date(2009, 12, 30), date(2013, 1, 2)
    edges = day_edges(first, last, zone).tolist()
    days = [first + timedelta(days=n) for n in range((last - first).days + 2)]
    assert len(edges) == len(days)
    for day, edge in zip(days, edges, strict=True):
        assert _day(edge - 1, zone) < day <= _day(edge, zone)


@pytest.mark.parametrize("name", ZONES)
def test_each_instant_falls_on_the_day_the_zone_says(name: str) -> None:
    zone = ZoneInfo(name)
    ms = np.arange(1_262_304_000_000, 1_356_998_400_000, 17 * 60_000 + 1)[::3]  # from 2010 to 2012
    found = local_days(ms, zone)
    assert found.dtype == np.dtype("datetime64[D]")
    assert found.tolist() == [_day(at, zone) for at in ms.tolist()]


def test_no_time_falls_on_no_day() -> None:
    ms = np.array([np.iinfo(np.int64).min, 1_752_500_000_000])
    found = local_days(ms, ZoneInfo("America/Denver"))
    assert np.isnat(found).tolist() == [True, False]
    assert local_days(ms[:0], ZoneInfo("America/Denver")).size == 0
