"""A typed register is held against the intervals metered since the reading before. Litres added up by hand."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from pathlib import Path

import pytest

from core.book.kinds import Home, Measured, Meter, MeteredUse, MeterReading, Supply
from core.book.store import Book
from core.days import Moment
from core.review.entry import questions_about

BEGUN = datetime(2026, 11, 1, 7, tzinfo=UTC)
NOW = BEGUN + timedelta(days=40)


def at(hours: float) -> Moment:
    return Moment(BEGUN + timedelta(hours=hours), -420)


def interval(since_h: float, until_h: float, litres: str) -> MeteredUse:
    return MeteredUse(meter="curb", start=at(since_h), end=at(until_h), volume=Measured(litres, "l", "volume"))


def reading(register: str, hours: float, **more: object) -> MeterReading:
    return MeterReading(meter="curb", at=at(hours), register_value=Decimal(register), **more)  # type: ignore[arg-type]


@pytest.fixture
def book(tmp_path: Path) -> Book:
    """Monthly readings that differ much, then a logger by the hour for 20 days: 480 hours of 20 L are 9.6 m3."""
    home = Home(name="Quince Row", latitude=40.0, timezone="America/Denver", display="metric")
    book = Book.create(tmp_path / "home.rillbook", home)
    with book.change("began") as change:
        change.add(Supply(code="town", name="Town water"))
        change.add(Meter(code="curb", name="Curb", supply="town", unit="m3", digits=5, resolution=Decimal("0.001")))
        for place, register in enumerate(("10.000", "24.000", "36.000", "54.612")):
            change.add(reading(register, (place - 3) * 720))
        change.add_many([interval(h, h + 1, "20") for h in range(480)])
    return book


def test_a_register_far_above_the_intervals_is_asked_about(book: Book) -> None:
    assert questions_about(book, reading("70.500", 480.5), NOW) == [
        "That is 15,888 L since the last reading, 54.612 m³ on 1 November 2026, but the volumes metered by interval "
        "since then add up to 9,600 L: the register would show about 64.212. Is a digit wrong?"
    ]


def test_and_one_far_below(book: Book) -> None:
    assert "add up to 9,600 L" in questions_about(book, reading("58.000", 480.5), NOW)[0]


@pytest.mark.parametrize("register", ["64.212", "64.300", "63.900", "65.000"])
def test_one_that_agrees_is_not(book: Book, register: str) -> None:
    assert questions_about(book, reading(register, 480.5), NOW) == []


def test_where_the_logger_covers_a_part_of_the_time_it_says_nothing(book: Book) -> None:
    assert questions_about(book, reading("70.500", 720), NOW) == []  # 480 hours of 720


def test_a_total_over_the_same_hours_is_not_counted_twice(book: Book) -> None:
    with book.change("a day") as change:
        change.add(interval(0, 24, "480"))
        change.add(interval(100, 400, "6000"))
    assert questions_about(book, reading("64.212", 480.5), NOW) == []


def test_a_reading_without_intervals_and_a_changed_register_are_as_before(book: Book) -> None:
    assert questions_about(book, reading("25.000", -1400), NOW) == []
    assert questions_about(book, reading("3", 480.5, first_after_change=True), NOW) == []


def test_a_reading_of_a_day_may_be_off_by_half_a_day(book: Book) -> None:
    day = Moment(BEGUN + timedelta(hours=480), -420, "day")
    record = MeterReading(meter="curb", at=day, register_value=Decimal("62.900"))
    assert questions_about(book, record, NOW) == []
    assert questions_about(book, reading("62.900", 480), NOW) != []
