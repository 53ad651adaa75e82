"""Controllers' clocks: what a check of one tells of the times at which runs came."""

from __future__ import annotations

from datetime import date

import pytest

from tests.core.accounts.frames import local
from tests.core.accounts.test_runs import garden, starts


def test_a_fast_clock_waters_early_until_it_is_put_right() -> None:
    check = {"at": local("2026-07-04T12:00"), "offset_minutes": 15, "put_right": True}
    found = garden(checks=[check], span=(date(2026, 7, 3), date(2026, 7, 5)))
    assert starts(found) == ["07-03 04:45", "07-04 04:45", "07-05 05:00"]


def test_a_clock_left_wrong_stays_wrong_and_a_check_tells_only_since_the_one_before() -> None:
    checks = [
        {"at": local("2026-07-02T12:00"), "offset_minutes": 10, "put_right": True},
        {"at": local("2026-07-05T12:00"), "offset_minutes": -20, "put_right": False},
    ]
    found = garden(checks=checks)
    assert [s[6:] for s in starts(found)] == ["04:50", "04:50", "05:20", "05:20", "05:20", "05:20", "05:20"]


def test_a_check_of_a_clock_without_daylight_saving() -> None:
    """On 4 July the box shows winter time, an hour slow, and is set to summer time; it keeps that into December."""
    check = {"at": local("2026-07-04T12:00"), "offset_minutes": -60, "put_right": True}
    assert starts(garden(follows=False, checks=[check], span=(date(2026, 7, 4), date(2026, 7, 5)))) == [
        "07-04 06:00",
        "07-05 05:00",
    ]
    assert starts(garden(follows=False, checks=[check], span=(date(2026, 12, 1), date(2026, 12, 1)))) == ["12-01 04:00"]


@pytest.mark.parametrize(
    ("checked", "fast", "before", "between"),
    [
        ("2026-11-08T10:00", 60, "10-31 05:00", "11-05 04:00"),  # Denver's clocks went back on 1 November (tz database)
        ("2026-11-08T10:00", 70, "10-31 04:50", "11-05 03:50"),  # and this one ran ten minutes fast besides
        ("2026-03-15T10:00", -60, "03-07 05:00", "03-12 06:00"),  # and forward on 8 March
    ],
)
def test_a_clock_not_set_at_the_change_was_off_by_that_hour_only_since(
    checked: str, fast: int, before: str, between: str
) -> None:
    check = {"at": local(checked), "offset_minutes": fast, "put_right": True}
    for expected in (before, between):
        day = date(2026, int(expected[:2]), int(expected[3:5]))
        assert starts(garden(checks=[check], span=(day, day))) == [expected]
    after = date(2026, int(checked[5:7]), 20)
    assert starts(garden(checks=[check], span=(after, after))) == [f"{after:%m-%d} 05:00"]


def test_an_hour_off_without_a_change_of_clocks_has_been_so_since_the_check_before() -> None:
    check = {"at": local("2026-07-20T10:00"), "offset_minutes": 60, "put_right": True}
    assert starts(garden(checks=[check], span=(date(2026, 7, 4), date(2026, 7, 4)))) == ["07-04 04:00"]


def test_a_check_between_the_change_and_the_next_one_says_that_it_was_set() -> None:
    """Right on 3 November, an hour fast on the 8th: somebody set it wrongly in between, and not the change."""
    checks = [
        {"at": local("2026-11-03T10:00"), "offset_minutes": 0, "put_right": True},
        {"at": local("2026-11-08T10:00"), "offset_minutes": 60, "put_right": True},
    ]
    assert starts(garden(checks=checks, span=(date(2026, 10, 31), date(2026, 10, 31)))) == ["10-31 05:00"]
    assert starts(garden(checks=checks, span=(date(2026, 11, 5), date(2026, 11, 5)))) == ["11-05 04:00"]
