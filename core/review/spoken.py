"""Days, lists and counts in words, for the sentences of the review."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, timedelta

import pandas as pd


def listed(words: Iterable[str], link: str = "and") -> str:
    """``a, b and c``."""
    items = list(words)
    return items[0] if len(items) == 1 else f"{', '.join(items[:-1])} {link} {items[-1]}" if items else ""


def counted(number: float, one: str, many: str = "") -> str:
    """``1 day``, ``3 days``."""
    return f"{number:,.0f} {one if round(number) == 1 else many or one + 's'}"


def percent(share: float) -> str:
    """``85 %`` of 0.85, as charts and tables write it."""
    return f"{100 * share:,.0f} %"


def first_up(words: str) -> str:
    """The words with a capital at their beginning."""
    return words[:1].upper() + words[1:]


def day_named(day: date | pd.Timestamp, *, month: bool = False, year: bool = False) -> str:
    """``Tue 11``, ``Tue 11 August`` or ``11 August 2026``."""
    if year:
        return f"{day.day} {day:%B %Y}"
    return f"{day:%a} {day.day} {day:%B}" if month else f"{day:%a} {day.day}"


def days_named(days: Sequence[date]) -> str:
    """``Tue 11 and Thu 13 August``; three days or more in a row as ``Sat 8 to Fri 14 August``.

    Days are in order; the month is said with the last of its days.
    """
    spans: list[tuple[date, date]] = []
    for day in days:
        if spans and day - spans[-1][1] == timedelta(days=1):
            spans[-1] = (spans[-1][0], day)
        else:
            spans.append((day, day))
    ends = [d for first, last in spans for d in _told(first, last)]
    words = []
    place = 0
    for first, last in spans:
        told = _told(first, last)
        named = []
        for day in told:
            place += 1
            following = ends[place] if place < len(ends) else None
            named.append(day_named(day, month=following is None or following.month != day.month))
        words += [" to ".join(named)] if last - first > timedelta(days=1) else named
    return listed(words)


def _told(first: date, last: date) -> list[date]:
    return [first] if first == last else [first, last]
