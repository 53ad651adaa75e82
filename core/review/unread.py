"""Readings that a month's figures do not rest on, each said with what to do about it."""

from __future__ import annotations

from datetime import date

import pandas as pd

from core.accounts.registers import meter_intervals
from core.accounts.remarks import BEYOND, CHANGED_FROM_UNKNOWN, FELL, UNFIT, remarked, unfit
from core.accounts.steps import may_have_rolled
from core.review.picture import Picture
from core.review.spoken import counted, listed
from core.units import register_text, to_base

MOST = 3  # named one by one
# Why a stretch has no volume, by what its note holds.
UNREAD = {
    FELL: "the later reading is lower than the one before. Put it right, or say at it that the register was changed.",
    CHANGED_FROM_UNKNOWN: "the register was changed, and the old one's last number is not written down.",
    BEYOND: "it would be more than a home's meter can pass. Put the wrong one of its readings right.",
}


def unread(picture: Picture, intervals: pd.DataFrame) -> list[str]:
    """Stretches whose two readings do not tell what passed between them, the first few of them."""
    names = _names(picture)
    said = []
    for row in intervals[intervals["metered_l"].isna()].to_dict("records"):
        start, end = (_day(row[name], picture) for name in ("start", "end"))
        why = next((words for note, words in UNREAD.items() if note in row["note"]), "its readings do not fit.")
        if FELL in row["note"]:
            why += _or_rolled_over(picture, str(row["meter"]), row["start"], row["end"])
        said.append(
            f"What passed {names.get(row['meter'], row['meter'])} from {start} to {end} is not known and not counted: "
            f"{why}"
        )
    return _first(said, "more stretch", "more stretches")


def _or_rolled_over(picture: Picture, code: str, start: pd.Timestamp, end: pd.Timestamp) -> str:
    """How to say that the register rolled over, where it may have: by what it would show with a digit more."""
    meters, readings = picture.frames["meter"], picture.frames["meter_reading"]
    meter, own = meters[meters["code"] == code].iloc[0], readings[readings["meter"] == code]
    before, after = (own.loc[own["at"] == at, "register_value"] for at in (start, end))
    if before.empty or after.empty:
        return ""
    was, shows, digits = float(before.iloc[-1]), float(after.iloc[-1]), int(meter["digits"])
    hours = (end - start) / pd.Timedelta(hours=1)
    if not may_have_rolled(was, shows, digits, to_base(1, meter["unit"], "volume"), hours):
        return ""
    return (
        " If it rolled over past its highest number, say there that it was changed, with "
        f"{register_text(10.0**digits + shows, float(meter['resolution']))} as the old one's last number."
    )


def not_counted(picture: Picture, intervals: pd.DataFrame, first: date, last: date) -> list[str]:
    """Readings that the figures pass over: those neither neighbour can follow, and falls that a finer file covers."""
    names, said = _names(picture), []
    steps = dict(zip(picture.frames["meter"]["code"], picture.frames["meter"]["resolution"], strict=True))
    readings, filed = picture.frames["meter_reading"], picture.frames["metered_use"]
    # what the registers say by themselves, as if there were no file
    alone = meter_intervals(readings, picture.frames["meter"], filed.iloc[:0]) if len(filed) else intervals
    alone = alone[remarked(alone["note"], UNFIT) | remarked(alone["note"], FELL)]
    unknown = intervals[intervals["metered_l"].isna()]
    for row in alone.to_dict("records"):
        own = readings[(readings["meter"] == row["meter"]) & readings["at"].between(row["start"], row["end"])]
        numbers = list(zip(own["at"], own["register_value"], strict=True))
        step = float(steps[row["meter"]])
        odd = [(at, value) for at, value in numbers if unfit(value, step) in row["note"]]
        said += [
            f"The reading of {names[row['meter']]} on {_day(at, picture)}, {register_text(value, step)}, {UNFIT} and "
            "is not counted. Put it right, or remove it."
            for at, value in odd
            if first <= at.tz_convert(picture.tz).date() <= last
        ]
        told = unknown[(unknown["meter"] == row["meter"]) & (unknown["end"] == row["end"])]
        if FELL in row["note"] and told.empty and first <= row["end"].tz_convert(picture.tz).date() <= last:
            before, after = (register_text(numbers[place][1], step) for place in (0, -1))
            days = listed(dict.fromkeys(_day(row[name], picture) for name in ("start", "end")))
            said.append(
                f"Two readings of {names[row['meter']]} on {days}, {before} and then {after}, cannot both be right. "
                "The month does not rest on them, for a file covers that time; put the wrong one right all the same."
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
