"""Rain on the days of the picture: what a gauge told is never lost between two days."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pandas as pd
import pytest

from core.book.kinds import Home, Measured, Rain
from core.book.store import Book
from core.days import parse_moment
from core.review.sky import sky


def test_a_single_seven_oclock_record_keeps_its_rain(tmp_path: Path) -> None:
    """Someone who writes only when it rained: half an inch from 7 on the 18th to 7 on the 19th, nothing else."""
    book = Book.create(tmp_path / "home.rillbook", Home(name="Alder house", latitude=40.0, timezone="America/Denver"))
    start, end = (parse_moment(f"2026-07-{d} 07:00", book.zone_info) for d in (18, 19))
    with book.change("rain") as change:
        change.add(Rain(start=start, end=end, rain=Measured("0.5", "in", "depth")))
    days = pd.date_range("2026-07-15", "2026-07-22")
    found = sky(book.frames(datetime(2026, 7, 23, tzinfo=UTC)), book.home(), book.zone_info, days)
    assert found["rain_mm"].sum() == pytest.approx(12.7)
    assert found["rain_mm"].loc["2026-07-18"] == pytest.approx(12.7 * 17 / 24)
    assert found["rain_basis"].loc["2026-07-17":"2026-07-20"].tolist() == ["no entry", "gauge", "gauge", "no entry"]
