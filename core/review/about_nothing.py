"""Decisions that speak of no finding of today: kept, and yet without any effect while that is so."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from core.accounts.suspects.words import KIND_WORDS
from core.book.kinds import Decision, Record
from core.book.store import Book
from core.review import see
from core.review.decide import said
from core.review.spoken import day_named

SHOWN = 5  # told one by one


def about_nothing(book: Book, stored: Iterable[tuple[str, Record]], now: datetime) -> list[str]:
    """A sentence for each decision that is about no finding as of ``now``; what was asked again is about none.

    Args:
        stored: records of the book, each with where it came from ("decision.csv, row 2").
    """
    made = [(where, r) for where, r in stored if isinstance(r, Decision) and r.verdict != "ask_again"]
    if not made:
        return []
    picture = see(book, now)
    tz, names = picture.tz, picture.zone_names
    told = []
    for where, decision in made:
        meant = said(decision)
        if any(meant.is_about(f, a.findings, now, tz) for a in picture.accounts.values() for f in a.findings):
            continue
        what = KIND_WORDS.get(decision.finding, decision.finding)
        at = f" at {names.get(decision.zone, decision.zone)}" if decision.zone else ""
        told.append(
            f"{where}: stored, but no finding of today is {what}{at} from {day_named(decision.since, year=True)} "
            f"{f'to {day_named(decision.until, year=True)}' if decision.until else 'on'}, so it changes nothing now."
        )
    more = [f"And {len(told) - SHOWN} more decisions like these."] if len(told) > SHOWN else []
    return told[:SHOWN] + more
