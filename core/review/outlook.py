"""The weather a program is made for: the month's normals, the last weeks, or a dry spell."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal

import numpy as np
import pandas as pd

from core.accounts.instants import day_range
from core.days import month_days
from core.errors import EntryError
from core.figures import Line
from core.review.picture import Picture
from core.review.sky import trusted_weather
from core.review.spoken import counted, day_named
from core.water.rain import drop_light_rain, scs_monthly
from core.water.reference_et import daily_reference_et

Basis = Literal["normals", "recent", "dry"]
BASES: dict[Basis, str] = {
    "normals": "a usual month",
    "recent": "the last two weeks",
    "dry": "a dry spell",
}
WEEKS = 2  # of weather that "the last weeks" look back over
SPELL_DAYS = 14  # over which the thirstiest spell of a month is looked for
OBSERVED = ("measured", "penman-monteith", "hargreaves", "bridged")


@dataclass(frozen=True, slots=True)
class Outlook:
    """Weather of one day to come, as a mean.

    Attributes:
        basis: what it rests on, after any falling back.
        reference_et_mm: a day. rain_mm: rain in the open that counts, a day.
        words: what it rests on; lines: the same with numbers.
    """

    basis: Basis
    reference_et_mm: float
    rain_mm: float
    words: str
    lines: tuple[Line, ...]


def coming(today: date, month: int) -> tuple[date, date]:
    """First day of the next such month and of the one after it; the running month counts as next."""
    year = today.year + (month < today.month)
    return month_days(f"{year:04}-{month:02}")


def outlook(picture: Picture, month: int, basis: Basis = "normals", weeks: int = WEEKS) -> Outlook:
    """The weather to reckon with in a month of the year, 1 to 12.

    - normals: the month's usual reference ET and rain; where none are written down, the mean of the book's own days.
      Rain counts by the USDA-SCS rule for months.
    - recent: the mean of the last weeks up to yesterday; rain counts by FAO-56's rule for light rain. Where they are
      not known the normals stand in and ``words`` say so.
    - dry: the usual reference ET, or the thirstiest two weeks of that month in the book where they asked for more, and
      no rain.

    Raises:
        EntryError: nothing is known of the month, or not a month or basis.
    """
    if not 1 <= month <= 12:
        raise EntryError(f"{month} is not a month. Expected 1 to 12.")
    if basis not in BASES:
        raise EntryError(f"“{basis}” is nothing a program can be made for. Expected {', '.join(BASES)}.")
    if basis == "recent":
        found = _recent(picture, weeks)
        if found is not None:
            return found
        usual = _usual(picture, month)
        missing = f"No weather is written down for the last {counted(weeks, 'week')}, so the usual month stands in."
        return Outlook("normals", usual.reference_et_mm, usual.rain_mm, missing, usual.lines)
    usual = _usual(picture, month)
    return usual if basis == "normals" else _dry(picture, month, usual)


def usual_days(picture: Picture, days: pd.DatetimeIndex) -> pd.Series:
    """Reference ET of each day by the normals, mm; NaN where there are none for its month."""
    weather, elevation_m, _ = trusted_weather(picture.frames["weather"].iloc[:0], picture.home)
    found = daily_reference_et(weather, days, picture.home.latitude, elevation_m, picture.frames["normal"])
    return found["reference_et_mm"]


def _usual(picture: Picture, month: int) -> Outlook:
    first, following = coming(picture.today, month)
    days = day_range(first, (pd.Timestamp(following) - pd.Timedelta(days=1)).date())
    normals = picture.frames["normal"].set_index("month")
    seen = _observed(picture, month)
    reference, source = float(usual_days(picture, days).mean()), "the month's normals"
    if not np.isfinite(reference):
        reference, source = float(seen["reference_et_mm"].mean()), f"mean of {counted(len(seen), 'day')} in your book"
    if not np.isfinite(reference):
        raise EntryError(
            f"Nothing is known of the weather in {first:%B}. Bring in weather, or write down the normals of the month."
        )
    rain, rain_source = float(normals["rain_mm"].get(month, np.nan)), "the month's normals"
    if not np.isfinite(rain):
        wet = seen[seen["rain_basis"].isin(["gauge", "no entry"])]["rain_mm"]
        rain, rain_source = (
            float(wet.mean()) * len(days) if len(wet) else 0.0,
            "your gauge" if len(wet) else "not known",
        )
    counts = float(scs_monthly(rain)) / len(days)
    lines = (
        Line(f"reference ET a day, {first:%B}", reference, "mm", source),
        Line("rain of the month", rain, "mm", rain_source),
        Line("rain that counts, a day", counts, "mm", "USDA-SCS rule for months (Smith, CROPWAT, 1992)"),
    )
    return Outlook("normals", reference, counts, f"A usual {first:%B}.", lines)


def _dry(picture: Picture, month: int, usual: Outlook) -> Outlook:
    seen = _observed(picture, month)["reference_et_mm"].asfreq("D")
    most = float(seen.rolling(SPELL_DAYS).mean().max()) if len(seen) >= SPELL_DAYS else np.nan
    reference = usual.reference_et_mm if np.isnan(most) else max(most, usual.reference_et_mm)
    thirst = (
        "the usual month" if reference == usual.reference_et_mm else f"the thirstiest {SPELL_DAYS} days in your book"
    )
    lines = (
        Line("reference ET a day", reference, "mm", thirst),
        Line("rain that counts, a day", 0.0, "mm", "a dry spell has none"),
    )
    return Outlook("dry", reference, 0.0, f"A dry spell: reference ET of {thirst}, and no rain.", lines)


def _recent(picture: Picture, weeks: int) -> Outlook | None:
    if weeks < 1:
        raise EntryError(f"{weeks} weeks cannot be looked back over. Expected 1 or more.")
    today = pd.Timestamp(picture.today)
    rows = picture.sky[(picture.sky.index >= today - pd.Timedelta(weeks=weeks)) & (picture.sky.index < today)]
    known = rows[rows["method"].isin(OBSERVED)]
    if len(known) < 7 * weeks / 2:
        return None
    counts, _ = drop_light_rain(known["rain_mm"], known["reference_et_mm"])
    lines = (
        Line("reference ET a day", float(known["reference_et_mm"].mean()), "mm", f"{counted(len(known), 'day')} known"),
        Line("rain that counts, a day", float(counts.mean()), "mm", "FAO-56 p. 170, light rain dropped"),
    )
    words = f"The last {counted(weeks, 'week')}, to {day_named(rows.index[-1], year=True)}."
    return Outlook("recent", float(known["reference_et_mm"].mean()), float(counts.mean()), words, lines)


def _observed(picture: Picture, month: int) -> pd.DataFrame:
    sky = picture.sky
    return sky[(pd.DatetimeIndex(sky.index).month == month) & sky["method"].isin(OBSERVED).to_numpy(bool)]
