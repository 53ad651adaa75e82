"""What goes in comes out: every kind, every field, to the digits typed and the offset written in."""

from __future__ import annotations

import math
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from core.book.files import connected
from core.book.kinds import KINDS, Decision, Home, Measured, Meter, MeterReading, Rain, Record, Weather, Zone
from core.book.rows import in_words, record_of, row_of
from core.book.store import Book
from core.days import Moment
from core.errors import EntryError
from tests.core.book.written_down import GARDEN, KIND_NAMES, MEMORY, records

SEVEN = Moment(datetime(2026, 7, 14, 13, 0, tzinfo=UTC), -360, "minute")
EIGHT = Moment(datetime(2026, 7, 14, 14, 0, tzinfo=UTC), -360, "minute")


@pytest.fixture(scope="module")
def garden() -> Iterator[Book]:
    folder = Path(tempfile.mkdtemp(dir=MEMORY))
    path = folder / "garden.rillbook"
    book = Book.create(path, Home(name="Alder house", latitude=40.0, timezone="America/Denver"))
    with book.change("laid out the garden") as change:
        change.add_many(GARDEN)
    with connected(path):  # an open connection keeps SQLite's companion files from being made anew at each call
        yield book
    shutil.rmtree(folder)


class _TriedOut(Exception):  # noqa: N818
    """Rolls a change back."""


def _stored(book: Book, record: Record) -> Record:
    """The record as the book gives it back; the book stays as it was."""
    try:
        with book.change("try out") as change:
            existing = change.find(type(record), *record.key())
            if existing is not None:
                change.correct(existing.id, record)
            row_id = existing.id if existing is not None else change.add(record)
            back = change.get(type(record), row_id).record
            raise _TriedOut
    except _TriedOut:
        return back


@pytest.mark.parametrize("kind_name", KIND_NAMES)
@settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow])
@given(data=st.data())
def test_any_record_comes_out_of_the_book_as_it_went_in(garden: Book, kind_name: str, data: st.DataObject) -> None:
    record = data.draw(records(KINDS[kind_name]))
    back = _stored(garden, record)
    assert type(back) is type(record)
    # dict equality would let 0.5 in pass for 12.7 mm, so what was typed is compared as text
    assert repr(dict(sorted(dict(back).items()))) == repr(dict(sorted(dict(record).items())))


def test_what_was_typed_comes_out_to_the_digit(garden: Book) -> None:
    rain = Rain(start=SEVEN, end=EIGHT, rain=Measured("0.350", "in", "depth"))
    back = _stored(garden, rain)
    assert (back.rain.typed, back.rain.unit) == ("0.350", "in")
    reading = MeterReading(meter="house", at=SEVEN, register_value=Decimal("0012345.60"))
    assert str(_stored(garden, reading).register_value) == "12345.60"
    assert _stored(garden, reading).at == SEVEN


def test_any_sqlite_tool_reads_the_metric_value_and_what_was_typed(book: Book) -> None:
    with book.change("rain") as change:
        change.add(Rain(start=SEVEN, end=EIGHT, rain=Measured("0.35", "in", "depth")))
    with sqlite3.connect(book.path) as connection:
        row = connection.execute(
            "SELECT rain_mm, rain_typed, start_utc, start_offset_min, start_exact, trace FROM rain"
        ).fetchone()
    # 0.35 in x 25.4 mm (exact by definition, NIST SP 811)
    assert row == (pytest.approx(8.89, abs=1e-12), "0.35 in", "2026-07-14T13:00:00+00:00", -360, "minute", 0)


def test_instants_sort_as_text_the_way_they_sort_in_time() -> None:
    times = [datetime(2026, 7, 14, 13, 0, 0, n, tzinfo=UTC) for n in (0, 1, 500_000, 999_999)]
    cells = [row_of(MeterReading(meter="m", at=Moment(t, 0), register_value=Decimal(1)))[1] for t in times]
    assert cells == sorted(cells)
    assert len(set(cells)) == 4


def test_a_year_that_is_a_slip_of_the_pen_is_refused() -> None:
    with pytest.raises(EntryError, match="0226-07-14"):
        row_of(Weather(day=date(226, 7, 14)))
    with pytest.raises(EntryError, match="Expected 1700 to 2199"):
        row_of(MeterReading(meter="m", at=Moment(datetime(2626, 1, 1, tzinfo=UTC), 0), register_value=Decimal(1)))


def test_an_instant_without_offset_is_no_instant() -> None:
    naive = Moment(datetime(2026, 7, 14), 0)
    with pytest.raises(EntryError, match="no offset"):
        row_of(MeterReading(meter="m", at=naive, register_value=Decimal(1)))


@pytest.mark.parametrize(
    ("bad", "says"),
    [
        (Measured("3", "gal", "volume"), "is not a depth"),
        (Measured("3", "gal", "depth"), "is not a depth"),
        (Measured("three", "in", "depth"), "is not a number"),
        (Measured("nan", "in", "depth"), "is not a number"),
        (Measured("inf", "in", "depth"), "is not a number"),
    ],
)
def test_a_measure_of_something_else_or_of_nothing_never_becomes_a_record(bad: Measured, says: str) -> None:
    with pytest.raises(ValidationError, match=says):
        Rain(start=SEVEN, end=EIGHT, rain=bad)


@pytest.mark.parametrize("value", [math.nan, math.inf])
def test_a_number_that_is_none_never_becomes_a_record(value: float) -> None:
    with pytest.raises(ValidationError):
        Home(name="x", latitude=40.0, longitude=value, timezone="America/Denver")
    with pytest.raises(ValidationError):
        Weather(day=date(2026, 7, 14), humidity_min=value)


def test_a_stored_row_is_read_even_if_rules_grew_stricter_since() -> None:
    zone = Zone(code="tubs", name="Tubs", supply="main")
    row = list(row_of(zone))
    row[1] = ""  # a name may not be empty today
    assert record_of(Zone, tuple(row)).name == ""


def test_records_are_named_in_words_by_title_and_key() -> None:
    reading = MeterReading(meter="house", at=SEVEN, register_value=Decimal(1))
    assert in_words(reading) == "meter reading house, 2026-07-14 07:00-06:00"
    assert in_words(Home(name="Alder house", latitude=40.0, timezone="America/Denver")) == "home"
    assert in_words(Meter(code="drip", name="Drip", supply="main", unit="gal")) == "meter drip"
    decision = Decision(finding="steady", since=date(2026, 7, 1), verdict="harmless", decided_at=SEVEN)
    assert in_words(decision) == "decision steady, 2026-07-01, 2026-07-14 07:00-06:00"
