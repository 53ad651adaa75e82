"""Rows of one gauge or meter that tell of the same hours are told before they are stored. Expected rows by hand."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from core.book.kinds import Meter, MeteredUse, Rain, Supply
from core.book.store import Book
from core.days import Moment
from core.exchange.intake import Preview, bring, preview
from core.exchange.sheets import read_sheet
from core.review.entry import questions_about

DAILY = "gauge,start,end,rain_mm\nyard,2026-10-04 07:00,2026-10-05 07:00,3\nyard,2026-10-05 07:00,2026-10-06 07:00,9\n"
NOW = datetime(2027, 1, 1, tzinfo=UTC)


@pytest.fixture
def garden(book: Book) -> Book:
    with book.change("began") as change:
        change.add(Supply(code="street", name="Street"))
        for code in ("curb", "shed"):
            change.add(Meter(code=code, name=code, supply="street", unit="gal"))
    return book


def look(book: Book, kind: str, text: str) -> Preview:
    return preview(book, [read_sheet(text, kind, book.zone_info)], NOW)


def said(planned: Preview) -> list[str]:
    return [doubt.sentence() for doubt in planned.doubts]


def test_rain_over_days_of_the_book_is_told_with_the_row_it_meets_and_taken(garden: Book) -> None:
    bring(garden, look(garden, "rain", DAILY))
    planned = look(garden, "rain", "gauge,start,end,rain_mm\nyard,2026-10-05 12:00,2026-10-06 12:00,40\n")
    assert said(planned) == [
        "rain.csv, row 2, column start: “2026-10-05 12:00”. Expected hours of yard that no other row covers; the book "
        "has 2026-10-05 07:00 to 2026-10-06 07:00 already."
    ]
    assert bring(garden, planned).added == 1


def test_an_interval_over_hours_of_a_logger_is_told(garden: Book) -> None:
    hours = "".join(f"curb,2026-11-20 {h:02}:00,2026-11-20 {h + 1:02}:00,40\n" for h in range(23))
    bring(garden, look(garden, "metered_use", "meter,start,end,volume_l\n" + hours))
    planned = look(garden, "metered_use", "meter,start,end,volume_l\ncurb,2026-11-20 10:30,2026-11-20 13:30,5000\n")
    (doubt,) = said(planned)
    assert "the book has 2026-11-20 10:00 to 2026-11-20 11:00 already" in doubt


@pytest.mark.parametrize(
    "row",
    [
        "yard,2026-10-06 07:00,2026-10-07 07:00,1",  # begins as the one before ends
        "yard,2026-10-03 07:00,2026-10-04 07:00,1",
        "roof,2026-10-05 12:00,2026-10-06 12:00,1",  # another gauge
        "yard,2026-10-06,2026-10-07,1",  # by days, which may mean seven in the morning
    ],
)
def test_rows_that_touch_or_are_of_another_gauge_do_not_overlap(garden: Book, row: str) -> None:
    bring(garden, look(garden, "rain", DAILY))
    assert said(look(garden, "rain", f"gauge,start,end,rain_mm\n{row}\n")) == []


def test_within_one_sheet_the_later_row_is_told_once(garden: Book) -> None:
    text = (
        "meter,start,end,volume_l\n"
        "curb,2026-11-01 00:00,2026-12-01 00:00,9000\n"
        "shed,2026-11-02 00:00,2026-11-03 00:00,1\n"
        "curb,2026-11-02 00:00,2026-11-03 00:00,300\n"
        "curb,2026-11-07 00:00,2026-11-08 00:00,300\n"
    )
    planned = look(garden, "metered_use", text)
    assert [doubt.row for doubt in planned.doubts] == [4, 5]
    assert all("; row 2 has 2026-11-01 00:00 to 2026-12-01 00:00 already" in doubt for doubt in said(planned))


def test_a_book_that_holds_an_overlap_comes_in_again_in_any_order(garden: Book) -> None:
    rows = ["curb,2026-11-02 00:00,2026-11-03 00:00,300\n", "curb,2026-11-01 00:00,2026-12-01 00:00,9000\n"]
    for order in (rows, rows[::-1]):
        planned = look(garden, "metered_use", "meter,start,end,volume_l\n" + "".join(order))
        assert [doubt.row for doubt in planned.doubts] == [3]
    bring(garden, planned)
    again = look(garden, "metered_use", "meter,start,end,volume_l\n" + "".join(rows))
    assert (len(again.new), len(again.there), said(again)) == (0, 2, [])


def test_typed_rain_over_other_rain_is_asked_about_but_not_over_itself(garden: Book) -> None:
    bring(garden, look(garden, "rain", DAILY))
    first, second = garden.records(Rain)
    assert questions_about(garden, second.record, NOW) == []  # the same once more
    half_day = timedelta(hours=12)
    later = Moment(first.record.end.utc + half_day, first.record.end.offset_minutes)
    longer = first.record.model_copy(update={"end": later})
    assert questions_about(garden, longer, NOW, second) == [
        "The book has rain of yard from 2026-10-04 07:00 to 2026-10-05 07:00 already, which overlaps this. Is it "
        "other water?"
    ]
    shorter = Moment(first.record.end.utc - half_day, first.record.end.offset_minutes)
    assert questions_about(garden, first.record.model_copy(update={"end": shorter}), NOW, first) == []
    assert "2026-10-05 07:00 to 2026-10-06 07:00" in questions_about(garden, longer, NOW, first)[0]


def test_a_typed_interval_over_another_is_asked_about(garden: Book) -> None:
    bring(garden, look(garden, "metered_use", "meter,start,end,volume_l\ncurb,2026-11-20,2026-11-21,400\n"))
    (stored,) = garden.records(MeteredUse)
    record = stored.record
    longer = record.model_copy(
        update={"end": Moment(record.end.utc + timedelta(days=1), record.end.offset_minutes, "day")}
    )
    assert "metered use of curb from 2026-11-20 to 2026-11-21" in questions_about(garden, longer, NOW)[0]
