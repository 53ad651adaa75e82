"""First days that disagree are said, since what runs before its zone begins is counted as not running."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from core.book.kinds import Zone
from core.review import review_month
from core.review.days_apart import before_their_zone
from tests.core.review.gardens import begin, drip, normals, program, shrubs, zone

MAY, NOVEMBER = date(2026, 5, 15), date(2026, 11, 1)
SAID = (
    "Bed is in use since 1 November 2026, but its plants since 15 May 2026, its emitters since 15 May 2026 and its "
    "program since 15 May 2026. Until the zone's first day nothing runs in the book, so its plants got nothing. "
    "Put right the day that is wrong."
)


def test_parts_put_right_to_may_in_a_zone_of_november_are_said(tmp_path: Path) -> None:
    parts = (shrubs(since=MAY), drip(since=MAY), program(since=MAY))
    book = begin(tmp_path, zone(since=NOVEMBER), *parts, *normals())
    assert before_their_zone(book.frames()) == [SAID]
    steps = review_month(book, "2026-07").next_steps
    assert [s.page for s in steps if s.words == SAID] == ["garden"]
    there = book.records(Zone)[0]
    with book.change("put right") as change:
        change.correct(there.id, zone(since=MAY))
    assert before_their_zone(book.frames()) == []


def test_what_came_later_or_has_no_first_day_disagrees_with_nothing(tmp_path: Path) -> None:
    later = shrubs(since=NOVEMBER)
    book = begin(tmp_path, zone(since=MAY), zone("other"), later, shrubs("other", since=MAY), program("other"))
    assert before_their_zone(book.frames()) == []
