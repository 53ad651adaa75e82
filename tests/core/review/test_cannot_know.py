"""What a month says it cannot know: by the pace of the last readings only while they are of about that time."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

from core.book.kinds import Meter, MeterReading
from core.book.store import Book
from core.days import Moment
from core.review import month_of, see
from tests.leaky import DAY, FIRST, leaky_book

HIDE = "can hide for"


def known(book: Book, month: str, day: int) -> list[str]:
    return [s for s in month_of(see(book, FIRST + day * DAY), month).cannot_know if HIDE in s]


def test_a_month_long_over_does_not_speak_of_todays_pace(tmp_path: Path) -> None:
    book = leaky_book(tmp_path / "leaky.rillbook")
    assert len(known(book, "2026-06", 45)) == 1
    with book.change("read on") as change:
        last = max(s.record.register_value for s in book.records(MeterReading))
        for day in range(61, 130):
            at = Moment(FIRST + day * DAY, -360)
            change.add(MeterReading(meter="curb", at=at, register_value=last + Decimal(140 * (day - 60))))
    assert known(book, "2026-06", 130) == []
    assert len(known(book, "2026-09", 130)) == 1


def test_each_of_two_meters_is_named_and_a_still_one_hides_no_nothing(tmp_path: Path) -> None:
    """A garden's meter that stands still for weeks: no leak is promised that its register would not turn for."""
    book = leaky_book(tmp_path / "leaky.rillbook")
    with book.change("a second meter") as change:
        change.add(
            Meter(code="drip", name="Drip line", supply="street", unit="gal", downstream_of="curb", counts="garden")
        )
        for day in range(61):
            at = Moment(FIRST + day * DAY, -360)
            change.add(MeterReading(meter="drip", at=at, register_value=Decimal(5000)))
    said = known(book, "2026-06", 45)
    assert [s.split(":")[0] for s in said] == ["Curb", "Drip line"]
    assert "under 0.0 gph" not in said[1]
