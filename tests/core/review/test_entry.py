"""Odd entries are asked about; usual ones are not."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from pathlib import Path

import pytest

from core.book.kinds import Home, Measured, Meter, MeterReading, Rain, Run, Supply
from core.book.store import Book
from core.days import Moment
from core.review.entry import questions_about

START = datetime(2026, 6, 1, 13, tzinfo=UTC)


def at(days: float) -> Moment:
    return Moment(START + timedelta(days=days), -360)


def reading(register: str, days: float, **more: object) -> MeterReading:
    return MeterReading(meter="street", at=at(days), register_value=Decimal(register), **more)  # type: ignore[arg-type]


@pytest.fixture
def book(tmp_path: Path) -> Book:
    home = Home(name="Quince Row", latitude=43.0, timezone="America/Denver")
    book = Book.create(tmp_path / "home.rillbook", home)
    with book.change("began") as change:
        change.add(Supply(code="town", name="Town water"))
        change.add(Meter(code="street", name="At the street", supply="town", unit="gal", digits=7))
        for day in range(10):
            change.add(reading(str(1_204_000 + 210 * day), day))
    return book


NOW = START + timedelta(days=30)


def ask(book: Book, record: object) -> str:
    return " ".join(questions_about(book, record, NOW))  # type: ignore[arg-type]


def test_a_usual_reading_is_not_asked_about(book: Book) -> None:
    assert questions_about(book, reading("1206120", 10), NOW) == []


def test_swapped_digits_that_fall_are_asked_about(book: Book) -> None:
    asked = ask(book, reading("1201620", 10))
    assert "lower than the last reading" in asked
    assert "1,205,890 gal" in asked


def test_a_leap_far_above_the_usual_is_asked_about(book: Book) -> None:
    assert "far more than usual" in ask(book, reading("1260120", 10))


def test_a_reading_between_two_others_may_not_pass_the_later_one(book: Book) -> None:
    assert "higher than the reading after it" in ask(book, reading("1204500", 0.5))


def test_a_changed_register_may_fall(book: Book) -> None:
    assert ask(book, reading("12", 10, first_after_change=True)) == ""


def test_a_register_near_its_top_may_roll_over(tmp_path: Path) -> None:
    home = Home(name="Quince Row", latitude=43.0, timezone="America/Denver")
    book = Book.create(tmp_path / "b.rillbook", home)
    with book.change("began") as change:
        change.add(Supply(code="town", name="Town water"))
        change.add(Meter(code="street", name="At the street", supply="town", unit="gal", digits=7))
        change.add(reading("9999900", 0))
    assert ask(book, reading("95", 1)) == ""


def test_too_many_digits_and_the_future_are_asked_about(book: Book) -> None:
    assert "7 digits" in ask(book, reading("12061200", 10))
    assert "future" in ask(book, reading("1206120", 60))


def test_very_much_rain_and_a_very_long_run_are_asked_about(book: Book) -> None:
    def rain(depth: str) -> Rain:
        return Rain(gauge="yard", start=at(0), end=at(1), rain=Measured(depth, "in", "depth"))

    def run(minutes: str) -> Run:
        return Run(zone="hedge", at=at(0), duration=Measured(minutes, "min", "duration"))

    assert "very much rain" in ask(book, rain("5.5"))
    assert ask(book, rain("0.55")) == ""
    assert "long run" in ask(book, run("600"))
    assert ask(book, run("40")) == ""
