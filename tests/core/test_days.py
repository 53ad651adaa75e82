"""Instants and local days, clock changes included."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.days import Moment, day_start, month_days, parse_day, parse_moment, same_day
from core.errors import EntryError

DENVER = ZoneInfo("America/Denver")
MADRID = ZoneInfo("Europe/Madrid")


def test_without_an_offset_the_homes_zone_holds() -> None:
    moment = parse_moment("2026-07-14 07:30", DENVER)
    assert moment == Moment(datetime(2026, 7, 14, 13, 30, tzinfo=UTC), -360, "minute")


def test_an_offset_wins_over_the_zone() -> None:
    assert parse_moment("2026-07-14T07:30+02:00", DENVER).utc == datetime(2026, 7, 14, 5, 30, tzinfo=UTC)


@pytest.mark.parametrize(
    ("text", "exact"), [("2026-07-14", "day"), ("2026-07-14 07", "hour"), ("2026-07-14 07:05", "minute")]
)
def test_how_exact_a_moment_is_stays_with_it(text: str, exact: str) -> None:
    moment = parse_moment(text, DENVER)
    assert moment.exact == exact
    assert moment.local.date() == date(2026, 7, 14)


def test_the_doubled_autumn_hour_is_refused_unless_the_order_tells() -> None:
    """Clocks in Spain went back at 03:00 on 2016-10-30 (EU directive 2000/84/EC)."""
    with pytest.raises(EntryError, match="happened twice"):
        parse_moment("2016-10-30 02:56:43", MADRID)
    first = parse_moment("2016-10-30 02:56:43", MADRID, second_pass=False)
    second = parse_moment("2016-10-30 02:56:43", MADRID, second_pass=True)
    assert (second.utc - first.utc).total_seconds() == 3600


def test_a_wall_time_skipped_in_spring_is_refused() -> None:
    with pytest.raises(EntryError, match="never happened"):
        parse_moment("2016-03-27 02:30", MADRID)


def test_days_have_23_24_and_25_hours() -> None:
    days = (date(2026, 3, 8), date(2026, 7, 1), date(2026, 11, 1))
    lengths = [day_start(d + timedelta(days=1), DENVER) - day_start(d, DENVER) for d in days]
    assert lengths == [timedelta(hours=h) for h in (23, 24, 25)]


@pytest.mark.parametrize(
    "text",
    [
        "14/07/2026",
        "2026-02-30",
        "2026-07-14 25:00",
        "2026-07-14 07:30+99:99",
        "9999-12-31 23:00",
        "yesterday",
        "",
    ],
)
def test_what_is_no_date_is_refused_with_the_text_in_the_sentence(text: str) -> None:
    with pytest.raises(EntryError) as refused:
        parse_moment(text, DENVER)
    assert text in str(refused.value)


def test_months_and_days() -> None:
    assert month_days("2026-12") == (date(2026, 12, 1), date(2027, 1, 1))
    with pytest.raises(EntryError):
        month_days("July")
    with pytest.raises(EntryError):
        parse_day("2025-02-29")


@given(st.datetimes(min_value=datetime(1990, 1, 1), max_value=datetime(2040, 1, 1)), st.sampled_from([DENVER, MADRID]))
def test_a_moment_written_out_reads_back(wall: datetime, zone: ZoneInfo) -> None:
    moment = Moment(wall.replace(microsecond=0, tzinfo=UTC), -420, "minute")
    assert parse_moment(str(moment), zone) == moment


@pytest.mark.parametrize(
    ("now", "ahead", "held"),
    [
        ((10, 31, 16, 20), (10, 31, 17, 0), (10, 31, 17, 0, 0)),  # 10:20 in Denver, UTC-6
        ((11, 1, 5, 20), (11, 1, 6, 0), (11, 1, 5, 59, 59)),  # 23:20 on 31 October: midnight there is 06:00 UTC
    ],
)
def test_what_is_rounded_up_late_in_the_evening_stays_of_the_day(
    now: tuple[int, ...], ahead: tuple[int, ...], held: tuple[int, ...]
) -> None:
    moment, later, expected = (datetime(2026, *each, tzinfo=UTC) for each in (now, ahead, held))  # type: ignore[misc]
    assert same_day(moment, later, DENVER) == expected
