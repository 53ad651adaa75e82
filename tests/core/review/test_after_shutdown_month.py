"""Water that moves after the shutdown is told in the month, from a book in which the shutdown was written down."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from pathlib import Path

from core.book.kinds import Meter, MeterReading, Pause
from core.book.store import Book
from core.days import parse_moment
from core.review import MonthReview, review_month
from tests.core.review import gardens as g

FIRST, LAST = date(2026, 6, 1), date(2026, 11, 22)
SHUT = date(2026, 10, 21)
RUN_L = 240  # the bed takes 240 litres an hour for one hour
NOW = datetime(2026, 11, 22, 20, tzinfo=UTC)


def book_with(folder: Path, meter: Meter, indoor: bool, winter_l: dict[date, int]) -> Book:
    """Read daily at 7 in litres: the house, the bed on Mondays and Thursdays until the shutdown, ``winter_l``."""
    book = g.begin(
        folder,
        g.zone(name="Rose bed"),
        g.shrubs(),
        g.drip(lph=RUN_L),
        g.program(minutes=60),
        meter,
        Pause(scope="all", since=SHUT, reason="winter"),
        *g.normals(),
    )
    total = 100_000
    with book.change("read") as change:
        for n in range((LAST - FIRST).days + 1):
            day = FIRST + timedelta(days=n)
            if n:
                total += 450 + (n * 37) % 61 if indoor else 0
                total += RUN_L if day < SHUT and day.weekday() in (0, 3) else 0
                total += winter_l.get(day, 0)
            at = parse_moment(f"{day} 07:00", book.zone_info)
            change.add(MeterReading(meter=meter.code, at=at, register_value=Decimal(total)))
    return book


def november(book: Book) -> MonthReview:
    return review_month(book, "2026-11", NOW)


def days(first: date) -> list[date]:
    return [first + timedelta(days=n) for n in range((LAST - first).days + 1)]


def test_programs_that_ran_on_are_among_the_months_findings_with_their_zone(tmp_path: Path) -> None:
    went_on = {d: RUN_L for d in days(SHUT) if d.weekday() in (0, 3)}
    review = november(book_with(tmp_path, Meter(code="curb", name="Curb", supply="street", unit="l"), True, went_on))
    (found,) = review.findings
    assert (found.kind, found.zone, found.group, found.until) == ("after_shutdown", "bed", ("bed",), None)
    assert "The programs of Rose bed seem to run on" in found.evidence[0]
    assert "controller is really off" in found.check_first
    assert "unplug" in found.caution
    said = " ".join(review.sentences)
    assert "water at the drip line after shutdown at Rose bed since 2" in said


def test_a_drip_behind_a_garden_meter_is_told_after_the_shutdown(tmp_path: Path) -> None:
    meter = Meter(code="yard", name="Yard", supply="street", unit="l", counts="garden")
    drip = dict.fromkeys(days(date(2026, 11, 5)), 70)
    review = november(book_with(tmp_path, meter, False, drip))
    (found,) = review.findings
    assert (found.kind, found.meter, found.until) == ("after_shutdown", "yard", None)
    assert found.since.date() in (date(2026, 11, 4), date(2026, 11, 5))
    assert "water at the drip line after shutdown since" in " ".join(review.sentences)
    assert found.cost is None, "no price is written down"


def test_a_quiet_winter_is_told_nothing(tmp_path: Path) -> None:
    review = november(book_with(tmp_path, Meter(code="curb", name="Curb", supply="street", unit="l"), True, {}))
    assert review.findings == ()


def test_the_shutdown_speaks_of_the_past_as_soon_as_it_is_written_down(tmp_path: Path) -> None:
    """What is kept of the accounts is thrown away by the change set that writes the pause."""
    meter = Meter(code="yard", name="Yard", supply="street", unit="l", counts="garden")
    book = book_with(tmp_path, meter, False, dict.fromkeys(days(date(2026, 11, 5)), 70))
    (pause,) = book.records(Pause)
    with book.change("never shut down") as change:
        change.remove(pause.id, Pause)
    assert "after_shutdown" not in [f.kind for f in november(book).findings]
    g.write(book, Pause(scope="all", since=SHUT, reason="winter"))
    assert "after_shutdown" in [f.kind for f in november(book).findings]
