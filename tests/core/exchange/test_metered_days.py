"""A utility's daily volumes by dates alone, brought in, read back, exported and brought in again. Litres by hand."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from core.accounts.registers import meter_intervals
from core.book.kinds import MeteredUse
from core.book.store import Book
from core.exchange.export import export_folder
from core.exchange.folder import new_from_folder
from core.exchange.intake import Preview, bring, preview
from core.exchange.sheets import read_sheet
from core.review.entry import questions_about

NOW = datetime(2027, 1, 1, tzinfo=UTC)
HEADER = "meter,start,end,volume_l\n"
# three days of autumn 2026 in Denver: clocks go back on 1 November, a day of 25 hours (US rule, IANA tz database)
UNTIL_NEXT = "curb,2026-10-31,2026-11-01,240\ncurb,2026-11-01,2026-11-02,250\ncurb,2026-11-02,2026-11-03,240\n"
SAME_DAY = "curb,2026-10-31,2026-10-31,240\ncurb,2026-11-01,2026-11-01,250\ncurb,2026-11-02,2026-11-02,240\n"
TIMED = (
    "curb,2026-10-31 00:00,2026-11-01 00:00,240\ncurb,2026-11-01 00:00,2026-11-02 00:00,250\n"
    "curb,2026-11-02 00:00,2026-11-03 00:00,240\n"
)


def look(book: Book, text: str) -> Preview:
    return preview(book, [read_sheet(HEADER + text, "metered_use", book.zone_info)], NOW)


def intervals(book: Book) -> list[tuple[str, str, float]]:
    frames = book.frames(NOW)
    found = meter_intervals(frames["meter_reading"], frames["meter"], frames["metered_use"])
    return [(f"{r.start:%m-%d %H}", f"{r.end:%m-%d %H}", round(r.volume_l)) for r in found.itertuples()]


@pytest.mark.parametrize("text", [UNTIL_NEXT, SAME_DAY, TIMED])
def test_dates_alone_are_the_days_from_midnight_to_midnight(garden: Book, text: str) -> None:
    planned = look(garden, text)
    assert (planned.refused, planned.doubts) == ([], [])
    bring(garden, planned)
    assert intervals(garden) == [
        ("10-31 06", "11-01 06", 240),
        ("11-01 06", "11-02 07", 250),
        ("11-02 07", "11-03 07", 240),
    ]


@pytest.mark.parametrize("text", [UNTIL_NEXT, SAME_DAY])
def test_what_was_written_comes_out_again_and_makes_the_same_book(garden: Book, tmp_path: Path, text: str) -> None:
    bring(garden, look(garden, text))
    export_folder(garden, tmp_path / "out")
    cells = [line.split(",")[1:3] for line in (tmp_path / "out" / "metered_use.csv").read_text().splitlines()[1:]]
    assert cells == [line.split(",")[1:3] for line in text.splitlines()]
    again, _ = new_from_folder(tmp_path / "again.rillbook", tmp_path / "out")
    assert [s.record for s in again.records(MeteredUse)] == [s.record for s in garden.records(MeteredUse)]
    assert intervals(again) == intervals(garden)
    assert look(garden, text).new == []


def test_two_bills_by_dates_meet_at_midnight(garden: Book) -> None:
    planned = look(garden, "curb,2026-06-03,2026-07-02,9000\ncurb,2026-07-02,2026-08-04,12000\n")
    assert planned.doubts == []
    bring(garden, planned)
    assert intervals(garden) == [("06-03 06", "07-02 06", 9000), ("07-02 06", "08-04 06", 12000)]


def test_hours_of_a_day_told_by_its_date_are_told_twice(garden: Book) -> None:
    """The first hour of the day and the last, not those beside it."""
    bring(garden, look(garden, "curb,2026-06-03,2026-06-04,900\n"))
    hours = ["02 23:00,2026-06-03 00", "03 00:00,2026-06-03 01", "03 23:00,2026-06-04 00", "04 00:00,2026-06-04 01"]
    planned = look(garden, "".join(f"curb,2026-06-{hour}:00,20\n" for hour in hours))
    assert [doubt.row for doubt in planned.doubts] == [3, 4]
    assert "the book has 2026-06-03 to 2026-06-04 already" in planned.doubts[0].sentence()


def test_a_day_written_both_ways_counts_once(garden: Book) -> None:
    bring(garden, look(garden, "curb,2026-06-03,2026-06-04,900\ncurb,2026-06-03,2026-06-03,900\n"))
    assert intervals(garden) == [("06-03 06", "06-04 06", 900)]


def test_a_day_that_ended_last_midnight_is_not_in_the_future(garden: Book) -> None:
    (_, record), *_ = read_sheet(HEADER + UNTIL_NEXT, "metered_use", garden.zone_info).rows
    assert questions_about(garden, record, datetime(2026, 11, 1, 8, tzinfo=UTC)) == []  # two at night, the end at six
    assert "in the future" in questions_about(garden, record, datetime(2026, 10, 31, 20, tzinfo=UTC))[0]


def test_the_columns_say_so() -> None:
    hints = {name: MeteredUse.model_fields[name].description or "" for name in ("start", "end")}
    assert "midnight" in hints["start"]
    assert "not counted" in hints["end"]
    assert "that whole day" in hints["end"]


def test_bills_whose_last_day_is_counted_are_asked_about(garden: Book) -> None:
    """June and July as a utility prints them: 30 June would be in neither. The last bill of a file shows nothing."""
    planned = look(garden, "curb,2026-06-01,2026-06-30,9000\ncurb,2026-07-01,2026-07-31,9300\n")
    assert [(d.row, d.column, d.value) for d in planned.doubts] == [(2, "end", "2026-06-30")]
    assert "the first day not counted, 2026-07-01 if 2026-06-30 is the last day" in str(planned.doubts[0])
    assert planned.good


@pytest.mark.parametrize(
    "text",
    [
        "curb,2026-06-01,2026-07-01,9000\ncurb,2026-07-01,2026-08-01,9300\n",
        "curb,2026-06-01,2026-06-29,9000\ncurb,2026-07-01,2026-08-01,9300\n",  # two days nobody tells of: a real gap
        "curb,2026-06-01 00:00,2026-06-30 00:00,9000\ncurb,2026-07-01 00:00,2026-08-01 00:00,9300\n",
        UNTIL_NEXT,
        SAME_DAY,
    ],
)
def test_other_volumes_by_dates_are_not(garden: Book, text: str) -> None:
    assert look(garden, text).doubts == []
