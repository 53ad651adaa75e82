"""The weather of each day of the picture: reference ET by the best method, and rain from gauges or normals."""

from __future__ import annotations

from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from core.accounts.instants import day_range
from core.accounts.rain_days import rain_by_day
from core.book.frames import Frames
from core.book.kinds import Home
from core.errors import EntryError
from core.water.reference_et import daily_reference_et
from core.water.stations import guard_units

QUIET_GAUGE_DAYS = 45  # a gauge written up within so many days is taken as watched: no entry means no rain


def sky(frames: Frames, home: Home, tz: ZoneInfo, days: pd.DatetimeIndex) -> pd.DataFrame:
    """Reference ET and rain of each local day.

    Rain a gauge tells is taken as told. Days without an entry while the gauge is otherwise written up count as dry;
    other days get a thirtieth of the month's normal, or nothing where no normal is known. ``rain_basis`` says which.

    Weather that looks like another unit is left out whole (:func:`trusted_weather`).

    Returns:
        Index = days; reference_et_mm, method, note, rain_mm, rain_basis ("gauge", "no entry", "normals", "none"),
        tmin_c, tmax_c.
    """
    weather, elevation_m, _ = trusted_weather(frames["weather"], home)
    normals = frames["normal"]
    out = daily_reference_et(weather, days, home.latitude, elevation_m, normals, calibrate=True)
    temperature = weather.dropna(subset=["tmin_c", "tmax_c"], how="all").groupby("day")[["tmin_c", "tmax_c"]].mean()
    out = out.join(temperature.reindex(days))
    told = rain_by_day(frames["rain"], tz, days[0].date(), days[-1].date()).set_index("day").reindex(days)
    # A record from 7 to 7 reaches two days and fills neither: what it tells of each counts all the same.
    reached = told["covered"].fillna(0.0).to_numpy(float) > 0
    watched = _watched(reached)
    usual = _usual_rain(normals, days)
    rain = np.where(reached, told["rain_mm"].to_numpy(float), np.where(watched, 0.0, np.nan_to_num(usual)))
    basis = np.where(reached, "gauge", np.where(watched, "no entry", np.where(np.isfinite(usual), "normals", "none")))
    return out.assign(rain_mm=rain, rain_basis=basis)


def trusted_weather(weather: pd.DataFrame, home: Home) -> tuple[pd.DataFrame, float, tuple[str, ...]]:
    """The weather that can be reckoned with, the elevation in metres, and sentences about what cannot.

    A whole column that looks like another unit casts doubt on the file it came from, so all of the weather is left
    out and the normals stand in until it is put right. An elevation that no place has counts as sea level.
    """
    elevation_m, said = home.elevation.base, []
    try:
        guard_units(weather.iloc[:0], home.latitude, elevation_m)
    except EntryError as error:
        said.append(f"{error} Sea level is taken until it is put right.")
        elevation_m = 0.0
    try:
        guard_units(weather, home.latitude, elevation_m)
    except EntryError as error:
        said.append(f"{error} The month's normals stand in for the weather you brought in until it is put right.")
        weather = weather.iloc[:0]
    return weather, elevation_m, tuple(said)


def _watched(reached: np.ndarray) -> np.ndarray:
    """Days within QUIET_GAUGE_DAYS of a day the gauge tells about."""
    marks = np.flatnonzero(reached)
    if not len(marks):
        return np.zeros(len(reached), dtype=bool)
    place = np.arange(len(reached))
    after = np.clip(np.searchsorted(marks, place), 0, len(marks) - 1)
    before = np.maximum(after - 1, 0)
    distance = np.minimum(np.abs(marks[after] - place), np.abs(marks[before] - place))
    watched: np.ndarray = distance <= QUIET_GAUGE_DAYS
    return watched


def _usual_rain(normals: pd.DataFrame, days: pd.DatetimeIndex) -> np.ndarray:
    """The month's normal rain spread evenly over its days, mm; NaN where no normal is known."""
    by_month = normals.set_index("month")["rain_mm"].to_dict()
    usual: np.ndarray = np.array([by_month.get(m, np.nan) for m in days.month], dtype=float)
    usual /= days.days_in_month.to_numpy(float)
    return usual


def span_days(frames: Frames, last: pd.Timestamp, tz: ZoneInfo) -> pd.DatetimeIndex:
    """All local days from the first thing written down to ``last``.

    What the garden is (plantings, programs) counts as well as what happened; a long weather file counts only where
    there is nothing else. A book that holds nothing dated gives the one day ``last``.
    """
    firsts = [_first(frames[kind][column], tz) for kind, column in _DATED]
    found = [stamp for stamp in firsts if stamp is not None]
    if not found:
        found = [stamp for stamp in [_first(frames["weather"]["day"], tz)] if stamp is not None]
    return day_range(min([*found, last]).date(), last.date())


def first_event(frames: Frames, tz: ZoneInfo) -> pd.Timestamp | None:
    """The local day of the first thing that happened and was written down, or None."""
    found = [s for s in (_first(frames[kind][column], tz) for kind, column in _EVENTS) if s is not None]
    return min(found).normalize() if found else None


def _first(column: pd.Series, tz: ZoneInfo) -> pd.Timestamp | None:
    stamp = column.min()
    if pd.isna(stamp):
        return None
    first: pd.Timestamp = stamp.tz_convert(tz).tz_localize(None) if stamp.tzinfo else stamp
    return first


_EVENTS = (
    ("meter_reading", "at"),
    ("metered_use", "start"),
    ("run", "at"),
    ("rain", "start"),
    ("other_use", "start"),
)
_DATED = (*_EVENTS, ("planting", "since"), ("program", "since"))
