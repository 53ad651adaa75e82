"""Days written with slashes or points, which are refused: what they would be, written year first.

Nothing is guessed: 3/4/2026 is a day in March to some and in April to others. Where another cell of the same column can
be read in one order only, such as 7/14/2026, that order is named for all of them.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date

_SLASHED = re.compile(r"\s*(\d{1,2})[/.](\d{1,2})[/.](\d{4})(?:\s+(\S.*?))?\s*$")
_ORDERS = {"month/day/year": (0, 1), "day/month/year": (1, 0)}  # where the month and the day stand


def year_first(texts: Iterable[str]) -> dict[str, str]:
    """For each text that is a day with slashes, the end of the sentence that says how to write it.

    Args:
        texts: the cells of one column.
    """
    readings = {text: _readings(match) for text in texts if (match := _SLASHED.match(text))}
    sure = {next(iter(r)) for r in readings.values() if len(r) == 1}
    said = {}
    for text, found in readings.items():
        if len(sure) == 1 and (order := next(iter(sure))) in found:
            why = "" if len(found) == 1 else f", since other cells of the column can only be {order}"
            said[text] = f"; year first, it is {found[order]} if it is {order}{why}"
        elif found:
            said[text] = "; year first, it is " + " or ".join(f"{day} if it is {order}" for order, day in found.items())
    return said


def _readings(found: re.Match[str]) -> dict[str, str]:
    """The day in each order in which it exists, with the time it has."""
    numbers, days = (int(found[1]), int(found[2])), {}
    for order, (month, day) in _ORDERS.items():
        try:
            first = date(int(found[3]), numbers[month], numbers[day]).isoformat()
        except ValueError:
            continue
        days[order] = f"{first} {found[4]}" if found[4] else first
    return days
