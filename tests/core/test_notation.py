"""The short notations of a cell read back what they write."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.errors import EntryError
from core.notation import parse_days, parse_month_day, parse_shares, parse_starts, parse_tiers

JULY = [date(2026, 7, 1) + timedelta(days=n) for n in range(31)]


def waters(text: str) -> list[int]:
    pattern = parse_days(text)
    return [d.day for d in JULY if pattern.waters_on(d)]


def test_day_patterns_water_on_the_days_a_calendar_shows() -> None:
    """July 2026 begins on a Wednesday (any calendar)."""
    assert waters("mon wed fri") == [1, 3, 6, 8, 10, 13, 15, 17, 20, 22, 24, 27, 29, 31]
    assert waters("odd") == list(range(1, 32, 2))
    assert waters("even") == list(range(2, 31, 2))
    assert waters("every 3 from 2026-06-29") == [2, 5, 8, 11, 14, 17, 20, 23, 26, 29]
    assert waters("daily") == list(range(1, 32))


def test_odd_days_give_two_watering_days_in_a_row_over_the_thirty_first() -> None:
    odd = parse_days("odd")
    assert odd.waters_on(date(2026, 7, 31))
    assert odd.waters_on(date(2026, 8, 1))


@pytest.mark.parametrize("text", ["", "sometimes", "every 0 from 2026-01-01", "every 3", "mon blue"])
def test_other_day_patterns_are_refused(text: str) -> None:
    with pytest.raises(EntryError):
        parse_days(text)


@given(
    st.one_of(
        st.sampled_from(["daily", "odd", "even"]),
        st.sets(st.sampled_from(["mon", "tue", "wed", "thu", "fri", "sat", "sun"]), min_size=1).map(" ".join),
        st.tuples(st.integers(1, 30), st.dates(date(2000, 1, 1), date(2040, 1, 1))).map(
            lambda t: f"every {t[0]} from {t[1]}"
        ),
    )
)
def test_day_patterns_read_back(text: str) -> None:
    assert parse_days(str(parse_days(text))) == parse_days(text)


def test_start_times_are_sorted_and_kept_once() -> None:
    assert str(parse_starts("20:30, 5:00 05:00")) == "05:00 20:30"
    for wrong in ("25:00", "5", "05:60", ""):
        with pytest.raises(EntryError):
            parse_starts(wrong)


def test_shares_are_scaled_to_one() -> None:
    assert parse_shares("tubs:3 herbs:1").parts == (("tubs", 0.75), ("herbs", 0.25))
    assert parse_shares("tubs").parts == (("tubs", 1.0),)
    for wrong in ("tubs:0 herbs:1", "tubs tubs", ":1"):
        with pytest.raises(EntryError):
            parse_shares(wrong)


def test_a_tiny_share_is_written_as_a_plain_decimal_and_reads_back() -> None:
    """One seedling pot beside a million: a share of 0.000001 by hand."""
    text = str(parse_shares("tubs:999999 herbs:1"))
    assert text == "tubs:0.999999 herbs:0.000001"
    assert str(parse_shares(text)) == text
    assert str(parse_shares("tubs:3 herbs:1")) == "tubs:0.75 herbs:0.25"


def test_price_steps_read_back_and_must_climb() -> None:
    text = "to 4: 3.65 / to 10: 5.10 / rest: 6.17"
    assert str(parse_tiers(text)) == text
    assert str(parse_tiers("3,65")) == "rest: 3.65"
    for wrong in ("", "to 4: 3 / to 2: 4 / rest: 5", "to 4: 3", "rest: 3 / to 4: 5", "to x: 3 / rest: 1"):
        with pytest.raises(EntryError):
            parse_tiers(wrong)


@pytest.mark.parametrize(("text", "kept"), [("10-20", "10-20"), (" 4-5 ", "04-05"), ("02-29", "02-29"), ("", "")])
def test_a_day_of_every_year(text: str, kept: str) -> None:
    assert parse_month_day(text) == kept


@pytest.mark.parametrize("text", ["10/20", "20-10", "02-30", "0-1", "20 October", "2026-10-20", "1020"])
def test_what_is_no_day_of_the_year_is_refused_with_what_was_expected(text: str) -> None:
    with pytest.raises(EntryError, match=r"Expected its month and day, such as 10-20 for 20 October\."):
        parse_month_day(text)


@pytest.mark.parametrize(
    ("text", "kept"),
    [
        ("5am", "05:00"),
        ("5:30 pm", "17:30"),
        ("5am, 8:30 p.m.", "05:00 20:30"),
        ("12 AM 12pm", "00:00 12:00"),
        ("6:05AM", "06:05"),
    ],
)
def test_start_times_of_twelve_hours_are_taken(text: str, kept: str) -> None:
    """12 am is midnight, 12 pm noon: usual on US clocks (from memory)."""
    assert str(parse_starts(text)) == kept


@pytest.mark.parametrize("text", ["13 pm", "0am", "5 pmm", "5:75 am", "am"])
def test_times_of_twelve_hours_that_do_not_exist_are_refused(text: str) -> None:
    with pytest.raises(EntryError, match="is not a list of start times"):
        parse_starts(text)
