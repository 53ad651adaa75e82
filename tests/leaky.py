"""An invented home with a leak: fifty quiet days of 120 to 150 gal, then ten with 10 gal an hour on top."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from pathlib import Path

from core.book.kinds import Home, Meter, MeterReading, Supply, Tariff
from core.book.store import Book
from core.days import Moment

FIRST = datetime(2026, 6, 1, 13, tzinfo=UTC)  # 7 in the morning in Denver
DAY = timedelta(days=1)
LEAK = FIRST + 50 * DAY
LEAK_GAL_DAY = 240
DOLLARS_A_KGAL = 5.0


def leaky_book(path: Path) -> Book:
    """Read once a day for 60 days, the last ten with the leak."""
    book = Book.create(path, Home(name="Alder house", latitude=40.0, timezone="America/Denver", people=2))
    with book.change("began") as change:
        change.add(Supply(code="street", name="Street"))
        change.add(Meter(code="curb", name="Curb", supply="street", unit="gal"))
        change.add(Tariff(supply="street", since=date(2026, 1, 1), unit="kgal", base=18.5, prices=f"{DOLLARS_A_KGAL}"))
        total = 412_000
        for day in range(61):
            at = Moment(FIRST + day * DAY, -360)
            change.add(MeterReading(meter="curb", at=at, register_value=Decimal(total)))
            total += 120 + (day * 37) % 31 + (LEAK_GAL_DAY if day >= 50 else 0)
    return book
