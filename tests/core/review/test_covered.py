"""A month with days of which no reading tells says of how many its total is, in the headline."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from core.book.kinds import Meter, MeteredUse, MeterReading
from core.book.store import Book
from core.cli.month_text import month_in_words
from core.days import parse_moment
from core.review import review_month
from tests.core.review.gardens import begin, measure, write

DENVER = ZoneInfo("America/Denver")
LACKS = tuple(date(2025, 11, day) for day in (11, 12, 13))
DECEMBER = datetime(2025, 12, 10, 12, tzinfo=DENVER)


def filed(folder: Path, lacks: tuple[date, ...]) -> Book:
    """A file of 100 L each day from October to the ninth of December, without some days."""
    book = begin(folder, Meter(code="curb", name="Curb", supply="street", unit="l", digits=7))
    days = [date(2025, 10, 1) + timedelta(days=n) for n in range(70)]
    at = {day: parse_moment(day.isoformat(), DENVER) for day in [*days, date(2025, 12, 10)]}
    write(
        book,
        *(
            MeteredUse(meter="curb", start=at[d], end=at[d + timedelta(days=1)], volume=measure(100, "l", "volume"))
            for d in days
            if d not in lacks
        ),
    )
    return book


def test_a_file_without_three_days_says_so_under_the_total(tmp_path: Path) -> None:
    month = review_month(filed(tmp_path, LACKS), "2025-11", DECEMBER)
    assert month.used.value == pytest.approx(2700)  # 27 days of 100 L
    words = "That is known for 27 of 30 days: no reading tells what passed on Tue 11 to Thu 13 November."
    assert month.sentences[1] == words
    assert words in " ".join(month_in_words(month).split())
    assert not any("Readings reach to" in said for said in month.cannot_know), "the file goes on after them"


def test_a_whole_month_and_days_yet_to_be_read_say_nothing_of_it(tmp_path: Path) -> None:
    book = filed(tmp_path, LACKS)
    assert not any("That is known" in said for said in review_month(book, "2025-10", DECEMBER).sentences)
    later = review_month(book, "2025-12", datetime(2025, 12, 20, 12, tzinfo=DENVER))
    assert not any("That is known" in said for said in later.sentences)
    assert "Readings reach to 9 December; what came after is presumed, not metered." in later.cannot_know


def test_many_stretches_are_counted_and_the_end_of_a_month_that_is_over_counts(tmp_path: Path) -> None:
    days = tuple(date(2025, 11, day) for day in (3, 6, 9, 12))
    said = review_month(filed(tmp_path, days), "2025-11", DECEMBER).sentences[1]
    assert said == "That is known for 26 of 30 days: no reading tells what passed on 4 days."
    (tmp_path / "b").mkdir()
    rest = tuple(date(2025, 11, 20) + timedelta(days=n) for n in range(30))
    over = review_month(filed(tmp_path / "b", rest), "2025-11", DECEMBER)
    assert over.sentences[1].startswith(
        "That is known for 19 of 30 days: no reading tells what passed on Thu 20 to Sun"
    )
    assert "Readings reach to 19 November; what came after is presumed, not metered." in over.cannot_know


def test_a_register_changed_from_one_whose_last_number_nobody_knows(tmp_path: Path) -> None:
    """Read at eight every morning; on the 20th the new register, of the week before nothing is known."""
    book = begin(tmp_path, Meter(code="curb", name="Curb", supply="street", unit="l", digits=7))
    days = [*range(1, 13), *range(20, 31)]
    write(
        book,
        *(
            MeterReading(
                meter="curb",
                at=parse_moment(f"2025-11-{day:02d} 08:00", DENVER),
                register_value=Decimal(5000 + 100 * day if day < 20 else 100 * (day - 20)),
                first_after_change=day == 20,
            )
            for day in days
        ),
    )
    month = review_month(book, "2025-11", DECEMBER)
    assert "no reading tells what passed on Wed 12 to Wed 19 and Sun 30 November" in month.sentences[1]
