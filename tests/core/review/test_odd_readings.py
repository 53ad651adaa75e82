"""Readings that do not follow one another: their month says so, and none stretches the book for a century."""

from __future__ import annotations

from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path

from core.book.kinds import Meter, MeterReading
from core.book.store import Book
from core.review import months_in, review_month, see
from tests.core.review.gardens import begin, write
from tests.core.review.gardens import parse_moment as moment

NOW = datetime(2026, 8, 10, 18, tzinfo=UTC)


def book_of(folder: Path, *readings: tuple[str, int]) -> Book:
    """A meter called Curb in gallons with these readings, at seven in the morning."""
    book = begin(folder, Meter(code="curb", name="Curb", supply="street", unit="gal", digits=7))
    zone = book.zone_info
    write(
        book,
        *(MeterReading(meter="curb", at=moment(f"{d} 07:00", zone), register_value=Decimal(v)) for d, v in readings),
    )
    return book


WEEKS = [("2026-07-01", 412_000), ("2026-07-08", 413_000), ("2026-07-15", 362_000), ("2026-07-22", 363_000)]
LATER = [("2026-08-01", 364_400), ("2026-08-08", 365_400)]


def test_the_month_that_holds_a_lower_reading_says_what_is_not_known(tmp_path: Path) -> None:
    book = book_of(tmp_path, *WEEKS, *LATER)
    july, august = (review_month(book, month, NOW).cannot_know for month in ("2026-07", "2026-08"))
    (said,) = (s for s in july if "lower" in s)
    assert said.startswith("What passed Curb from 8 July to 15 July is not known and not counted: the later reading is")
    assert not any("not counted" in s for s in august)


def test_of_many_such_stretches_the_first_are_named(tmp_path: Path) -> None:
    falls = [(f"2026-07-{2 * n + 1:02d}", 900_000 - 50_000 * n) for n in range(8)]
    said = [s for s in review_month(book_of(tmp_path, *falls), "2026-07", NOW).cannot_know if "passed Curb" in s]
    assert len(said) == 3


def test_a_lone_reading_of_a_wrong_century_is_left_out_and_said(tmp_path: Path) -> None:
    book = book_of(tmp_path, ("1899-12-30", 411_000), *WEEKS)
    picture = see(book, NOW)
    assert months_in(picture) == ["2026-07", "2026-08"]
    assert len(picture.days) < 60
    july = review_month(book, "2026-07", NOW)
    (said,) = (s for s in july.cannot_know if "1899" in s)
    assert said.startswith(
        "The first reading of Curb is of 30 December 1899, 127 years before the next, and is left out."
    )
    assert len(july.intervals) == 3


def test_readings_years_apart_belong_to_the_book(tmp_path: Path) -> None:
    """Somebody moves in with the number of the last bill but ten years old: slow, and known."""
    picture = see(book_of(tmp_path, ("2016-07-01", 211_000), *WEEKS), NOW)
    assert months_in(picture)[0] == "2016-07"
    assert picture.left_out == ()
