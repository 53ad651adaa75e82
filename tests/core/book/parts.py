"""Small records and writes that the tests of writing share."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

from core.book.kinds import (
    MeterReading,
    Program,
    Record,
)
from core.book.store import Book
from core.days import Moment

START = datetime(2026, 7, 1, 13, 0, tzinfo=UTC)


def at(hours: float, offset: int = -360, exact: str = "minute") -> Moment:
    return Moment(START + timedelta(hours=hours), offset, exact)  # type: ignore[arg-type]


def reading(hours: float, value: str = "100", **more: object) -> MeterReading:
    return MeterReading(meter="house", at=at(hours), register_value=Decimal(value), **more)


def program(since: str, until: str | None = None, **more: object) -> Program:
    values = {"zone": "tubs", "days": "daily", "starts": "05:00", "minutes": 20.0, **more}
    return Program(since=date.fromisoformat(since), until=date.fromisoformat(until) if until else None, **values)


def write(book: Book, *records: Record) -> list[int]:
    with book.change("wrote") as change:
        return [change.add(record) for record in records]


def programs(book: Book) -> list[tuple[str, str | None, float]]:
    return [
        (str(p.record.since), str(p.record.until) if p.record.until else None, p.record.minutes)
        for p in book.records(Program)
    ]
