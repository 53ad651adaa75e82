"""Reference evapotranspiration of grass, mm per day, by the best method each day's data allow.

penman_monteith(tmin_c, tmax_c, vapour_kpa, wind_2m_mps, solar_mj_m2, latitude_deg, day_of_year, elevation_m,
                soil_heat_mj_m2=0.0) -> mm/d
hargreaves(tmin_c, tmax_c, latitude_deg, day_of_year) -> mm/d
daily_reference_et(weather, days, latitude_deg, elevation_m, normals=None, *, calibrate=False)
    -> DataFrame[index = days: reference_et_mm, method, note]
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from core.water.stations import best_rows, guard_units
from core.water.sun import (
    Floats,
    clear_sky_radiation,
    extraterrestrial_radiation,
    floats,
    net_longwave,
    net_shortwave,
)
from core.water.vapour import (
    LEAST_WIND_MPS,
    air_pressure,
    mean_saturation_vapour,
    psychrometric_constant,
    vapour_slope,
)

METHODS = ("measured", "penman-monteith", "hargreaves", "normals", "bridged", "none")
MJ_TO_MM = 0.408  # water evaporated by 1 MJ m-2, FAO-56 eq. 20
LONGEST_BRIDGE_DAYS = 7
FEWEST_CALIBRATION_DAYS = 60


def penman_monteith(
    tmin_c: ArrayLike,
    tmax_c: ArrayLike,
    vapour_kpa: ArrayLike,
    wind_2m_mps: ArrayLike,
    solar_mj_m2: ArrayLike,
    *,
    latitude_deg: ArrayLike,
    day_of_year: ArrayLike,
    elevation_m: ArrayLike,
    soil_heat_mj_m2: ArrayLike = 0.0,
) -> Floats:
    """Reference ET of grass by the FAO Penman-Monteith equation (FAO-56 eq. 6).

    Args:
        tmin_c, tmax_c: lowest and highest air temperature of the day, C.
        vapour_kpa: actual vapour pressure (:mod:`core.water.vapour` has the ways to it).
        wind_2m_mps: mean wind at 2 m, m/s; below 0.5 it is taken as 0.5, as FAO-56 advises.
        solar_mj_m2: radiation at the ground, MJ m-2 d-1.
        latitude_deg, day_of_year, elevation_m: place and day, for the clear-sky radiation.
        soil_heat_mj_m2: 0 for a day; :func:`core.water.sun.monthly_soil_heat` for a month.

    Returns:
        mm per day, broadcast over the inputs. May be slightly below zero in deep winter, when dew forms.
    """
    tmean = (floats(tmin_c) + floats(tmax_c)) / 2
    slope = vapour_slope(tmean)
    gamma = psychrometric_constant(air_pressure(elevation_m))
    clear = clear_sky_radiation(extraterrestrial_radiation(latitude_deg, day_of_year), elevation_m)
    net = net_shortwave(solar_mj_m2) - net_longwave(tmin_c, tmax_c, vapour_kpa, solar_mj_m2, clear)
    wind = np.maximum(floats(wind_2m_mps), LEAST_WIND_MPS)
    deficit = mean_saturation_vapour(tmin_c, tmax_c) - floats(vapour_kpa)
    energy = MJ_TO_MM * slope * (net - floats(soil_heat_mj_m2))
    drying = gamma * 900 / (tmean + 273) * wind * deficit
    return (energy + drying) / (slope + gamma * (1 + 0.34 * wind))


def hargreaves(tmin_c: ArrayLike, tmax_c: ArrayLike, latitude_deg: ArrayLike, day_of_year: ArrayLike) -> Floats:
    """Reference ET from temperature alone (FAO-56 eq. 52, Hargreaves), mm per day, never below 0.

    Meant for sums or means over several days. It reads low in wind above 3 m/s and high in humid air.
    """
    low, high = floats(tmin_c), floats(tmax_c)
    top = MJ_TO_MM * extraterrestrial_radiation(latitude_deg, day_of_year)
    return np.maximum(0.0023 * ((low + high) / 2 + 17.8) * np.sqrt(np.maximum(high - low, 0.0)) * top, 0.0)


def daily_reference_et(
    weather: pd.DataFrame,
    days: pd.DatetimeIndex,
    latitude_deg: float,
    elevation_m: float,
    normals: pd.DataFrame | None = None,
    *,
    calibrate: bool = False,
) -> pd.DataFrame:
    """Reference ET of each day, by the best of what is known of it, and how it was come by.

    Order of preference: a station's own figure; Penman-Monteith, when besides temperature at least two of humidity,
    wind and radiation are known (what is missing is replaced as FAO-56 says, and named in the note); Hargreaves, when
    only temperature is; the home's monthly normals. Where even normals are missing a gap of up to seven days is
    bridged in a straight line between its neighbours; what is left is NaN with method "none", never zero.

    Args:
        weather: columns station, day, tmin_c, tmax_c, dewpoint_c, humidity_min, humidity_max, wind_mps,
            wind_height_m, solar_mj_m2, sunshine_hours, reference_et_mm (others are ignored; missing ones count as
            empty). Several stations may cover a day; the one that allows the best method is taken.
        days: local days, naive midnights, any order.
        latitude_deg, elevation_m: of the home; south is negative.
        normals: columns month, tmin_c, tmax_c, reference_et_mm (of the whole month).
        calibrate: fit Hargreaves to the days that have something better (FAO-56 chapter 3, ETo = a + b ETo52) when
            there are at least 60 of them.

    Returns:
        Frame indexed by ``days``: reference_et_mm (float, mm), method (one of METHODS), note (words, may be empty).

    Raises:
        EntryError: the latitude or elevation cannot be, or a column looks like another unit.
    """
    guard_units(weather, latitude_deg, elevation_m)
    rows = best_rows(weather, latitude_deg, elevation_m)
    doy = rows["day"].dt.day_of_year.to_numpy(dtype=np.float64)
    simple = hargreaves(rows["tmin_c"], rows["tmax_c"], latitude_deg, doy)
    full = penman_monteith(
        rows["tmin_c"],
        rows["tmax_c"],
        rows["vapour_kpa"],
        rows["wind_2m_mps"],
        rows["solar_mj_m2"],
        latitude_deg=latitude_deg,
        day_of_year=doy,
        elevation_m=elevation_m,
    )
    method = rows["method"].to_numpy(dtype=object)
    better = np.select(
        [method == "measured", method == "penman-monteith"],
        [rows["reference_et_mm"].to_numpy(dtype=np.float64), np.maximum(full, 0.0)],
        np.nan,
    )
    note = rows["note"].to_numpy(dtype=object)
    if calibrate:
        simple, said = _calibrated(simple, better)
        note = np.where((method == "hargreaves") & bool(said), _joined(note, said), note)
    value = np.where(method == "hargreaves", simple, better)
    known = pd.DataFrame(
        {"reference_et_mm": value, "method": method, "note": note}, index=pd.DatetimeIndex(rows["day"])
    )
    out = known.reindex(days.as_unit("ns")).set_axis(days, axis=0)
    out["method"] = out["method"].fillna("none").astype(object)
    out["note"] = out["note"].fillna("").astype(object)
    out = _from_normals(out, normals, latitude_deg)
    out = _bridged(out, known["reference_et_mm"])
    out.loc[out["method"] == "none", "note"] = "no weather is known for this day, and no normals for its month"
    return out


def _joined(notes: np.ndarray, more: str) -> np.ndarray:
    return np.array([f"{n}; {more}" if n else more for n in notes], dtype=object)


def _calibrated(simple: Floats, better: Floats) -> tuple[Floats, str]:
    """Hargreaves scaled to the better days (FAO-56 chapter 3), and a note; unchanged when that cannot be trusted."""
    both = np.isfinite(simple) & np.isfinite(better)
    if both.sum() < FEWEST_CALIBRATION_DAYS or np.ptp(simple[both]) < 1.0:
        return simple, ""
    b, a = np.polyfit(simple[both], better[both], 1)
    if not 0.5 <= b <= 1.5:
        return simple, f"not calibrated: the fit on {both.sum()} better days makes no sense (slope {b:.2f})"
    return np.maximum(a + b * simple, 0.0), f"calibrated on {both.sum()} better days: {a:+.2f} mm + {b:.2f} x eq. 52"


def _from_normals(out: pd.DataFrame, normals: pd.DataFrame | None, latitude_deg: float) -> pd.DataFrame:
    """Days without data from the normals: the month's reference ET spread evenly, or Hargreaves on its temperatures."""
    lacking = (out["method"] == "none").to_numpy()
    if normals is None or normals.empty or not lacking.any():
        return out
    index = pd.DatetimeIndex(out.index)
    months = normals.drop_duplicates("month").set_index("month")
    usual = pd.DataFrame({c: months.get(c, np.nan) for c in ("tmin_c", "tmax_c", "reference_et_mm")})
    usual = usual.astype(float).reindex(index.month)
    spread = usual["reference_et_mm"].to_numpy() / index.days_in_month.to_numpy()
    computed = hargreaves(usual["tmin_c"], usual["tmax_c"], latitude_deg, index.day_of_year.to_numpy(dtype=np.float64))
    value = np.where(np.isfinite(spread), spread, computed)
    use = lacking & np.isfinite(value)
    out.loc[use, "reference_et_mm"] = value[use]
    out.loc[use, "method"] = "normals"
    dark = extraterrestrial_radiation(latitude_deg, index.day_of_year.to_numpy(dtype=np.float64)) <= 0
    words = np.select(
        [np.isfinite(spread), dark],
        [
            "no weather for this day: the month's usual reference ET, spread evenly",
            "no weather for this day, and no sun all day: polar night",
        ],
        "no weather for this day: Hargreaves (FAO-56 eq. 52) on the month's usual temperatures",
    )
    out.loc[use, "note"] = words[use]
    return out


def _bridged(out: pd.DataFrame, known: pd.Series) -> pd.DataFrame:
    """Short gaps that no normals fill, drawn straight between the neighbouring known days."""
    known = known.dropna().sort_index()
    lacking = (out["method"] == "none").to_numpy()
    if len(known) < 2 or not lacking.any():
        return out
    when = pd.DatetimeIndex(out.index).to_numpy().astype("datetime64[D]").astype(np.float64)
    days = pd.DatetimeIndex(known.index).to_numpy().astype("datetime64[D]").astype(np.float64)
    at = np.clip(np.searchsorted(days, when), 1, len(days) - 1)
    inside = (when > days[0]) & (when < days[-1])
    use = lacking & inside & (days[at] - days[at - 1] - 1 <= LONGEST_BRIDGE_DAYS)
    value = np.interp(when, days, known.to_numpy(dtype=np.float64))
    out.loc[use, "reference_et_mm"] = value[use]
    out.loc[use, "method"] = "bridged"
    out.loc[use, "note"] = "no weather for this day: drawn between the days before and after"
    return out
