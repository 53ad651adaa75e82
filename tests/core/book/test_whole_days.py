"""A metered volume by dates alone is of whole local days. Expected instants and lengths of days by hand: clocks change
in the United States on 8 March and 1 November 2026, in Chile, at midnight, on 6 September (IANA tz database).
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from core.book.kinds import Home, Measured, MeteredUse
from core.book.store import Book
from core.book.whole_days import span
from core.days import parse_moment
from tests.core.book.parts import write

DENVER = ZoneInfo("America/Denver")
ZONES = ["America/Denver", "Europe/Madrid", "America/Santiago", "America/Havana", "Australia/Lord_Howe", "Asia/Kolkata"]


def instants(start: str, end: str, zone: ZoneInfo = DENVER) -> tuple[datetime, datetime]:
    return span(parse_moment(start, zone), parse_moment(end, zone), zone)


def used(start: str, end: str, zone: ZoneInfo = DENVER) -> MeteredUse:
    moments = (parse_moment(text, zone) for text in (start, end))
    return MeteredUse(
        meter="house", **dict(zip(("start", "end"), moments, strict=True)), volume=Measured("30", "gal", "volume")
    )


@pytest.mark.parametrize(
    ("start", "end", "begun", "over"),
    [
        ("2026-06-01", "2026-06-02", "2026-06-01T06:00", "2026-06-02T06:00"),
        ("2026-06-01", "2026-06-01", "2026-06-01T06:00", "2026-06-02T06:00"),  # one and the same day: that day
        ("2026-06-01", "2026-07-01", "2026-06-01T06:00", "2026-07-01T06:00"),
        ("2026-03-08", "2026-03-09", "2026-03-08T07:00", "2026-03-09T06:00"),  # 23 hours
        ("2026-11-01", "2026-11-01", "2026-11-01T06:00", "2026-11-02T07:00"),  # 25 hours
        ("2026-06-01", "2026-06-01 07:00", "2026-06-01T06:00", "2026-06-01T13:00"),
        ("2026-06-01 07:00", "2026-06-02", "2026-06-01T13:00", "2026-06-02T06:00"),
        ("2026-06-01 07:00", "2026-06-01", "2026-06-01T13:00", "2026-06-02T06:00"),  # to the end of that day
        ("2026-06-01 12:00", "2026-06-02 12:00", "2026-06-01T18:00", "2026-06-02T18:00"),  # times stay as written
    ],
)
def test_a_day_alone_is_the_midnight_with_which_it_begins(start: str, end: str, begun: str, over: str) -> None:
    assert instants(start, end) == (
        datetime.fromisoformat(begun).replace(tzinfo=UTC),
        datetime.fromisoformat(over).replace(tzinfo=UTC),
    )


def test_where_clocks_jump_over_midnight_the_day_begins_as_they_do() -> None:
    begun, over = instants("2026-09-06", "2026-09-07", ZoneInfo("America/Santiago"))
    assert (begun, over) == (datetime(2026, 9, 6, 4, tzinfo=UTC), datetime(2026, 9, 7, 3, tzinfo=UTC))


@given(
    st.sampled_from(ZONES),
    st.dates(date(2025, 1, 1), date(2027, 12, 31)),
    st.lists(st.integers(1, 200), min_size=1, max_size=8),
    st.booleans(),
)
def test_rows_that_follow_one_another_cover_time_without_gap_or_overlap(
    name: str, first: date, lengths: list[int], by_one_day: bool
) -> None:
    """Also where each row names one and the same day twice."""
    zone, day, reached = ZoneInfo(name), first, None
    for length in [1] * len(lengths) if by_one_day else lengths:
        after = day + timedelta(days=length)
        begun, over = instants(f"{day}", f"{day if by_one_day else after}", zone)
        assert reached in (None, begun)
        assert over > begun
        assert begun.astimezone(zone).date() == day
        assert (begun - timedelta(seconds=1)).astimezone(zone).date() == day - timedelta(days=1)
        day, reached = after, over


def test_the_frame_has_the_instants_and_the_record_what_was_written(garden: Book) -> None:
    write(
        garden, used("2026-03-08", "2026-03-08"), used("2026-03-09", "2026-03-10"), used("2026-03-10 07", "2026-03-11")
    )
    rows = garden.frame("metered_use")
    assert [f"{t:%d %H}" for t in rows["start"]] == ["08 07", "09 06", "10 13"]
    assert [f"{t:%d %H}" for t in rows["end"]] == ["09 06", "10 06", "11 06"]
    assert rows["end_exact"].tolist() == ["day"] * 3
    texts = [(str(s.record.start), str(s.record.end)) for s in garden.records(MeteredUse)]
    assert texts[:2] == [("2026-03-08", "2026-03-08"), ("2026-03-09", "2026-03-10")]


def test_a_corrected_time_zone_keeps_the_days_that_were_written(garden: Book) -> None:
    write(garden, used("2026-06-01", "2026-06-02"))
    with garden.change("moved") as change:
        (home,) = garden.records(Home)
        change.correct(home.id, home.record.model_copy(update={"timezone": "Pacific/Auckland"}))
    (row,) = garden.frame("metered_use").to_dict("records")
    assert f"{row['start'].tz_convert('Pacific/Auckland'):%Y-%m-%d %H:%M}" == "2026-06-01 00:00"


@pytest.mark.parametrize(
    ("start", "end", "hour_of_day_utc"),
    [("2026-07-01", "2026-07-02", 6), ("2026-07-01", "2026-07-01", 6), ("2026-07-01 07:00", "2026-07-01", 6)],
)
def test_a_day_is_known_once_it_is_over(garden: Book, start: str, end: str, hour_of_day_utc: int) -> None:
    write(garden, used(start, end))
    over = datetime(2026, 7, 2, hour_of_day_utc, tzinfo=UTC)
    known = [len(garden.frame("metered_use", at)) for at in (over - timedelta(seconds=1), over)]
    assert known == [0, 1]


@pytest.mark.parametrize(
    ("start", "end"),
    [("2026-06-02", "2026-06-01"), ("2026-06-02 07:00", "2026-06-01"), ("2026-06-02", "2026-06-02 00:00")],
)
def test_an_end_before_the_start_is_refused(start: str, end: str) -> None:
    with pytest.raises(ValidationError, match="the end must come after the start"):
        used(start, end)


def test_the_same_hour_twice_is_refused_still() -> None:
    with pytest.raises(ValidationError, match="the end must come after the start"):
        used("2026-06-02 12:00", "2026-06-02 12:00")
