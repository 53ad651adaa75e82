"""Other use: single, over a while, repeating; days of 23 and 25 hours."""

from __future__ import annotations

from datetime import date
from typing import Any

import pandas as pd
import pytest

from core.accounts.applied import logged_by_day
from core.accounts.ledger import make_ledger
from core.accounts.logged import logged_uses
from tests.core.accounts.books import plain_home
from tests.core.accounts.frames import DENVER, local, table


def logged(*rows: dict[str, Any], last: date = date(2026, 7, 31)) -> pd.DataFrame:
    return logged_uses(table("other_use", *({"what": "hose", "volume_l": 100.0, **r} for r in rows)), DENVER, last)


def times(found: pd.DataFrame, column: str = "start") -> list[str]:
    return [f"{t:%m-%d %H:%M}" for t in found[column].dt.tz_convert(DENVER)]


def test_one_use_lasts_an_hour_unless_it_says() -> None:
    found = logged(
        {"start": local("2026-07-04T10:00")}, {"start": local("2026-07-05T10:00"), "end": local("2026-07-07T04:00")}
    )
    assert times(found) == ["07-04 10:00", "07-05 10:00"]
    assert times(found, "end") == ["07-04 11:00", "07-07 04:00"]
    assert found["sd_l"].tolist() == [20, 20]
    assert found["zone"].tolist() == [None, None]


def test_a_use_written_with_days_alone_lasts_those_days() -> None:
    noon = {"start_exact": "day", "end_exact": "day"}
    found = logged(
        {"start": local("2026-07-04T12:00"), **noon},
        {"start": local("2026-07-05T12:00"), "end": local("2026-07-07T12:00"), **noon},
    )
    assert times(found) == ["07-04 00:00", "07-05 00:00"]
    assert times(found, "end") == ["07-05 00:00", "07-08 00:00"]


def test_a_repeating_use_keeps_its_time_on_the_clock() -> None:
    found = logged(
        {"start": local("2026-10-25T08:00"), "end": local("2026-11-08T08:00"), "every_days": 7}, last=date(2026, 12, 31)
    )
    assert times(found) == ["10-25 08:00", "11-01 08:00", "11-08 08:00"]
    assert [t.hour for t in found["start"]] == [14, 15, 15]  # UTC: clocks went back on 1 November
    assert found["volume_l"].tolist() == [100, 100, 100]


def test_a_repeating_use_without_an_end_goes_on_until_now() -> None:
    found = logged({"start": local("2026-07-25T08:00"), "every_days": 3})
    assert times(found) == ["07-25 08:00", "07-28 08:00", "07-31 08:00"]


def test_a_use_after_the_last_day_is_left_out() -> None:
    assert logged({"start": local("2026-08-01T00:00")}).empty
    assert logged().empty


def test_a_use_over_days_is_laid_over_them_by_time() -> None:
    """24 h from noon on the day before clocks go forward: 12 h on 7 March, 12 of them on the 23-hour 8 March."""
    found = logged(
        {"start": local("2026-03-07T12:00"), "end": local("2026-03-08T13:00"), "zone": "beds", "volume_l": 240.0},
        last=date(2026, 3, 31),
    )
    by_day = logged_by_day(found, DENVER, date(2026, 3, 7), date(2026, 3, 9))
    assert by_day["volume_l"].tolist() == [120, 120]
    assert by_day["day"].dt.day.tolist() == [7, 8]


def test_only_the_days_asked_for_are_given() -> None:
    found = logged({"start": local("2026-07-04T12:00"), "end": local("2026-07-08T12:00"), "volume_l": 96.0})
    by_day = logged_by_day(found, DENVER, date(2026, 7, 5), date(2026, 7, 6))
    assert by_day["volume_l"].tolist() == [24, 24]


@pytest.mark.parametrize(
    ("use", "litres"),
    [
        # 1 February to 19 April 2026 are eleven weeks: twelve times, the clocks changed between
        ({"start": local("2026-02-01T20:00"), "end": local("2026-04-19T20:00"), "every_days": 7}, 1200.0),
        # until a day means that day too
        (
            {"start": local("2026-07-01T20:00"), "end": local("2026-07-10T12:00"), "end_exact": "day", "every_days": 1},
            1000.0,
        ),
    ],
)
def test_the_meter_is_charged_with_every_use_that_was_written_down(use: dict[str, Any], litres: float) -> None:
    used = table("other_use", {"what": "hose", "volume_l": 100.0, "meter": "main", **use})
    assert charged(used, "2026-01-01T00:00", "2026-07-31T00:00") == pytest.approx(litres)


def test_a_day_is_charged_where_the_clocks_changed() -> None:
    """8 March 2026 has 23 hours in Denver; half a day either side of noon would begin on the 7th."""
    used = table(
        "other_use",
        {"what": "hose", "volume_l": 230.0, "meter": "main", "start": local("2026-03-08T12:00"), "start_exact": "day"},
    )
    assert charged(used, "2026-03-07T00:00", "2026-03-08T00:00") == 0.0
    assert charged(used, "2026-03-08T00:00", "2026-03-09T00:00") == pytest.approx(230.0)


def charged(other_use: pd.DataFrame, start: str, end: str) -> float:
    """Litres of logged use that one interval of the main meter is charged with."""
    interval = pd.DataFrame(
        {
            "meter": ["main"],
            "start": pd.DatetimeIndex([local(start)]),
            "end": pd.DatetimeIndex([local(end)]),
            "volume_l": [5000.0],
            "sd_l": [1.0],
            "resolution_l": [1.0],
            "source": ["register"],
            "estimated": [False],
            "note": [""],
        }
    )
    home = plain_home(1, 2)
    ledger = make_ledger(
        interval, home.runs.iloc[:0], home.flows, other_use, table("household"), 2, DENVER, local("2026-08-01T00:00")
    )
    return float(ledger.other.sum())
