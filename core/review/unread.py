"""Readings that a month's figures do not rest on, each said with what to do about it."""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd

from core.accounts.steps import NEAR_TOP, SMALL_BACK_L
from core.review.picture import Picture
from core.review.spoken import counted, listed
from core.units import to_base

MOST = 3  # named one by one
# Why a stretch has no volume, by what its note holds (core.accounts.registers).
UNREAD = {
    "fell": "the later reading is lower than the one before. Put it right, or say at it that the register was changed.",
    "register changed": "the register was changed, and the old one's last number is not written down.",
    "more than a home's": "it would be more than a home's meter can pass. Put the wrong one of its readings right.",
}
LEFT_OUT = "fits neither the one before nor the one after"


def unread(picture: Picture, intervals: pd.DataFrame) -> list[str]:
    """Stretches whose two readings do not tell what passed between them, the first few of them."""
    names = _names(picture)
    said = []
    for row in intervals[intervals["metered_l"].isna()].to_dict("records"):
        start, end = (_day(row[name], picture) for name in ("start", "end"))
        why = next((words for note, words in UNREAD.items() if note in row["note"]), "its readings do not fit.")
        said.append(
            f"What passed {names.get(row['meter'], row['meter'])} from {start} to {end} is not known and not counted: "
            f"{why}"
        )
    return _first(said, "more stretch", "more stretches")


def not_counted(picture: Picture, intervals: pd.DataFrame, first: date, last: date) -> list[str]:
    """Readings that the figures pass over: those neither neighbour can follow, and falls that a finer file covers."""
    names, said = _names(picture), []
    readings = picture.frames["meter_reading"]
    note = intervals["note"].fillna("")
    for row in intervals[note.str.contains(LEFT_OUT)].to_dict("records"):
        inside = readings[(readings["meter"] == row["meter"]) & readings["at"].between(row["start"], row["end"])]
        said += [
            f"The reading of {names[row['meter']]} on {_day(at, picture)}, {value:,.10g}, {LEFT_OUT} and is not "
            "counted. Put it right, or remove it."
            for at, value in zip(inside["at"], inside["register_value"], strict=True)
            if f"a reading of {value:.12g} {LEFT_OUT}" in row["note"]
        ]
    told = intervals[intervals["metered_l"].isna() | note.str.contains(f"{LEFT_OUT}|another")]
    for meter in picture.frames["meter"].to_dict("records"):
        own = readings[(readings["meter"] == meter["code"]) & (readings["how"] != "estimated")].sort_values("at")
        value, at = own["register_value"].to_numpy(float), own["at"].dt.tz_convert(picture.tz)
        least = max(SMALL_BACK_L / to_base(1, meter["unit"], "volume"), meter["resolution"])
        fell = (np.diff(value, prepend=value[:1]) < -least) & ~own["first_after_change"].to_numpy(bool)
        fell &= np.roll(value, 1) < NEAR_TOP * 10.0 ** meter["digits"]
        fell &= ((at.dt.date >= first) & (at.dt.date <= last)).to_numpy(bool)
        for n in np.flatnonzero(fell):
            near = (told["meter"] == meter["code"]) & (told["start"] <= at.iloc[n]) & (told["end"] >= at.iloc[n - 1])
            if not near.any():
                days = listed(dict.fromkeys(_day(at.iloc[k], picture) for k in (n - 1, n)))
                said.append(
                    f"Two readings of {meter['name']} on {days}, {value[n - 1]:,.10g} and then {value[n]:,.10g}, "
                    "cannot both be right. The month does not rest on them, for a file covers that time; put the wrong "
                    "one right all the same."
                )
    return _first(said, "more reading", "more readings")


def _first(said: list[str], one: str, many: str) -> list[str]:
    more = [f"So it is with {counted(len(said) - MOST, one, many)} of the month."]
    return said[:MOST] + (more if len(said) > MOST else [])


def _names(picture: Picture) -> dict[str, str]:
    return dict(zip(picture.frames["meter"]["code"], picture.frames["meter"]["name"], strict=True))


def _day(stamp: pd.Timestamp, picture: Picture) -> str:
    local = stamp.tz_convert(picture.tz)
    return f"{local.day} {local:%B}"
