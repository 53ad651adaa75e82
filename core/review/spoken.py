"""Days, lists, counts and figures in words, for the sentences of the review and for whoever shows it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, timedelta

import pandas as pd

from core.figures import Figure, Line
from core.units import QUANTITIES, System, show, spanned

_BASES = {q.base: q.name for q in QUANTITIES.values()}


def listed(words: Iterable[str], link: str = "and") -> str:
    """``a, b and c``."""
    items = list(words)
    return items[0] if len(items) == 1 else f"{', '.join(items[:-1])} {link} {items[-1]}" if items else ""


def counted(number: float, one: str, many: str = "") -> str:
    """``1 day``, ``3 days``."""
    return f"{number:,.0f} {one if round(number) == 1 else many or one + 's'}"


def amount(value: float | None, quantity: str, system: System, currency: str = "$") -> str:
    """A value with its unit: ``1,240 gal``, ``$12.30``, ``3 days``."""
    if value is None or value != value:  # noqa: PLR0124 - NaN
        return "not known"
    if quantity in QUANTITIES:
        return show(value, quantity, system)
    if quantity == "money":
        return f"{'−' if value < -0.004 else ''}{currency}{abs(value):,.2f}"
    number = counted(value, "day") if quantity == "days" else percent(value) if quantity == "share" else f"{value:,.0f}"
    return number.replace("-", "−")


def span(figure: Figure, system: System, currency: str = "$") -> str:
    """A figure's 90 % range, or ""."""
    if figure.value is None or figure.low is None or figure.high is None:
        return ""
    low, high = (amount(v, figure.quantity, system, currency) for v in (figure.low, figure.high))
    return "" if low == high else spanned(low, high)


def line_value(line: Line, system: System, currency: str = "$") -> str:
    """The value of one line of a working, in the reader's units."""
    if isinstance(line.value, str):
        return f"{line.value} {line.unit}".strip()
    name = _BASES.get(line.unit, line.unit)
    if name in QUANTITIES:
        return show(line.value, name, system, 2 if 0 < abs(line.value) < 10 else None)
    if name in ("money", "days", "share", "count"):
        return amount(line.value, name, system, currency)
    number = f"{line.value:,.3f}".rstrip("0").rstrip(".") if abs(line.value) < 1000 else f"{line.value:,.0f}"
    return f"{number} {line.unit}".strip().replace("-", "−")


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
