"""Billing periods: one, two, three or twelve months from a day of the month on."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

import pandas as pd


def billing_periods(tariffs: pd.DataFrame, first: date, last: date) -> Iterator[tuple[date, date]]:
    """Billing periods (first day, first day of the next) that touch ``first`` to ``last``, in order.

    Periods begin on the tariff's ``first_day`` of a month. Periods of several months count from the month of the
    earliest version in a row that has the same length and day, so a price change does not move them. Where the
    length or day changes, the new periods begin with the new version.

    Args:
        tariffs: versions of one supply's tariff (frame of the book).
    """
    rows = tariffs.sort_values("since").to_dict("records")
    runs: list[tuple[date, int, int]] = []  # since, months, first day
    for row in rows:
        shape = (int(row["period_months"]), int(row["first_day"]))
        if not runs or runs[-1][1:] != shape:
            runs.append((pd.Timestamp(row["since"]).date(), *shape))
    for index, (since, months, day) in enumerate(runs):
        closes = runs[index + 1][0] if index + 1 < len(runs) else None
        start = _anchor(since, day)
        if not index:  # use before the first known price is counted at that price
            while start > first:
                start = _months_on(start, -months)
        while start <= last and (closes is None or start < closes):
            end = _months_on(start, months)
            begins, ends = (max(start, since) if index else start), (min(end, closes) if closes else end)
            if ends > first and begins < ends:
                yield begins, ends
            start = end


def _anchor(since: date, day: int) -> date:
    """The last ``day`` of a month on or before ``since``."""
    return since.replace(day=day) if since.day >= day else _months_on(since.replace(day=day), -1)


def _months_on(day: date, months: int) -> date:
    month = day.year * 12 + day.month - 1 + months
    return day.replace(year=month // 12, month=month % 12 + 1)
