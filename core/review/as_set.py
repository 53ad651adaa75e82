"""What the controller is set to: its programs in a month, what they give, what is risky about them."""

from __future__ import annotations

import math
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from core.accounts.instants import Flags
from core.days import month_days
from core.notation import DayPattern, Starts, parse_days, parse_starts
from core.review.enough import MUCH
from core.review.picture import Picture
from core.review.spoken import listed, percent
from core.water.program import ZoneNeed
from core.water.runtime import cycles

Days = npt.NDArray[np.datetime64]
WEEKDAY_NAMES = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
ENOUGH = 0.9  # of the need; our own


@dataclass(frozen=True, slots=True)
class AsSet:
    """A program as the book has it; ``minutes`` each start, after the seasonal percent."""

    label: str
    days: DayPattern
    starts: Starts
    minutes: float
    since: date

    @property
    def words(self) -> str:
        """``Mon, Wed, Fri at 05:05, 45 min``."""
        return program_words(self.days, self.starts, self.minutes)

    def minutes_on(self, day: date) -> float:
        """Minutes it runs on a day."""
        return self.minutes * len(self.starts.times) if self.days.waters_on(day) else 0.0


def program_words(days: DayPattern, starts: Starts, minutes: float) -> str:
    """Days, starts and minutes in words."""
    times = listed(f"{t:%H:%M}" for t in starts.times)
    each = " each" if len(starts.times) > 1 else ""
    return f"{days_words(days)} at {times}, {minutes:g} min{each}"


def days_words(days: DayPattern) -> str:
    """Days of a program in words: ``every day``, ``Mon, Thu``, ``odd dates``, ``every 3 days``."""
    if days.form == "weekdays":
        return "every day" if len(days.weekdays) == 7 else ", ".join(WEEKDAY_NAMES[d] for d in sorted(days.weekdays))
    if days.form == "every":
        return "every day" if days.every == 1 else f"every {days.every} days"
    return f"{days.form} dates"


def month_looked_at(picture: Picture, month: int) -> tuple[date, date]:
    """First day of the latest such month that has begun, and of the one after it."""
    today = picture.today
    return month_days(f"{today.year - (month > today.month):04}-{month:02}")


def paused_on(picture: Picture, zone: str, days: Days) -> Flags:
    """On which of these days a pause holds a zone off, those planned for later included."""
    off = np.zeros(len(days), dtype=bool)
    for pause in picture.planned.to_dict("records"):
        if pause["scope"] in ("all", zone):
            off |= holds_on(pause, days)
    return off


def holds_on(row: Mapping[Hashable, Any], days: Days) -> Flags:
    """On which of these days a pause or a program holds, a row of its frame."""
    begun: Flags = days >= np.datetime64(row["since"], "D")
    return begun if pd.isna(row["until"]) else begun & (days < np.datetime64(row["until"], "D"))


def set_in(picture: Picture, zone: str, month: int) -> tuple[AsSet, ...]:
    """The programs of a zone in the latest such month that has begun: today's in the running month, else for each label
    the one that held longest.
    """
    first, following = month_looked_at(picture, month)
    today = pd.Timestamp(picture.today)
    if first <= picture.today < following:
        opens, closes = today, today + pd.Timedelta(days=1)
    else:
        opens, closes = pd.Timestamp(first), pd.Timestamp(following)
    rows = picture.frames["program"]
    ends = rows["until"].fillna(closes)
    held = ends.where(ends < closes, closes) - rows["since"].where(rows["since"] > opens, opens)
    rows = rows.assign(held=held)[((rows["zone"] == zone) & (held > pd.Timedelta(0))).to_numpy(bool)]
    longest = rows.sort_values(["held", "since"]).drop_duplicates("label", keep="last").sort_values("label")
    return tuple(
        AsSet(
            str(row["label"]),
            parse_days(row["days"]),
            parse_starts(row["starts"]),
            float(row["minutes"]) * float(row["percent"]) / 100,
            row["since"].date(),
        )
        for row in longest.to_dict("records")
    )


def given_l(programs: Sequence[AsSet], flow_lph: float, first: date, following: date) -> float:
    """Litres the programs give from ``first`` up to ``following``, were nothing paused."""
    days = [first + timedelta(days=n) for n in range((following - first).days)]
    return sum(p.minutes_on(d) for p in programs for d in days) / 60 * flow_lph


def set_risk(programs: Sequence[AsSet], need: ZoneNeed, first: date, following: date) -> str:
    """What is wrong with the programs for a need, in one sentence, "" when nothing is."""
    if not programs:
        return "Nothing is set."
    days = [first + timedelta(days=n) for n in range((following - first).days)]
    share = given_l(programs, need.flow_lph, first, following) / len(days) / need.litres_a_day
    gap = longest_gap(programs, first)
    risks = []
    if share < ENOUGH:
        risks.append(f"it gives {percent(share)} of what is needed")
    elif share > MUCH:
        risks.append(f"it gives {percent(share)} of what is needed, the rest drains below the roots")
    starts = max(len(p.starts.times) for p in programs)
    too_few = need.lasts_days < 1 and starts < math.ceil(1 / need.lasts_days - 1e-9)
    often = "once" if starts == 1 else f"{starts} times"
    lasts = f"{24 * need.lasts_days:.0f} hours" if need.lasts_days < 1.5 else f"{need.lasts_days:.1f} days"
    if gap > max(1, math.floor(need.lasts_days)):
        seldom = f", and it starts {often} a day" if too_few else ""
        risks.append(
            f"the plants run dry between waterings, up to {gap} days apart{seldom}: what their soil holds lasts {lasts}"
        )
    elif too_few:
        risks.append(f"what their soil holds lasts {lasts}, and it starts {often} a day")
    if need.rate_mm_h is not None and need.intake_mm_h is not None:
        longest = max(p.minutes for p in programs)
        pieces = cycles(longest, need.rate_mm_h, need.intake_mm_h)
        if pieces.count > 1:
            risks.append(
                f"{longest:.0f} min at once is more than the soil takes: {pieces.count} runs of "
                f"{pieces.minutes:.0f} min, {pieces.soak_minutes:.0f} min apart, would soak in"
            )
    said = "; ".join(risks)
    return f"{said[:1].upper()}{said[1:]}." if said else ""


def longest_gap(programs: Sequence[AsSet], first: date) -> int:
    """Days from one watering to the next at most, all programs of the zone together, over eight weeks."""
    watered = [n for n in range(56) if any(p.days.waters_on(first + timedelta(days=n)) for p in programs)]
    return max((b - a for a, b in pairwise(watered)), default=56)
