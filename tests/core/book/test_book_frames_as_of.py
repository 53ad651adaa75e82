"""Frames: what an "as of" hides."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest

from core.book.frames import HAPPENS
from core.book.kinds import (
    KINDS,
    Bill,
    Decision,
    Household,
    Measured,
    MeteredUse,
    MeterReading,
    Program,
    Rain,
    Run,
    Upkeep,
    Weather,
)
from core.book.store import Book
from core.days import Moment
from tests.core.book.parts import START as T
from tests.core.book.parts import at, write

MIDNIGHT = datetime(2026, 7, 2, 6, 0, tzinfo=UTC)  # the first instant of 2 July in Denver


def known(book: Book, kind_name: str, as_of: datetime) -> int:
    return len(book.frame(kind_name, as_of))


def test_every_kind_says_whether_and_when_it_happens() -> None:
    lasting = {"home", "supply", "meter", "controller", "zone", "factor_month", "normal", "task"}
    assert set(HAPPENS) | lasting == set(KINDS)
    assert not set(HAPPENS) & lasting
    assert all(field in KINDS[kind].model_fields for kind, field in HAPPENS.items())


def test_an_event_is_hidden_until_it_has_happened(garden: Book) -> None:
    write(garden, MeterReading(meter="house", at=at(0), register_value=Decimal(1)))
    assert known(garden, "meter_reading", T - timedelta(seconds=1)) == 0
    assert known(garden, "meter_reading", T) == 1
    assert known(garden, "meter_reading", datetime.fromisoformat("2026-07-01T07:00:00-06:00")) == 1
    assert known(garden, "meter_reading", datetime.fromisoformat("2026-07-01T06:59:59-06:00")) == 0
    assert len(garden.frame("meter_reading")) == 1


def test_a_total_over_a_span_is_hidden_until_the_span_is_over(garden: Book) -> None:
    write(
        garden,
        Rain(start=at(0), end=at(24), rain=Measured("0.5", "in", "depth")),
        MeteredUse(meter="house", start=at(0), end=at(1), volume=Measured("30", "gal", "volume")),
        Bill(
            supply="main",
            since=date(2026, 6, 2),
            until=date(2026, 7, 2),
            volume=Measured("9000", "gal", "volume"),
            amount=50.0,
        ),
    )
    assert known(garden, "rain", T + timedelta(hours=23)) == 0
    assert known(garden, "rain", T + timedelta(hours=24)) == 1
    assert known(garden, "metered_use", T + timedelta(minutes=59)) == 0
    assert known(garden, "metered_use", T + timedelta(minutes=60)) == 1
    assert known(garden, "bill", MIDNIGHT - timedelta(seconds=1)) == 0
    assert known(garden, "bill", MIDNIGHT) == 1


def test_a_day_has_begun_once_it_is_past_the_homes_midnight(garden: Book) -> None:
    write(
        garden,
        Weather(day=date(2026, 7, 2)),
        Upkeep(task="filter", day=date(2026, 7, 2)),
        Household(since=date(2026, 7, 2), until=date(2026, 7, 5), people=4),
        Program(zone="tubs", since=date(2026, 7, 2), days="daily", starts="05:00", minutes=10.0),
        Run(zone="tubs", at=Moment(MIDNIGHT + timedelta(hours=12), -360, "day"), ran=False),
    )
    for kind in ("weather", "upkeep", "household", "program", "run"):
        assert known(garden, kind, MIDNIGHT) == 0, kind
        assert known(garden, kind, MIDNIGHT + timedelta(minutes=1)) == 1, kind


@pytest.mark.parametrize(("day", "midnight"), [("2026-03-08", "07:00"), ("2026-11-01", "06:00")])
def test_a_day_known_entry_follows_the_clock_changes(garden: Book, day: str, midnight: str) -> None:
    """Denver's days of 23 and 25 hours in 2026 (IANA time zone data): the day begins at local midnight all the same."""
    begins = datetime.fromisoformat(f"{day}T{midnight}:00+00:00")
    noon = datetime.fromisoformat(f"{day}T{'18' if day < '2026-06' else '19'}:00:00+00:00")
    write(garden, Run(zone="tubs", at=Moment(noon, -360 if day < "2026-06" else -420, "day"), ran=False))
    assert known(garden, "run", begins) == 0
    assert known(garden, "run", begins + timedelta(minutes=1)) == 1


def test_a_decision_is_hidden_until_it_was_made_and_a_later_correction_counts(garden: Book) -> None:
    write(
        garden,
        Decision(finding="steady", since=date(2026, 5, 1), verdict="harmless", decided_at=at(0)),
        MeterReading(meter="house", at=at(0), register_value=Decimal(1)),
    )
    assert known(garden, "decision", T - timedelta(days=1)) == 0
    assert known(garden, "decision", T) == 1
    with garden.change("corrected months later") as change:
        old = change.records(MeterReading)[0]
        change.correct(old.id, MeterReading(meter="house", at=at(0), register_value=Decimal(2)))
    assert garden.frame("meter_reading", T).register_value.tolist() == [2.0]


def test_what_others_refer_to_is_never_hidden(garden: Book) -> None:
    long_ago = datetime(1990, 1, 1, tzinfo=UTC)
    for kind, n in (("home", 1), ("supply", 2), ("meter", 2), ("zone", 2), ("task", 1)):
        assert known(garden, kind, long_ago) == n


def test_an_instant_without_offset_is_a_mistake(garden: Book) -> None:
    with pytest.raises(ValueError, match="offset"):
        garden.frame("rain", datetime(2026, 7, 1))
