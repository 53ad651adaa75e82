"""A home that used twice as much in three readings of June, two a week: guests, or something that broke."""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal
from itertools import accumulate
from pathlib import Path

from core.book.kinds import Meter, MeterReading
from core.book.store import Book
from tests.core.review.gardens import begin, write
from tests.core.review.gardens import parse_moment as moment

FIRST, HOURS, COUNT = datetime(2026, 1, 4, 8), 84, 62
ODD, MORE_GAL = (46, 47, 48), 520  # from the middle of June on


def fuller_book(folder: Path) -> Book:
    """Two people, some 500 gal a reading, read through the first days of August 2026."""
    book = begin(folder, Meter(code="curb", name="Curb", supply="street", unit="gal", digits=7), display="us", people=2)
    gallons = [480 + 10 * (k % 5) + MORE_GAL * (k in ODD) for k in range(COUNT)]
    shown = accumulate(gallons, initial=400_000)
    days = (f"{FIRST + timedelta(hours=HOURS * k):%Y-%m-%d %H:%M}" for k in range(COUNT + 1))
    write(
        book,
        *(
            MeterReading(meter="curb", at=moment(day, book.zone_info), register_value=Decimal(register))
            for day, register in zip(days, shown, strict=True)
        ),
    )
    return book
