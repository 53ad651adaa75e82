"""What to do next, the most pressing first."""

from __future__ import annotations

import re
from datetime import date, timedelta

import pandas as pd

from core.accounts.findings import Finding, means_no_water
from core.accounts.remarks import FELL, remarked
from core.care.due import DueItem
from core.review.days_apart import before_their_zone
from core.review.month import USES_CARD, AskedStay, NextStep, ZoneMonth, card_of
from core.review.naming import called
from core.review.not_come import zones_of
from core.review.odd_uses import apart, question
from core.review.parts import one_reading
from core.review.picture import Picture
from core.review.spoken import counted, first_up, listed
from core.review.tell import finding_dates, worth_saying
from core.review.unread import unread
from core.review.waste import still_wasted
from core.review.wrong_readings import WRONG, readings_of
from core.units import show

QUIET_DAYS = 10  # readings further apart than this let a leak run


def next_steps(
    picture: Picture,
    findings: tuple[Finding, ...],
    stays: tuple[AskedStay, ...],
    due: tuple[DueItem, ...],
    zones: tuple[ZoneMonth, ...],
    intervals: pd.DataFrame,
    days: tuple[date, date],
) -> tuple[NextStep, ...]:
    """Suspects to check, readings to put right, care due, and what is missing in the book.

    Args:
        days: the month's first and last.
    """
    broken, uses = apart(worth_saying(findings))
    steps = [
        NextStep(
            _to_check(picture, f),
            "meter" if f.kind in WRONG else "month",
            {"strong": 90, "fair": 60}[f.strength] + min(f.score, 9),
            reading=_reading(picture, f),
            card=card_of(f),
        )
        for f in broken
        if f.check_first
    ][:3]
    if uses:
        system = picture.home.display
        told = [(finding_dates(f, picture.tz), show(f.volume.value or 0.0, "volume", system)) for f in uses]
        steps.append(NextStep(f"{question(told)} If so, write it down as other use.", "month", 45, card=USES_CARD))
    steps += [NextStep(_from_when(picture, f), "month", 55, card=card_of(f)) for f in findings if _open(picture, f)]
    steps += [NextStep(s.short, "month", 48, card=card_of(s)) for s in stays]
    steps += [NextStep(item.sentence, "care", 70 if item.days_left < 0 else 40 - item.days_left) for item in due[:3]]
    fallen = intervals[intervals["metered_l"].isna() & remarked(intervals["note"], FELL)]
    steps += [
        NextStep(words, "meter", 80, reading=_read_at(picture, fallen["meter"].iloc[0], fallen["end"].iloc[0]))
        for words in unread(picture, fallen)[:1]
    ]
    steps += _missing(picture)
    wasted = still_wasted(picture) if days[1] == picture.today else None  # what is set now is of no past month
    if wasted:
        steps.append(NextStep(wasted.sentence, "program", 68))
    dry = [z for z in zones if z.stress_days >= 3]
    if dry:
        worst = max(dry, key=lambda z: z.stress_days)
        steps.append(
            NextStep(
                f"Look at {worst.name}: its plants went short on {counted(worst.stress_days, 'day')}.", "plants", 50
            )
        )
    return tuple(sorted(steps, key=lambda s: -s.weight))


def _reading(picture: Picture, finding: Finding) -> int | None:
    """The id of the one reading a finding says is wrong, if it says which."""
    if finding.kind not in WRONG:
        return None
    found = readings_of(finding, picture.frames["meter_reading"], picture.frames["meter"])
    return int(found["id"].iloc[0]) if len(found) == 1 else None


def _read_at(picture: Picture, meter: str, at: pd.Timestamp) -> int | None:
    """The id of the reading of a meter at an instant."""
    readings = picture.frames["meter_reading"]
    found = readings[(readings["meter"] == meter) & (readings["at"] == at)]
    return int(found["id"].iloc[-1]) if len(found) else None


def _open(picture: Picture, finding: Finding) -> bool:
    """Whether a person said that runs brought no water while nothing tells of a single one that it did not come."""
    if not means_no_water(finding):
        return False
    days, until = picture.zone_days, finding.until or picture.as_of
    first, last = (pd.Timestamp(t.astimezone(picture.tz).date()) for t in (finding.since, until))
    during = days["zone"].isin(zones_of(finding)) & days["day"].between(first, last)
    return not (days.loc[during, "state"] == "missed").any()


def _from_when(picture: Picture, finding: Finding) -> str:
    named = listed(picture.zone_names.get(z, z) for z in zones_of(finding))
    return f"Say from when to when the runs of {named} did not come: until then their water counts as given."


def _to_check(picture: Picture, finding: Finding) -> str:
    """A finding by its name and dates with the first thing to look at; how much and all the rest its card says."""
    first = re.split(r"(?<=[.?])\s", finding.check_first, maxsplit=1)[0]
    name, dates = first_up(called(finding, picture.zone_names)), finding_dates(finding, picture.tz)
    return f"{name}, {dates}: {first[:1].lower()}{first[1:]}"


def _missing(picture: Picture) -> list[NextStep]:
    frames = picture.frames
    steps = [NextStep(words, "garden", 78, "zone") for words in before_their_zone(frames)[:2]]
    if frames["meter"].empty:
        return [
            *steps,
            NextStep(
                "Write down your meter in the garden page: without it no leak can be told.", "garden", 80, "meter"
            ),
        ]
    if frames["meter_reading"].empty and frames["metered_use"].empty:
        return [*steps, NextStep("Read your meter and write down the number; a week later read it again.", "write", 85)]
    ends = [a.metered_through for a in picture.accounts.values() if a.metered_through]
    if not ends or picture.as_of - max(ends) > timedelta(days=QUIET_DAYS):
        again = "Read the meter again: the second number shows the first use." if one_reading(picture) else ""
        last = f" The last reading is of {_day(pd.Timestamp(max(ends)).tz_convert(picture.tz))}." if ends else ""
        steps.append(NextStep(again or f"Read the meter.{last}", "write", 65))
    if frames["weather"].empty and frames["normal"].empty:
        steps.append(
            NextStep("Bring in weather or the twelve monthly normals: need is reckoned from them.", "files", 75)
        )
    if frames["tariff"].empty:
        steps.append(NextStep("Write down your water tariff to see what things cost.", "garden", 30, "tariff"))
    return steps


def _day(stamp: pd.Timestamp) -> str:
    return f"{stamp.day} {stamp:%B}"
