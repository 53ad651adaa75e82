"""A week far from the weeks of late is asked about once, to either side; what the book explains is not."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from pathlib import Path

import pytest

from core.book.kinds import Household, Measured, Meter, MeterReading, OtherUse, Pause, Record, Supply
from core.book.store import Book
from core.days import Moment
from core.review.entry import questions_about
from tests.core.review.gardens import begin, write

START = datetime(2026, 1, 3, 15, tzinfo=UTC)
WEEKS = (919, 943, 951, 974, 816, 934, 990, 918, 872, 926)  # gallons, after a house in winter
LAST = 9_000 + sum(WEEKS)


def at(weeks: float) -> Moment:
    return Moment(START + timedelta(weeks=weeks), -420)


def reading(register: int, weeks: float) -> MeterReading:
    return MeterReading(meter="curb", at=at(weeks), register_value=Decimal(register))


def ask(book: Book, register: int, weeks: float) -> str:
    return " ".join(questions_about(book, reading(register, weeks), START + timedelta(weeks=80)))


@pytest.fixture
def book(tmp_path: Path) -> Book:
    meter = Meter(code="curb", name="Curb", supply="street", unit="gal", digits=6)
    book = begin(tmp_path, meter, people=2, display="us")
    write(book, *(reading(9_000 + sum(WEEKS[:n]), n) for n in range(len(WEEKS) + 1)))
    return book


def day(weeks: float) -> date:
    return at(weeks).local.date()


def test_a_usual_week_is_not_asked_about_nor_a_busy_one(book: Book) -> None:
    for used in (600, 780, 930, 1250):
        assert ask(book, LAST + used, 11) == "", used


def test_a_week_far_above_or_below_is_asked_about_with_what_is_usual(book: Book) -> None:
    """930 gal is the median of the ten weeks: (926 + 934) / 2."""
    high = ask(book, LAST + 1455, 11)
    assert high.startswith(
        "That is 1,455 gal since the last reading, 18,243 gal on 14 March 2026, where as long a time"
    )
    assert "took about 930 gal of late. Did you fill something, or is a digit wrong?" in high
    assert "That is only 336 gal" in (low := ask(book, LAST + 336, 11))
    assert "Was nobody at home, or is a digit wrong?" in low


def test_after_a_week_too_high_a_week_as_much_too_low_names_the_last_reading(book: Book) -> None:
    write(book, reading(LAST + 1430, 11))
    low = ask(book, LAST + 1860, 12)  # 430 gal: the two together are 930 a week
    assert low.endswith("With the time before it is as usual: was the last one misread?")
    assert ask(book, LAST + 1430 + 930, 12) == "", "the next usual week is not"


def test_a_new_level_is_asked_about_once(book: Book) -> None:
    assert ask(book, LAST + 1500, 11)
    write(book, reading(LAST + 1500, 11))
    assert ask(book, LAST + 3050, 12) == ""


@pytest.mark.parametrize(
    ("told", "used"),
    [
        (Household(since=day(10), until=day(11), people=0, reason="away"), 100),
        (Household(since=day(10), until=day(11), people=5, reason="guests"), 1600),
        (OtherUse(start=at(10.5), what="tub", volume=Measured("600", "gal", "volume")), 1530),
        (Pause(scope="all", since=day(9), until=day(10.5), reason="winter"), 1700),
    ],
)
def test_what_the_book_explains_is_not_asked_about(book: Book, told: Record, used: int) -> None:
    assert ask(book, LAST + used, 11), "without it, it is"
    write(book, told)
    assert ask(book, LAST + used, 11) == ""


def test_guests_explain_no_week_too_low(book: Book) -> None:
    write(book, Household(since=day(10), until=day(11), people=5, reason="guests"))
    assert "That is only 300 gal" in ask(book, LAST + 300, 11)


def test_what_last_year_showed_at_that_season_is_no_news(tmp_path: Path) -> None:
    """Weeks of 600 gal in winter and 1,300 from June to August: the step up of the second June is as in the first."""
    meter = Meter(code="curb", name="Curb", supply="street", unit="gal", digits=6)
    book = begin(tmp_path, meter, people=2, display="us")
    total, weeks = 1000, 0
    while weeks <= 74:  # to the beginning of June of the next year
        write(book, reading(total, weeks))
        total += 1300 if 6 <= day(weeks).month <= 8 else 600
        weeks += 1
    assert day(weeks) == date(2027, 6, 12)
    shown = int(book.latest(MeterReading, 1)[0].record.register_value)
    assert ask(book, shown + 1300, weeks) == ""
    assert ask(book, shown + 2500, weeks)


def test_a_day_by_day_reader_is_not_asked(tmp_path: Path) -> None:
    meter = Meter(code="curb", name="Curb", supply="street", unit="gal", digits=6)
    book = begin(tmp_path, meter, Supply(code="well", name="Well"), people=2, display="us")
    write(book, *(reading(1000 + 130 * n, n / 7) for n in range(20)))
    assert ask(book, 1000 + 130 * 19 + 20, 20 / 7) == ""


def test_as_many_people_as_usual_explain_no_low_week(book: Book) -> None:
    write(book, Household(since=day(10), until=day(11), people=2, reason="other"))
    assert "That is only 336 gal" in ask(book, LAST + 336, 11)


def test_a_register_that_went_past_its_top_a_year_before_hides_no_low_week(tmp_path: Path) -> None:
    """A thousand gallons a week on five digits, past the top in the third week; the 53rd brought a hundred."""
    meter = Meter(code="curb", name="Curb", supply="street", unit="gal", digits=5)
    book = begin(tmp_path, meter, people=2, display="us")
    write(book, *(reading((97_500 + 1000 * n) % 100_000, n) for n in range(53)))
    assert "That is only 100 gal" in ask(book, 49_500 + 100, 53)
