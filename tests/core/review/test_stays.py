"""Guests and trips that nobody wrote down: no finding, but a question in their month."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from itertools import accumulate
from pathlib import Path

import pytest

from core.accounts.findings import Cause
from core.book.kinds import Household, Meter, MeterReading
from core.book.store import Book
from core.review import review_month
from core.review.causes import instead_of
from core.review.decide import it_broke
from core.review.moved import first_day, people_from
from core.review.watch import look, tell
from tests.core.review.gardens import begin, write
from tests.core.review.gardens import parse_moment as moment
from tests.fuller import fuller_book

NOW = datetime(2026, 8, 10, 18, tzinfo=UTC)
USUAL = (1000, 1040, 970, 1010, 990, 1030, 980, 1020)  # gallons a week, two people
FIRST, ODD = date(2026, 1, 4), 24  # Sundays; the week from 21 June


def book_of(folder: Path, odd_week: int, last: int = ODD) -> Book:
    """A meter read on Sundays at eight; all weeks alike but one, or all from there to the ``last``."""
    book = begin(folder, Meter(code="curb", name="Curb", supply="street", unit="gal", digits=7), display="us", people=2)
    weeks = [odd_week if min(ODD, last) <= k <= max(ODD, last) else USUAL[k % len(USUAL)] for k in range(31)]
    days = (f"{FIRST + timedelta(days=7 * k)} 08:00" for k in range(32))
    write(
        book,
        *(
            MeterReading(meter="curb", at=moment(day, book.zone_info), register_value=Decimal(shown))
            for day, shown in zip(days, accumulate(weeks, initial=400_000), strict=True)
        ),
    )
    return book


@pytest.mark.parametrize(
    ("week", "begins", "ends"),
    [
        (2000, "as with 2 more people. If guests were there, write them down; ", "or a valve did not close."),
        (150, "as if it had stood empty. If it did, write down who was at home; ", "see whether every zone ran."),
    ],
)
def test_a_week_that_may_be_people_is_asked_about(tmp_path: Path, week: int, begins: str, ends: str) -> None:
    book = book_of(tmp_path, week)
    june = review_month(book, "2026-06", NOW)
    (said,) = june.stays
    assert said.short in [s.words for s in june.next_steps]
    assert said.words.startswith("From 21 June to 28 June the house used about ")
    assert begins in said.words
    assert said.words.endswith(ends)
    assert june.findings == ()
    assert review_month(book, "2026-07", NOW).stays == ()


@pytest.mark.parametrize(
    ("week", "people", "short", "told"),
    [
        (
            150,
            0,
            "were you away for longer than written",
            "You wrote down a trip from Thu 25 June to Sat 27 June. If it ",
        ),
        (3000, 3, "were there more guests than written", "You wrote down guests from Thu 25 June to Sat 27 June. If "),
    ],
)
def test_who_was_at_home_is_not_asked_as_if_nothing_were_written(
    tmp_path: Path, week: int, people: int, short: str, told: str
) -> None:
    """Two nights of the odd week are written down, which do not make up for all of it."""
    book = book_of(tmp_path, week)
    write(book, Household(since=date(2026, 6, 25), until=date(2026, 6, 27), people=people))
    (said,) = review_month(book, "2026-06", NOW).stays
    assert short in said.short
    assert told in said.words
    assert "write down who was at home" not in said.words
    assert "write them down" not in said.words


def test_somebody_who_moved_out_is_asked_about_by_the_day(tmp_path: Path) -> None:
    """Some 1005 gallons a week until 21 June, 500 from then on: 72 a day less, one of two people by the halves."""
    july = review_month(book_of(tmp_path, 500, last=30), "2026-07", NOW)
    (said,) = july.stays
    assert said.words.startswith(
        "Since 21 June 2026 the house uses about 72 gal a day less than before, as with 1 pers"
    )
    assert "write down how many live here now; if not, see whether every zone ran" in said.words
    assert "empty" not in said.words
    assert said.short in [s.words for s in july.next_steps]


def test_nine_weeks_of_fewer_people_are_no_trip(tmp_path: Path) -> None:
    """From 26 April to 28 June, and then as before."""
    (said,) = review_month(book_of(tmp_path, 500, last=16), "2026-05", NOW).stays
    assert said.words.startswith(
        "From 26 April 2026 to 28 June 2026 the house used about 72 gal a day less than before"
    )
    assert "as with 1 person fewer. If somebody was gone, write down who was at home; if not" in said.words
    assert "was somebody not living here" in said.short


def test_who_lived_there_for_long_is_neither_guests_nor_a_trip(tmp_path: Path) -> None:
    book = book_of(tmp_path, 3000)
    write(book, Household(since=date(2025, 9, 1), until=date(2027, 1, 1), people=3, reason="other"))
    (said,) = review_month(book, "2026-06", NOW).stays
    assert "If guests were there, write them down" in said.words
    assert "You wrote down" not in said.words


def test_somebody_who_moved_out_since_was_no_guest(tmp_path: Path) -> None:
    """What people_from keeps of the days before is not said as guests of those days."""
    book = book_of(tmp_path, 3000)
    was = book.home().people
    people_from(book, date(2026, 7, 10), was - 1, first_day(book) or date(2026, 1, 1))
    (said,) = review_month(book, "2026-06", NOW).stays
    assert "You wrote down" not in said.words
    assert "If guests were there, write them down" in said.words


@pytest.fixture
def fuller(tmp_path: Path) -> Book:
    return fuller_book(tmp_path)


def asked(book: Book, month: str) -> list[str]:
    return [s.words for s in review_month(book, month, NOW).stays]


def test_what_else_it_may_be_is_named(fuller: Book) -> None:
    (words,) = asked(fuller, "2026-06")
    assert "if not, it may be water that runs all the time." in words
    assert "told as" not in words


def test_what_the_watch_told_of_it_is_said(fuller: Book) -> None:
    """Ten days after it is over it may as well have been guests; until then it was told as a leak."""
    then = datetime(2026, 6, 26, 18, tzinfo=UTC)
    seen = look(fuller, then)
    assert [n.finding.kind for n in seen.news] == ["steady"]
    tell(fuller, seen, lambda *_: None)
    (words,) = asked(fuller, "2026-06")
    assert "On 26 June this was told as water that runs all the time. If guests were there" in words
    assert look(fuller, NOW).news == ()


def test_who_says_that_it_broke_has_it_as_a_finding_with_its_cause(fuller: Book) -> None:
    (stay,) = review_month(fuller, "2026-06", NOW).stays
    choices = instead_of(stay.stay, {})
    assert choices == {Cause("steady"): "water that runs all the time"}
    at = moment("2026-08-10 12:00", fuller.zone_info)
    number = it_broke(fuller, stay, Cause("steady"), at, "the cistern")
    june = review_month(fuller, "2026-06", NOW)
    assert june.stays == ()
    (leak,) = june.findings
    assert (leak.kind, leak.decision, leak.note) == ("steady", "explained", "the cistern")
    assert number is not None
    fuller.undo(number)
    assert len(review_month(fuller, "2026-06", NOW).stays) == 1
