"""Somebody moves out: the home's number is the new one, and the days before keep theirs, in one change."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from core.accounts.instants import HOUR_MS, day_edges
from core.accounts.presence import people_share, presence
from core.book.kinds import Home, Household, Meter, MeterReading
from core.book.store import Book
from core.days import parse_moment
from core.errors import EntryError
from core.review.moved import first_day, people_from
from tests.core.review.gardens import begin, write

DENVER = ZoneInfo("America/Denver")
FIRST = date(2024, 3, 1)


@pytest.fixture
def book(tmp_path: Path) -> Book:
    at = parse_moment("2024-03-01 07:00", DENVER)
    meter = Meter(code="curb", name="Curb", supply="street", unit="gal")
    return begin(tmp_path, meter, MeterReading(meter="curb", at=at, register_value=Decimal(100)), people=4)


def at_home(book: Book, day: date) -> float:
    """Use to be expected on a day against that of one more person than none: people, as the accounts take them."""
    edges = day_edges(day, day, DENVER) / HOUR_MS
    share = presence(book.frame("household"), book.home().people, edges, DENVER).share
    return float(np.asarray(share)[0])


def rows(book: Book) -> list[tuple[date, date, int, str]]:
    return [(r.since, r.until, r.people, r.reason) for r in (s.record for s in book.records(Household))]


def test_from_a_day_on_the_past_is_kept_and_one_undo_takes_it_back(book: Book) -> None:
    number = people_from(book, date(2025, 8, 24), 2, FIRST)
    assert number is not None
    assert book.home().people == 2
    assert rows(book) == [(FIRST, date(2025, 8, 24), 4, "other")]
    assert at_home(book, date(2025, 8, 23)) == pytest.approx(0.3 + 0.7 * 2)  # four people where two are usual
    assert at_home(book, date(2025, 8, 24)) == 1.0
    book.undo(number)
    assert (book.home().people, rows(book)) == (4, [])


def test_trips_and_guests_within_it_hold_as_they_did(book: Book) -> None:
    trip = Household(since=date(2024, 7, 1), until=date(2024, 7, 15), people=0, reason="away")
    here = Household(since=date(2024, 2, 25), until=date(2024, 3, 5), people=6, reason="guests")  # over the first day
    write(book, here, trip)
    people_from(book, date(2025, 8, 24), 2, FIRST)
    assert rows(book)[1] == (date(2024, 3, 5), date(2025, 8, 24), 4, "other"), "after the guests of the first day"
    for day, people in ((date(2024, 3, 2), 6), (date(2024, 5, 1), 4), (date(2024, 7, 7), 0)):
        assert at_home(book, day) == pytest.approx(people_share(people, 2)), day


def test_a_second_move_begins_where_the_first_ended(book: Book) -> None:
    people_from(book, date(2025, 8, 24), 3, FIRST)
    people_from(book, date(2026, 1, 10), 2, FIRST)
    assert rows(book) == [
        (FIRST, date(2025, 8, 24), 4, "other"),
        (date(2025, 8, 24), date(2026, 1, 10), 3, "other"),
    ]
    assert book.home().people == 2


def test_a_move_before_one_that_is_written_is_refused_with_what_stands_there(book: Book) -> None:
    people_from(book, date(2025, 8, 24), 3, FIRST)
    before = book.number()
    with pytest.raises(EntryError, match="4 people are written down as the usual number until 24 August 2025"):
        people_from(book, date(2025, 8, 1), 2, FIRST)
    with pytest.raises(EntryError, match="from 0 to 50"):
        people_from(book, date(2026, 8, 1), 51, FIRST)
    assert book.number() == before


def test_a_house_left_empty_does_not_turn_its_past_into_a_garden(book: Book) -> None:
    before = book.number()
    with pytest.raises(EntryError, match="garden without a house"):
        people_from(book, date(2026, 8, 1), 0, FIRST)
    assert book.number() == before
    people_from(book, FIRST, 0, FIRST)
    assert (book.home().people, rows(book)) == (0, [])


def test_from_before_the_record_is_the_home_alone_and_the_same_number_is_nothing(book: Book) -> None:
    assert people_from(book, date(2025, 8, 24), 4, FIRST) is None
    people_from(book, FIRST, 2, FIRST)
    assert (book.home().people, rows(book)) == (2, [])


def test_the_first_day_is_that_of_the_meters(book: Book, tmp_path: Path) -> None:
    assert first_day(book) == FIRST
    (tmp_path / "b").mkdir()
    assert first_day(begin(tmp_path / "b")) is None


def test_what_else_of_the_home_is_put_right_goes_with_it(book: Book) -> None:
    stored = book.records(Home)[0]
    changed = stored.record.model_copy(update={"people": 2, "drinks": "softener"})
    people_from(book, date(2025, 8, 24), 2, FIRST, type(stored)(stored.id, changed, stored.change_set))
    assert (book.home().people, book.home().drinks) == (2, "softener")
