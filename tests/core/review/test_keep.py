"""Accounts kept between processes: the same as reckoned anew, and never those of another state of the book."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from pathlib import Path

import pytest

from core.accounts.account import MeterAccount
from core.book.kinds import Home, Meter, MeterReading, Supply
from core.book.store import Book
from core.days import Moment
from core.review import keep
from core.review.keep import kept_accounts
from core.review.picture import draw

START = datetime(2026, 5, 1, 13, tzinfo=UTC)


@pytest.fixture
def metered(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Book:
    monkeypatch.setattr(keep, "_folder", lambda: tmp_path / "kept")
    book = Book.create(tmp_path / "b.rillbook", Home(name="Elm", latitude=44.0, timezone="America/Boise"))
    with book.change("readings") as change:
        change.add(Supply(code="town", name="Town"))
        change.add(Meter(code="street", name="Street", supply="town", unit="gal", digits=7))
        for day in range(30):
            change.add(reading(day, 50_000 + 120 * day))
    return book


def reading(day: float, register: int) -> MeterReading:
    at = Moment(START + timedelta(days=day), -360)
    return MeterReading(meter="street", at=at, register_value=Decimal(register))


def total(book: Book, as_of: datetime) -> float:
    return float(draw(book, as_of).accounts["street"].intervals["metered_l"].sum())


def test_kept_accounts_are_those_reckoned(metered: Book, tmp_path: Path) -> None:
    as_of = START + timedelta(days=40)
    first, again = total(metered, as_of), total(metered, as_of)
    assert list((tmp_path / "kept").glob("*.accounts"))
    assert first == again == pytest.approx(29 * 120 * 3.785411784)


def test_the_second_time_nothing_is_reckoned(metered: Book) -> None:
    def never() -> dict[str, MeterAccount]:
        raise AssertionError("reckoned again")

    frames, day = metered.frames(), date(2026, 6, 10)
    kept_accounts(metered, frames, day, "us", dict)
    assert kept_accounts(metered, frames, day, "us", never) == {}
    with pytest.raises(AssertionError):
        kept_accounts(metered, frames, day, "metric", never)
    with pytest.raises(AssertionError):
        kept_accounts(metered, frames, day + timedelta(days=1), "us", never)


def test_a_changed_book_is_reckoned_anew(metered: Book) -> None:
    as_of = START + timedelta(days=40)
    before = total(metered, as_of)
    with metered.change("one more") as change:
        change.add(reading(30, 53_600))
    assert total(metered, as_of) == pytest.approx(before + 120 * 3.785411784)


def test_morning_and_evening_of_a_past_day_are_not_taken_for_each_other(metered: Book) -> None:
    evening = START + timedelta(days=10, hours=8)
    morning = START + timedelta(days=10, hours=-3)
    assert total(metered, evening) - total(metered, morning) == pytest.approx(120 * 3.785411784)


def test_a_spoilt_file_is_as_good_as_none(metered: Book, tmp_path: Path) -> None:
    as_of = START + timedelta(days=40)
    before = total(metered, as_of)
    for file in (tmp_path / "kept").glob("*.accounts"):
        file.write_bytes(b"not a pickle")
    assert total(metered, as_of) == before
