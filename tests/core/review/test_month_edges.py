"""How well a month's total is known where weekly readings straddle its edges, against the days they were made of."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest

from core.book.kinds import Home, Meter, MeterReading, Supply
from core.book.store import Book
from core.days import Moment
from core.review import month_of, see

DAY, GALLON_L = timedelta(days=1), 3.785411784  # NIST Handbook 44
FIRST = datetime(2025, 1, 1, tzinfo=UTC)
DAYS = 371


@pytest.fixture(params=[3, 4, 5])
def weekly(request: pytest.FixtureRequest, tmp_path: Path) -> tuple[Book, list[float]]:
    """Days of about 150 gal, a quarter more or less, read on every seventh, to 10 gal; and what each day used."""
    draw = np.random.default_rng(request.param)
    used = [float(150 * draw.lognormal(0, 0.25)) for _ in range(DAYS)]
    book = Book.create(tmp_path / "w.rillbook", Home(name="Weekly", latitude=40.0, timezone="UTC", people=2))
    with book.change("began") as change:
        change.add(Supply(code="street", name="Street"))
        change.add(Meter(code="curb", name="Curb", supply="street", unit="gal", resolution=10))
        for day in range(request.param - 3, DAYS, 7):
            shown = Decimal(int((300_000 + sum(used[:day])) // 10 * 10))
            change.add(MeterReading(meter="curb", at=Moment(FIRST + day * DAY, 0), register_value=shown))
    return book, used


def test_a_total_is_as_near_as_it_says(weekly: tuple[Book, list[float]]) -> None:
    """Of ten months at least seven within what holds nine of ten, and each to six per cent either way or better."""
    book, used = weekly
    picture = see(book, FIRST + 364 * DAY)
    within = 0
    for month in range(2, 12):
        total = month_of(picture, f"2025-{month:02d}").used
        assert total.value is not None
        assert total.low is not None
        assert total.high is not None
        opens, closes = date(2025, month, 1), date(2025, month + 1, 1)
        days = [(d - FIRST.date()).days for d in (opens, closes)]
        truth = sum(used[days[0] : days[1]]) * GALLON_L
        within += total.low <= truth <= total.high
        assert total.high - total.low < 0.12 * truth
    assert within >= 7
