"""Making one step of a leak hunt: what would spoil the wait, and the record it becomes."""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal
from typing import Literal
from zoneinfo import ZoneInfo

import pandas as pd

from core.accounts.runs import runs_between
from core.accounts.steps import MOST_LPH, NEAR_TOP
from core.book.frames import Frames
from core.book.kinds import LeakTest, Measured, Meter, Task, Upkeep
from core.book.store import Book
from core.care.leak_hunt import Code
from core.days import Moment
from core.errors import EntryError
from core.review.hunt import Setting
from core.units import to_base

TASK = "leak-test"  # the care of core.care.tasks that a test with everything off is
SHUT: dict[Code, Literal["nothing", "house", "manifold", "zone"]] = {
    "off": "nothing",
    "run": "nothing",  # with its zone named: that zone ran
    "house": "house",
    "manifold": "manifold",
    "zone": "zone",
}


def store_test(book: Book, record: LeakTest, words: str) -> int | None:
    """Write a test down; one with everything off is the care of that name done, where the book has it.

    Returns the number of the change set.
    """
    with book.change(f"leak hunt: {words}") as change:
        change.add(record)
        day = record.at.utc.astimezone(book.zone_info).date()
        everything_off = record.shut == "nothing" and record.zone is None
        if everything_off and change.find(Task, TASK) and not change.records(Upkeep, task=TASK, day=day):
            change.add(Upkeep(task=TASK, day=day, note="with a leak hunt"))
    return change.number


def starts_within(
    frames: Frames, setting: Setting, zone: ZoneInfo, start: datetime, end: datetime
) -> list[tuple[str, datetime]]:
    """Runs by the program that would spoil a test between two instants: the zone's name and its start."""
    first, last = start.astimezone(zone).date(), end.astimezone(zone).date()
    runs = runs_between(
        frames["program"],
        frames["pause"],
        frames["run"],
        frames["controller"],
        frames["clock_check"],
        frames["zone"],
        zone,
        first - timedelta(days=1),
        last,
    )
    runs = runs[runs["zone"].isin(list(setting.names)) & (runs["basis"] != "did_not")]
    hit = runs[(runs["start"] < pd.Timestamp(end)) & (runs["end"] > pd.Timestamp(start))].sort_values("start")
    return [(setting.names[z], at.to_pydatetime()) for z, at in zip(hit["zone"], hit["start"], strict=True)]


def leak_test(
    meter: Meter,
    code: Code,
    zone: str | None,
    start: Moment,
    end: Moment,
    before: Decimal,
    after: Decimal,
    note: str = "",
) -> LeakTest:
    """The record of one step.

    Raises:
        EntryError: the second reading was not taken after the first, or the two cannot both be right.
    """
    minutes = (end.utc - start.utc).total_seconds() / 60
    if minutes <= 0:
        raise EntryError("The second reading must be taken after the first. Nothing was stored.")
    if before < 0 or after < 0:
        raise EntryError("A register never shows less than 0. Nothing was stored.")
    full = Decimal(10) ** meter.digits
    if max(before, after) >= full:
        raise EntryError(f"{max(before, after):,} has more than the {meter.digits} digits of {meter.name}.")
    rise = after - before
    if rise < 0 and float(before) >= NEAR_TOP * float(full):  # it rolled over
        rise += full
    if rise < 0:
        raise EntryError(
            f"The second number, {after:,}, is lower than the first, {before:,}. Look at both again. "
            "Nothing was stored."
        )
    if to_base(rise, meter.unit, "volume") > MOST_LPH * minutes / 60 + to_base(meter.resolution, meter.unit, "volume"):
        raise EntryError(
            f"From {before:,} to {after:,} in {minutes:,.0f} min is more than a home's meter can pass. "
            "Look at both again. Nothing was stored."
        )
    return LeakTest(
        meter=meter.code,
        at=start,
        duration=Measured(f"{minutes:.2f}".rstrip("0").rstrip("."), "min", "duration"),
        before=before,
        after=after,
        shut=SHUT[code],
        zone=zone if code in ("zone", "run") else None,
        note=note,
    )
