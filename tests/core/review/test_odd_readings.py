"""Readings that do not follow one another: their month says so, and none stretches the book for a century."""

from __future__ import annotations

from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path

import pytest

from core.book.kinds import Measured, Meter, MeteredUse, MeterReading
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


def test_a_fall_from_near_the_top_says_how_to_tell_of_a_rollover(tmp_path: Path) -> None:
    """Seven digits and 50,000 gal in a week, more than is taken for one unasked; as it says, it counts."""
    weeks = [("2026-07-01", 9_989_000), ("2026-07-08", 9_990_000), ("2026-07-15", 40_000), ("2026-07-22", 41_000)]
    book = book_of(tmp_path, *weeks)
    (said,) = (s for s in review_month(book, "2026-07", NOW).cannot_know if "lower" in s)
    assert "If it rolled over" in said
    assert "10,040,000 as the old one's last number" in said
    lower = next(s for s in book.records(MeterReading) if s.record.register_value == 40_000)
    told = lower.record.model_copy(update={"first_after_change": True, "old_final": Decimal(10_040_000)})
    with book.change("it rolled over") as change:
        change.correct(lower.id, told)
    july = review_month(book, "2026-07", NOW)
    assert [round(v / 3.785411784) for v in july.intervals["metered_l"]] == [1_000, 50_000, 1_000]


def test_a_fall_from_anywhere_else_does_not(tmp_path: Path) -> None:
    july = review_month(book_of(tmp_path, *WEEKS), "2026-07", NOW)
    assert not any("rolled over" in s for s in july.cannot_know)


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


def test_a_lower_last_reading_is_the_first_thing_to_do(tmp_path: Path) -> None:
    """Stored after a yes, it counts for nothing: said above, not only at the bottom."""
    book = book_of(tmp_path, *WEEKS[:2], ("2026-07-15", 362_000))
    july = review_month(book, "2026-07", NOW)
    step = next(s for s in july.next_steps if "lower than the one before" in s.words)
    assert step.page == "meter"
    assert step.reading is not None, "the way to it"
    assert book.get(MeterReading, step.reading).record.register_value == 362_000
    assert step.weight >= 70, "before care that is late"


def test_a_reading_no_neighbour_can_follow_is_named_with_its_day_and_number(tmp_path: Path) -> None:
    weeks = [*WEEKS[:2], ("2026-07-15", 41_300), ("2026-07-22", 415_000), ("2026-07-29", 416_000)]
    book = book_of(tmp_path, *weeks)
    july = review_month(book, "2026-07", NOW)
    said = july.cannot_know
    step = next(s for s in july.next_steps if "A reading taken or typed wrongly" in s.words)
    assert step.reading is not None, "the way to it"
    assert book.get(MeterReading, step.reading).record.register_value == 41_300
    (told,) = (s for s in said if "41,300" in s)
    assert told.startswith("The reading of Curb on 15 July, 41,300, fits neither the one before nor the one after")


@pytest.mark.parametrize(
    ("lower", "later", "words"),
    [
        (
            41_200,
            ["2026-07-20"],
            "The reading of Curb on 10 July, 41,200, fits neither the one before nor the one after",
        ),
        (362_000, [], "Two readings of Curb on 1 July and 10 July, 412,000 and then 362,000, cannot both be right."),
    ],
)
def test_a_wrong_reading_under_a_file_that_covers_it_is_said(
    tmp_path: Path, lower: int, later: list[str], words: str
) -> None:
    """The month rests on the file, so nothing changes; that is no reason to pass over a number that cannot be."""
    book = book_of(tmp_path, ("2026-07-01", 412_000), ("2026-07-10", lower), *((day, 415_000) for day in later))
    hours = [
        MeteredUse(
            meter="curb",
            start=moment(f"2026-07-{day:02d} 00:00", book.zone_info),
            end=moment(f"2026-07-{day + 1:02d} 00:00", book.zone_info),
            volume=Measured("150", "gal", "volume"),
        )
        for day in range(1, 29)
    ]
    write(book, *hours)
    said = review_month(book, "2026-07", NOW).cannot_know
    (told,) = (s for s in said if f"{lower:,}" in s)
    assert told.startswith(words)
