"""A lone first reading that lies a lifetime before the next, as one of a wrong century does, is left out."""

from __future__ import annotations

from zoneinfo import ZoneInfo

import pandas as pd

# Meters are replaced after some 15 to 20 years (common practice, from memory), so such a step tells of no one register.
FAR = pd.Timedelta(days=20 * 365.25)


def without_lone(readings: pd.DataFrame, meters: pd.DataFrame, tz: ZoneInfo) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """The readings that the picture begins with, and a sentence about each that is left out.

    One reading of the year 1899 would stretch a book's days, months and charts over all the years since.

    Args:
        readings, meters: frames of the book.
        tz: the home's.
    """
    names = dict(zip(meters["code"], meters["name"], strict=True))
    lone, said = [], []
    for code, own in readings.sort_values("at", kind="stable").groupby("meter", sort=False):
        if len(own) < 2 or own["at"].iloc[1] - own["at"].iloc[0] <= FAR:
            continue
        lone.append(own.index[0])
        first, then = (own["at"].iloc[n].tz_convert(tz) for n in (0, 1))
        said.append(
            f"The first reading of {names.get(code, code)} is of {first.day} {first:%B %Y}, {then.year - first.year} "
            "years before the next, and is left out. Put its date right, or remove it."
        )
    return readings.drop(index=lone).reset_index(drop=True), tuple(said)
