"""A decision of a sheet about no finding of today is said to change nothing."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from core.book.kinds import Decision
from core.review.about_nothing import about_nothing
from tests.core.review.gardens import parse_moment as moment
from tests.core.review.gardens import write
from tests.fuller import fuller_book

NOW = datetime(2026, 8, 10, 18, tzinfo=UTC)


@pytest.mark.parametrize(
    ("finding", "year", "verdict", "said"),
    [
        ("steady", 2026, "explained", ""),
        (
            "stuck_open",
            2026,
            "explained",
            "a valve that did not close from 14 June 2026 to 24 June 2026, so it changes",
        ),
        ("steady", 2025, "harmless", "water that runs all the time from 14 June 2025 to 24 June 2025, so it changes"),
        ("steady", 2025, "ask_again", ""),
    ],
)
def test_what_speaks_of_no_finding_is_said(tmp_path: Path, finding: str, year: int, verdict: str, said: str) -> None:
    """The book uses twice as much in the ten days from 14 June 2026, which a leak may have been as well as guests."""
    book = fuller_book(tmp_path)
    record = Decision(
        finding=finding,
        since=date(year, 6, 14),
        until=date(year, 6, 24),
        verdict=verdict,  # type: ignore[arg-type]
        decided_at=moment(f"{year}-08-01 12:00", book.zone_info),
    )
    write(book, record)
    told = about_nothing(book, [("decision.csv, row 2", record)], NOW)
    assert len(told) == bool(said)
    assert not said or told[0].startswith(f"decision.csv, row 2: stored, but no finding of today is {said}")


def test_of_many_the_first_are_told_and_the_rest_counted(tmp_path: Path) -> None:
    book = fuller_book(tmp_path)
    made = [
        Decision(
            finding="steady",
            since=date(2025, month, 1),
            until=date(2025, month, 9),
            verdict="harmless",
            decided_at=moment("2025-12-01 12:00", book.zone_info),
        )
        for month in range(1, 8)
    ]
    told = about_nothing(book, [("a", r) for r in made], NOW)
    assert told[5:] == ["And 2 more decisions like these."]
