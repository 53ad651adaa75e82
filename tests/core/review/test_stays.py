"""Guests and trips that nobody wrote down: no finding, but a question in their month."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from itertools import accumulate
from pathlib import Path

import pytest

from core.book.kinds import Meter, MeterReading
from core.book.store import Book
from core.review import review_month
from tests.core.review.gardens import begin, write
from tests.core.review.gardens import parse_moment as moment

NOW = datetime(2026, 8, 10, 18, tzinfo=UTC)
USUAL = (1000, 1040, 970, 1010, 990, 1030, 980, 1020)  # gallons a week, two people
FIRST, ODD = date(2026, 1, 4), 24  # Sundays; the week from 21 June


def book_of(folder: Path, odd_week: int) -> Book:
    """A meter read on Sundays at eight; all weeks alike but one."""
    book = begin(folder, Meter(code="curb", name="Curb", supply="street", unit="gal", digits=7), display="us", people=2)
    weeks = [odd_week if k == ODD else USUAL[k % len(USUAL)] for k in range(31)]
    days = (f"{FIRST + timedelta(days=7 * k)} 08:00" for k in range(32))
    write(
        book,
        *(
            MeterReading(meter="curb", at=moment(day, book.zone_info), register_value=Decimal(shown))
            for day, shown in zip(days, accumulate(weeks, initial=400_000), strict=True)
        ),
    )
    return book


@pytest.mark.parametrize(
    ("week", "begins", "ends"),
    [
        (2000, "as with 2 more people. If guests were there, write them down; ", "or a valve did not close."),
        (150, "as if it had stood empty. If it did, write down who was at home; ", "see whether every zone ran."),
    ],
)
def test_a_week_that_may_be_people_is_asked_about(tmp_path: Path, week: int, begins: str, ends: str) -> None:
    book = book_of(tmp_path, week)
    june = review_month(book, "2026-06", NOW)
    (said,) = (s for s in june.next_steps if "the house used" in s.words)
    assert (said.page, said.kind) == ("garden", "household")
    assert said.words.startswith("From 21 June to 28 June the house used about ")
    assert begins in said.words
    assert said.words.endswith(ends)
    assert june.findings == ()
    assert not [s for s in review_month(book, "2026-07", NOW).next_steps if "the house used" in s.words]
