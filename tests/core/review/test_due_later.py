"""A run of today that has not begun is not yet due: neither paused, nor missed, nor presumed. Times by hand."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from core.book.kinds import Pause
from core.book.store import Book
from core.review import month_of
from core.review.picture import draw
from tests.core.review.gardens import begin, did_not_run, drip, normals, program, shrubs, write, zone

DENVER_SUMMER_H = 6  # hours behind UTC


def book_with(folder: Path, starts: str, minutes: float = 60, **more: object) -> Book:
    return begin(
        folder, zone(), shrubs(), drip(), program(days="daily", starts=starts, minutes=minutes, **more), *normals()
    )


def states(book: Book, now: datetime, count: int = 2) -> list[str]:
    """Of the last days of the bed, today last."""
    days = draw(book, now).zone_days
    return list(days.loc[days["zone"] == "bed", "state"].tail(count))


def local(day: int, hour: int, minute: int = 0) -> datetime:
    """A time in Denver in July 2026."""
    return datetime(2026, 7, day, hour, minute, tzinfo=UTC) + timedelta(hours=DENVER_SUMMER_H)


def test_tonights_run_is_due_until_it_begins(tmp_path: Path) -> None:
    book = book_with(tmp_path, "21:00")
    assert states(book, local(15, 18)) == ["presumed", "due"]
    assert states(book, local(15, 20, 59)) == ["presumed", "due"]
    assert states(book, local(15, 21)) == ["presumed", "presumed"]


def test_it_counts_as_neither_missed_nor_paused_nor_unvouched(tmp_path: Path) -> None:
    """Fourteen evenings of July had come by the afternoon of the 15th."""
    found = month_of(draw(book_with(tmp_path, "21:00"), local(15, 18)), "2026-07")
    assert (found.missed.value, found.unvouched.value) == (0, 14)
    assert (found.zones[0].missed_days, found.zones[0].unvouched_days) == (0, 14)
    assert found.zone_days["state"].value_counts().to_dict() == {"presumed": 14, "due": 1}


def test_a_day_with_one_run_over_and_one_to_come_is_that_of_the_first(tmp_path: Path) -> None:
    assert states(book_with(tmp_path, "05:00 21:00", 20), local(15, 18)) == ["presumed", "presumed"]


def test_a_pause_is_a_pause_and_a_rest_day_a_rest_day(tmp_path: Path) -> None:
    book = book_with(tmp_path, "21:00", until=date(2026, 7, 20))
    write(book, Pause(scope="bed", since=date(2026, 7, 15), reason="rain"))
    assert states(book, local(15, 18)) == ["presumed", "paused"]


def test_a_run_that_somebody_says_did_not_come_is_not_due(tmp_path: Path) -> None:
    book = book_with(tmp_path, "05:00")
    write(book, did_not_run(book, date(2026, 7, 15)))
    assert states(book, local(15, 18)) == ["presumed", "missed"]


def test_past_midnight_the_run_is_of_the_evening_and_tonights_is_due(tmp_path: Path) -> None:
    """23:30 for an hour: at ten past midnight yesterday's runs and today's is to come."""
    assert states(book_with(tmp_path, "23:30"), local(15, 0, 10), 3) == ["presumed", "presumed", "due"]


@pytest.mark.parametrize(
    ("starts", "before", "after"),
    [
        # 1 November 2026: 01:30 comes twice, at 07:30 and 08:30 UTC.
        ("01:30", datetime(2026, 11, 1, 6, 45, tzinfo=UTC), datetime(2026, 11, 1, 9, 0, tzinfo=UTC)),
        # 14 March 2027: 02:30 does not come; the clock goes from 02:00 to 03:00 at 09:00 UTC.
        ("02:30", datetime(2027, 3, 14, 8, 45, tzinfo=UTC), datetime(2027, 3, 14, 10, 0, tzinfo=UTC)),
        # 1 November 2026, evening, an hour later by UTC than the day before: 21:00 is 04:00 UTC of the 2nd.
        ("21:00", datetime(2026, 11, 2, 3, 30, tzinfo=UTC), datetime(2026, 11, 2, 4, 0, tzinfo=UTC)),
    ],
)
def test_on_days_of_23_and_25_hours(tmp_path: Path, starts: str, before: datetime, after: datetime) -> None:
    book = book_with(tmp_path, starts)
    assert states(book, before)[-1] == "due"
    assert states(book, after)[-1] == "presumed"
